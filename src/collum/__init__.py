"""Collum: a planning workbench for winning sound tooth back from under the gum."""

__version__ = "0.1.0"
