"""Roller refills and frames, in the order they are made."""
