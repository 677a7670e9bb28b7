"""A number typed with a decimal comma: in a file a comma parts two entries, so it is named as such and never guessed."""

from collections.abc import Sequence
from dataclasses import dataclass

from collum.case.faults import Finder, said
from collum.case.shapes import Choice, Json, Number, has_decimal_comma


@dataclass(frozen=True, slots=True)
class WordForNumber(Choice):
    """One of the words that may stand where a number is usual."""

    number: Number

    def check(self, found: Json, where: str, finder: Finder) -> Json | None:
        if isinstance(found, str) and found in self.words:
            return found
        number = self.number
        if has_decimal_comma(found):
            return number.check(found, where, finder)
        words = " | ".join(self.words)
        allowed = said("allowed.number_or_word", low=number.low, high=number.high, unit=number.unit, words=words)
        finder.add(where, said("what.not_a_reading"), allowed, found)
        return None


def may_be_commas(entries: Sequence[Json], wanted: int) -> bool:
    """Return whether a list that is too long may hold decimal commas: `3,5` reads as the two whole numbers 3 and 5."""
    whole = all(isinstance(entry, int | float) and float(entry).is_integer() for entry in entries)
    return len(entries) > wanted and whole
