"""Puts this folder on the path, so that tests share the sample book and plan."""
