"""Naptuft: engineering, planning and papers for a plant that makes painting tools."""

__version__ = "0.1.0"
