"""Words: one catalogue of sentences for every door."""

from collum.wording.catalogue import WordingError, filled, keys, placeholders, route_name, side_name, site_name, template, text
from collum.wording.names import FacialLetter, Names, PalatalLetter, name_by, names_in_force

__all__ = [
    "FacialLetter",
    "Names",
    "PalatalLetter",
    "WordingError",
    "filled",
    "keys",
    "name_by",
    "names_in_force",
    "placeholders",
    "route_name",
    "side_name",
    "site_name",
    "template",
    "text",
]
