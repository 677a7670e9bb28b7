"""What the layouts of tooth, bridge and visit share: words, and numbers whose ranges stand in the registry."""

from collum.case.faults import said
from collum.case.shapes import Number, Text
from collum.evidence import get

ASPECTS = ("facial", "mesial", "oral", "distal")
NOT_MEASURABLE = "not measurable"
HISTORY_SINCE = 3  # the format number that has a medical history; number 2 had conditions instead
ROLES = ("operator", "suction", "plate")
NOTE, SHORT = Text(2000), Text(120)
CODE = Text(24, r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}", said("allowed.code", longest=24))
PLAN_MARK_LENGTH = 16  # hexadecimal digits: tells the plans of one case apart, and can still be written by hand


def ranged(name: str) -> Number:
    """Return the shape of a number whose range stands in the registry under `case.range.<name>`."""
    return of_key(f"case.range.{name}")


def of_key(key: str) -> Number:
    """Return the shape of a number with the range of a key of the registry."""
    constant = get(key)
    return Number(constant.low, constant.high, constant.unit)
