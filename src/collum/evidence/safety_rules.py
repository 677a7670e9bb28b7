"""The rules of the safety screening: which answer closes a paper or calls for care, for which procedure, how it is known.

One record per question. The question and the reason are in the catalogue under `safety.question.<id>` and
`safety.reason.<id>`; what follows from an answer is decided in `plan/safety/`, from these records and the stored answers
alone. A fact acts on the procedures it concerns and on no other. Where sources disagree the rule is to stop and to ask.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, partial
from typing import Any, Literal, get_args

from collum.evidence.patient_rows import FACTS, GROWING_ROW, ROW_OF, UNSTATED, Effect, FactId, PatientRow
from collum.evidence.registry import Status

Outcome = Literal["stop", "ask", "justify", "precaution", "note"]
Procedure = Literal["current", "scalpel", "bone", "movement"]
Group = Literal["patient", "drugs", "tooth", "place", "room", "time_out"]
Role = Literal["nurse", "dentist", "assistant"]
Answer = Literal["yes", "no", "unknown", "not applicable"]

OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
PROCEDURES: tuple[Procedure, ...] = get_args(Procedure)
GROUPS: tuple[Group, ...] = get_args(Group)
CLOSING: tuple[Outcome, ...] = ("stop", "ask", "justify")
OVERRIDABLE: tuple[Outcome, ...] = ("justify",)
NOT_APPLICABLE: Answer = "not applicable"


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyRule:
    """One question. `on` is the answer that has the `outcome`; "unknown" always counts as that answer.

    `outcome` is what it brings for the cut by current, `scalpel` for the same cut by scalpel, `bone` for a flap with bone work,
    `movement` for extrusion with cutting of fibres; None where the question does not concern the procedure. stop: closed, no
    override exists. ask: closed until the physician has answered in writing; a name does not open it. justify: a caution that
    closes until somebody answers for it with name and reason. precaution, note: said, closes nothing. An `optional` question
    may be answered "not applicable", for itself and for every question that is `part_of` it; that has the outcome `otherwise`.
    `not_known` is what "unknown" brings where that is more. `of_plan`: the question speaks of the cut or of what was read for
    it; its answer holds for one plan. `letter`: it belongs into the letter to the physician. `asks_with` and `says_with` are
    the constants that the question and the reason speak of; `worded_for` names the procedures for which the reason has words of
    its own.
    """

    id: str
    group: Group
    role: Role
    outcome: Outcome | None
    scalpel: Outcome | None = None
    bone: Outcome | None = None
    movement: Outcome | None = None
    on: Literal["yes", "no"]
    source: str
    status: Status
    optional: bool = False
    otherwise: Outcome | None = None
    part_of: str | None = None
    not_known: Outcome | None = None
    of_plan: bool = False
    letter: bool = False
    asks_with: tuple[str, ...] = ()
    says_with: tuple[str, ...] = ()
    worded_for: tuple[Procedure, ...] = ()

    def outcome_for(self, procedure: Procedure) -> Outcome | None:
        """Return what the answer `on` brings for a procedure; None where it does not concern it."""
        by_procedure: Mapping[Procedure, Outcome | None] = {
            "current": self.outcome,
            "scalpel": self.scalpel,
            "bone": self.bone,
            "movement": self.movement,
        }
        return by_procedure[procedure]

    @property
    def outcomes(self) -> dict[Procedure, Outcome]:
        """What the answer `on` brings, by the procedures it concerns."""
        found = {procedure: self.outcome_for(procedure) for procedure in PROCEDURES}
        return {procedure: outcome for procedure, outcome in found.items() if outcome is not None}

    @property
    def overridable(self) -> bool:
        """Whether somebody may answer for what it closes, by name and with a reason."""
        return any(outcome in OVERRIDABLE for outcome in self.outcomes.values())

    @property
    def answers(self) -> tuple[Answer, ...]:
        """What may be answered."""
        if self.group in ("room", "time_out"):
            return ("yes", "no", NOT_APPLICABLE) if self.optional else ("yes", "no")
        return ("no", "yes", "unknown")

    @property
    def answers_read(self) -> tuple[Answer, ...]:
        """What a file may hold: a part of another question was once answered "not applicable" by itself."""
        return self.answers if self.part_of is None else (*self.answers, NOT_APPLICABLE)


_asked = partial(SafetyRule, on="yes")
_tooth = partial(_asked, group="tooth", role="dentist", of_plan=True)
_place = partial(_asked, group="place", role="dentist", of_plan=True)
_room = partial(SafetyRule, group="room", role="assistant", on="no")
# What closes every operation.
_EVERY: Mapping[str, Any] = {"outcome": "stop", "scalpel": "stop", "bone": "stop", "movement": "stop"}
# What the dentist answers for every operation: agreed to and confirmed before it, counted aloud after the anaesthetic.
_agreed = partial(SafetyRule, role="dentist", on="no", **_EVERY, source="collum_decision", status="choice", of_plan=True)
# Read aloud where a scalpel cuts: gum, a flap, and the fibres of a tooth that is moved.
_WITH_BLADE: Mapping[str, Any] = {"outcome": None, "scalpel": "justify", "bone": "justify", "movement": "justify"}
_blade = partial(_room, **_WITH_BLADE, source="collum_decision", status="choice")
_BONE, _OXYGEN = ("plan.limit.clear_of_bone_mm",), ("safety.oxygen_off_min",)
OUR_CHOICE: tuple[str, Status] = ("collum_decision", "choice")  # source and status of what no work says
_TAUGHT, _OURS = "clinical_teaching", OUR_CHOICE[0]

# What an effect of a row brings at the gate. Postponed and for the orthodontist: the physician's or clinic's word opens it.
OUTCOME_OF: Mapping[Effect, Outcome | None] = {
    "open": None,
    "note": "note",
    "caution": "precaution",
    "confirm": "justify",
    "cover": "justify",
    "not_for_looks": "justify",
    "ask": "ask",
    "postpone": "ask",
    "orthodontist": "ask",
    "closed": "stop",
}


def _outcomes(row: PatientRow) -> dict[Procedure, Outcome | None]:
    return {procedure: OUTCOME_OF[row.effects[procedure]] for procedure in PROCEDURES}


def _fact(fact: FactId, *, group: Group = "patient", **said: Any) -> SafetyRule:
    """Return the question about a fact of the patient; its outcomes are those of the row where nothing is stated of it."""
    return _of_row(fact, ROW_OF[UNSTATED[fact]], group=group, **said)


def _of_row(question: str, row: PatientRow, *, group: Group = "patient", **said: Any) -> SafetyRule:
    found = _outcomes(row)
    others: dict[str, Any] = {procedure: found[procedure] for procedure in PROCEDURES if procedure != "current"}
    return _asked(id=question, group=group, role="nurse", outcome=found["current"], **others, **said)


RULES: tuple[SafetyRule, ...] = (
    _fact("cardiac_device", source="cheng_pacemakers", status="read", says_with=("safety.generator_distance_cm",), letter=True),
    _fact("other_stimulator", source="implanted_devices_brief", status="read", letter=True),
    _fact("cochlear_implant", source="implanted_devices_brief", status="read", letter=True),
    _fact("added_oxygen", source="fire_task_force", status="read"),
    _fact("jaw_irradiated", source="radiation_changes", status="read"),
    _fact("poor_healing", source=_TAUGHT, status="memory", letter=True),
    _fact("diabetes_uncontrolled", source=_TAUGHT, status="memory", letter=True),
    _fact("bleeding_disorder", source=_TAUGHT, status="memory", letter=True),
    _fact("endocarditis_risk", source=_TAUGHT, status="memory", letter=True),
    _fact("heart_or_pressure", source=_TAUGHT, status="memory", letter=True),
    _fact("pregnant", source=_TAUGHT, status="memory", letter=True),
    _fact("anaesthetic_reaction", source=_TAUGHT, status="memory", letter=True),
    _fact("fainting", source=_TAUGHT, status="memory"),
    _fact("mouth_opening", source=_TAUGHT, status="memory"),
    _fact("guardian", source=_OURS, status="choice"),
    _of_row(GROWING_ROW, ROW_OF[GROWING_ROW], source=_OURS, status="choice"),
    _fact("allergy", source=_TAUGHT, status="memory"),
    _fact("asthma", source=_TAUGHT, status="memory"),
    _fact("body_metal", source="return_plate_place", status="read"),
    _fact("smoking", source=_TAUGHT, status="memory"),
    _agreed(id="consent", group="patient"),
    _fact("bone_drugs", group="drugs", source=_TAUGHT, status="memory", letter=True),
    _fact("blood_thinner", group="drugs", source=_TAUGHT, status="memory", not_known="ask", letter=True),
    _fact("overgrowth_drug", group="drugs", source="lengthening_feature", status="read"),
    _tooth(id="implant_beside", outcome="stop", source="wilcox2001", status="read"),
    _tooth(id="metal_not_isolated", outcome="stop", source="robertson1978", status="read"),
    _tooth(
        id="metal_near",
        outcome="precaution",
        source="krejci1982",
        status="read",
        says_with=("safety.metal_contact_s",),
    ),
    _tooth(id="acute_infection", **_EVERY, source=_OURS, status="choice", of_plan=False),
    _tooth(id="suspicious_tissue", outcome="stop", scalpel="precaution", bone="stop", source=_TAUGHT, status="memory"),
    _place(
        id="bone_exposed",
        outcome="stop",
        scalpel="precaution",
        source="singapore_dj2015",
        status="read",
        worded_for=("scalpel",),
    ),
    _place(
        id="thin_over_bone", outcome="stop", scalpel="stop", source=_OURS, status="choice", asks_with=_BONE, says_with=_BONE
    ),
    _place(id="unkeratinised", outcome="stop", scalpel="stop", source=_OURS, status="choice"),
    _agreed(id="right_patient", group="room"),
    _room(
        id="margin_measured",
        role="dentist",
        outcome="justify",
        scalpel="justify",
        bone="justify",
        source=_TAUGHT,
        status="memory",
        of_plan=True,
    ),
    _room(id="other_instrument", outcome="justify", source=_OURS, status="choice"),
    _room(
        id="plate_contact",
        outcome="stop",
        source="kalkwarf1987",
        status="read",
        optional=True,
        otherwise="precaution",
    ),
    _room(id="plate_place", outcome="stop", source="return_plate_place", status="read", part_of="plate_contact"),
    _room(id="plate_skin", outcome="justify", source=_TAUGHT, status="memory", part_of="plate_contact"),
    _room(id="plate_watched", outcome="justify", source="iec60601_2_2", status="derived", part_of="plate_contact"),
    _room(id="no_chair_metal", outcome="stop", source="nice_mtg11", status="read"),
    _room(id="jewellery_out", outcome="stop", source="skaria2006", status="read"),
    _room(id="plastic_tools", outcome="stop", source=_TAUGHT, status="memory"),
    _room(
        id="suction_close",
        outcome="justify",
        source="niosh_hc11",
        status="read",
        asks_with=("safety.suction_within_cm",),
    ),
    _room(
        id="masks",
        outcome="justify",
        source="gao2016",
        status="read",
        says_with=("safety.surgical_mask_factor", "safety.respirator_factor"),
    ),
    _room(id="oxygen_off", outcome="stop", source="fire_task_force", status="read", asks_with=_OXYGEN, says_with=_OXYGEN),
    _room(id="nothing_flammable", outcome="stop", source="fire_hazard_report", status="read"),
    _room(id="cable_clear", outcome="justify", source="unit_safety_reminders", status="read"),
    _room(id="tissue_moist", outcome="justify", source=_TAUGHT, status="memory"),
    _room(id="tip_clean", outcome="justify", source="fire_hazard_report", status="read_second_hand"),
    _blade(id="blade_ready"),
    _blade(id="field_ready"),
    _blade(id="bleeding_ready"),
    _blade(id="emergency_ready"),
    _agreed(id="time_out", group="time_out"),
)
RULE_OF: Mapping[str, SafetyRule] = {rule.id: rule for rule in RULES}
DEVICES = ("cardiac_device", "other_stimulator", "cochlear_implant")  # a stop, and the physician is asked in writing too
RECORDED_STOPS, RECORDED_DRUGS, GROWING, OPERATOR_ALONE = "recorded_stops", "recorded_drugs", GROWING_ROW, "operator_alone"
# What an override in a file may name: what may be answered for, and what once could be, which is read and does not count.
OVERRIDES_READ: tuple[str, ...] = (
    *(rule.id for rule in RULES if {"ask", "justify"} & {*rule.outcomes.values(), rule.not_known} or rule.id == "bone_drugs"),
    *(RECORDED_STOPS, OPERATOR_ALONE, RECORDED_DRUGS),
)
# What a patient is asked and a record may hold for good, as a fact of the history.
CONDITIONS: tuple[str, ...] = tuple(rule.id for rule in RULES if rule.id in FACTS)
# Of a tooth without a living pulp other words hold, from this work (read): loss of root and bone after a touch on metal.
WITHOUT_PULP: tuple[str, ...] = ("metal_not_isolated", "metal_near")
WITHOUT_PULP_SOURCE: tuple[str, Status] = ("robertson1978", "read")
OF_PLAN = frozenset(rule.id for rule in RULES if rule.of_plan)
# The list of drugs is part of what a plan rests on: a name vouches for the list it read.
OVERRIDES_OF_PLAN = OF_PLAN | {RECORDED_DRUGS}


@cache
def rules_of(*groups: Group) -> tuple[SafetyRule, ...]:
    """Return the rules of some groups, in the order they are asked."""
    return tuple(rule for rule in RULES if rule.group in groups)
