"""Safety before the cut: the rules applied to stored answers, and the gate they make. Pure."""

from collum.plan.safety.asked import AskedInWriting, asked_in_writing
from collum.plan.safety.doses import (
    DoseLimit,
    DoseSum,
    Given,
    add_up,
    conflict_of,
    dose_sentences,
    first_limits,
    usual_mg_per_ml,
)
from collum.plan.safety.gate import Screening, counts_until, screen, shown_time, state_of, state_point
from collum.plan.safety.opening import ROUTES, Closed, Opening, does_something, is_about_route, open_paper
from collum.plan.safety.point import UNANSWERED, Point
from collum.plan.safety.points import question, reason, reason_not_known
from collum.plan.safety.stored_tooth import stored_route

__all__ = [
    "ROUTES",
    "UNANSWERED",
    "AskedInWriting",
    "Closed",
    "DoseLimit",
    "DoseSum",
    "Given",
    "Opening",
    "Point",
    "Screening",
    "add_up",
    "asked_in_writing",
    "conflict_of",
    "counts_until",
    "does_something",
    "dose_sentences",
    "first_limits",
    "is_about_route",
    "open_paper",
    "question",
    "reason",
    "reason_not_known",
    "screen",
    "shown_time",
    "state_of",
    "state_point",
    "stored_route",
    "usual_mg_per_ml",
]
