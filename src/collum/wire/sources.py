"""Which evidence a plan rests on: the constants it may have used, as they were when it was made."""

from collum.core.tooth.dimensions import dimension_keys
from collum.evidence import Constant, all_constants, reference
from collum.evidence.handed import HANDED_PARTS
from collum.wire.form import ConstantDocument


def constants_used(tooth_numbers: tuple[int, ...]) -> tuple[Constant, ...]:
    """Return the constants of levels, healing and plan, and the handbook dimensions of the teeth."""
    teeth = {key for number in tooth_numbers for key in dimension_keys(number)}
    return tuple(c for c in all_constants() if c.key.startswith(HANDED_PARTS) or c.key in teeth)


def constant_document(constant: Constant) -> ConstantDocument:
    """Return the wire form of a constant."""
    return ConstantDocument(
        key=constant.key,
        value=constant.value,
        low=constant.low,
        high=constant.high,
        unit=constant.unit,
        meaning=constant.meaning,
        source=constant.source,
        citation=reference(constant.source).citation,
        status=constant.status,
    )
