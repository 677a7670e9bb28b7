"""Words: one catalogue of sentences for every door."""

from collum.wording.catalogue import WordingError, filled, keys, placeholders, template, text

__all__ = ["WordingError", "filled", "keys", "placeholders", "template", "text"]
