"""The layout of a visit: the answers of the safety screening, and what only the program writes into it."""

from collections.abc import Mapping

from collum.case.faults import said
from collum.case.layout_parts import CODE, HISTORY_SINCE, NOTE, PLAN_MARK_LENGTH, ROLES, SHORT, of_key
from collum.case.shapes import Choice, Day, Instant, IsoTooth, ListOf, Shape, Table, Text
from collum.evidence.safety_layers import INSTRUMENTS
from collum.evidence.safety_rules import CONDITIONS, OVERRIDES_READ, PROCEDURES, Group, rules_of

_PLAN_MARK = Text(PLAN_MARK_LENGTH, f"[0-9a-f]{{{PLAN_MARK_LENGTH}}}", said("allowed.plan_mark"))
_LIST_MARK = Text(PLAN_MARK_LENGTH, f"[0-9a-f]{{{PLAN_MARK_LENGTH}}}", said("allowed.list_mark"))
# Questions that files of number 2 do not know.
_SINCE_HISTORY = frozenset(
    (
        "asthma",
        "fainting",
        "mouth_opening",
        "guardian",
        "growing",
        "blade_ready",
        "field_ready",
        "bleeding_ready",
        "emergency_ready",
    )
)
_LAYERS = ("agreement", "history", "tooth", "room")
_CORRECTED = ("stops", "drugs", "history")
_NAME, _REASON = Text(60, readable=True), Text(NOTE.longest, readable=True)
_LAYERED: Mapping[str, Shape] = {
    "answered_by": Table(dict.fromkeys(_LAYERS, CODE)),
    "list_before": _LIST_MARK,
    "read_out": Table({"list": _LIST_MARK, "by": CODE, "at": Instant()}, required=("list", "by", "at")),
    "time_outs": ListOf(
        Table(
            {
                "tooth": IsoTooth(),
                "side": Choice(("right", "left")),
                "instrument": Choice(INSTRUMENTS),
                "name": _NAME,
                "at": Instant(),
                "given_for": _PLAN_MARK,
            },
            required=("tooth", "side", "instrument", "name", "at", "given_for"),
        ),
        100,
    ),
}
_KEPT: Mapping[str, Shape] = {"date": Day(), "kind": SHORT, "note": NOTE}


def visit_shape(number: int) -> Table:
    """Return the shape of a visit in a format number.

    When it was opened, what was answered, who does what, what somebody answers for or takes out of the record by name.
    """
    if number == 1:
        return Table(_KEPT, required=("date", "kind"))
    of_tooth = Table(
        {"number": IsoTooth(), "answers": _answers("tooth", "place"), "given_for": _given_for("tooth", "place")},
        required=("number", "answers"),
    )
    override = Table(
        {
            "rule": Choice(OVERRIDES_READ),
            "procedure": Choice(PROCEDURES),
            "tooth": IsoTooth(),
            "name": _NAME,
            "reason": _REASON,
            "at": Instant(),
            "given_for": _PLAN_MARK,
        },
        required=("rule", "name", "reason", "at"),
    )
    correction = Table(
        {
            "field": Choice(_CORRECTED if number >= HISTORY_SINCE else ("stops", "drugs", "conditions")),
            "entry": SHORT,
            "instead": Choice(CONDITIONS),
            "name": _NAME,
            "reason": _REASON,
            "at": Instant(),
        },
        required=("field", "entry", "name", "reason", "at"),
    )
    return Table(
        {
            **_KEPT,
            "by": CODE,
            "opened_at": Instant(),
            "screening": _known(number, "patient", "drugs"),
            "teeth": ListOf(of_tooth, 32),
            "room": _known(number, "room", "time_out"),
            "given_for": _given_for("patient", "drugs", "room", "time_out"),
            "roles": Table({role: CODE for role in ROLES}),
            "plate_contact_cm2": of_key("safety.plate.largest_contact_cm2"),
            "overrides": ListOf(override, 100),
            "corrections": ListOf(correction, 100),
            **(_LAYERED if number >= HISTORY_SINCE else {}),
        },
        required=("date", "kind"),
    )


def _answers(*groups: Group) -> Table:
    return Table({rule.id: Choice(rule.answers_read) for rule in rules_of(*groups)})


def _known(number: int, *groups: Group) -> Table:
    """Return the questions of some groups that a format number knows."""
    asked = _answers(*groups).fields
    return Table({rule: shape for rule, shape in asked.items() if number >= HISTORY_SINCE or rule not in _SINCE_HISTORY})


def _given_for(*groups: Group) -> Table:
    """Return the shape of the marks of the plan that answers which speak of the cut were given for."""
    return Table({rule.id: _PLAN_MARK for rule in rules_of(*groups) if rule.of_plan})
