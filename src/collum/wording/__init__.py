"""Words: one catalogue of sentences for every door."""

from collum.wording.catalogue import WordingError, keys, placeholders, template, text

__all__ = ["WordingError", "keys", "placeholders", "template", "text"]
