"""Figures of common practice: said at the chair and in teaching, without a published origin known to us.

They steer nothing. They stand here so that a forecast can be compared with what a dentist expects.
"""

from collum.evidence.registry import Constant

CONSTANTS: tuple[Constant, ...] = (
    Constant(
        key="practice.regrowth_after_removal_mm",
        value=1.5,
        low=1.0,
        high=2.0,
        unit="mm",
        meaning="how far the gum is expected to come back after it was removed down to the sulcus base, mid-facial",
        source="common_practice",
        status="common_practice",
        kind="convention",
        population="not stated; the range is ours",
        checked="2026-11-25",
        used_for="information: compared with the full-return forecast in checks",
    ),
)
