"""What holds for every requirement of the table, so that a new one is held to it too: bounds, reserves, readings, advice."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import get_args

import numpy as np
import pytest

from collum.case.model import Root, Tooth
from collum.case.parts import tooth_facts
from collum.core.ring import STATIONS
from collum.plan import Prepared
from collum.plan.lengthening.levels.prepared import at_means
from collum.plan.lengthening.procedures.procedure import Procedure, Treatment, after
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.lengthening.requirements.bound import Bound
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.table import REQUIREMENTS
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RequirementId
from tests.making.teeth import case_of, healthy_premolar
from tests.measuring.exact import exact_neck
from tests.measuring.necks import EVIDENCE, drawn_neck

SOLVER_ROOM_MM = 1e-4  # more than the room that bounds leave the solver
of_every_requirement = pytest.mark.parametrize("requirement", REQUIREMENTS, ids=lambda requirement: requirement.id)
with_rows = pytest.mark.parametrize(
    "requirement", [r for r in REQUIREMENTS if type(r).rows is not Requirement.rows], ids=lambda requirement: requirement.id
)


def premolar() -> Tooth:
    return healthy_premolar(vital=False, root=Root(length_mm=14.0))


def molar() -> Tooth:
    """It shows, with a contact point and a mirror tooth."""
    restoration = replace(premolar().restoration, visible_zone=True)
    facts = tooth_facts({"contact_point_mm": {"mesial": 0.5}, "mirror_margin_mm": 0.3})
    root = Root(length_mm=14.0, trunk_mm=4.0)
    return healthy_premolar(number=26, vital=False, root=root, restoration=restoration, facts=facts)


@cache
def under_the_sound_edge() -> Prepared:
    return exact_neck(premolar(), sulcus=1.5, crest=4.0, own_height=3.4, sound=0.6, edge=8.0, cej=-2.0)


@cache
def under_the_height() -> Prepared:
    return exact_neck(premolar(), sulcus=1.5, crest=4.0, own_height=3.4, sound=5.5, edge=6.0, cej=-2.0)


@cache
def over_a_furcation() -> Prepared:
    """The margin comes back so far that it is never what the entrance is nearest to: of that the solver is not told."""
    return exact_neck(molar(), sulcus=1.5, crest=3.5, own_height=6.0, sound=5.0, edge=6.0, cej=-1.0)


@cache
def high_and_low() -> Prepared:
    """All round the edge rises from the gum to 6 mm and the junction from under the gum to 2 mm above it."""
    round_ = np.linspace(0, 1, STATIONS)
    return exact_neck(premolar(), sulcus=1.5, crest=4.0, own_height=3.4, sound=6 * round_, edge=8.0, cej=-2 + 4 * round_)


NECKS: tuple[Callable[[], Prepared], ...] = (under_the_sound_edge, under_the_height, over_a_furcation, high_and_low)


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Lines all round on one neck by one procedure, and what the dentist asks of the preparation. [mm]"""

    neck: Callable[[], Prepared]
    procedure: Procedure
    cut_mm: float
    finish_mm: float
    amount_mm: float  # of bone or movement
    less_reduction_mm: float = 0.0
    less_convergence_deg: float = 0.0
    grooves: bool = False

    @property
    def treatment(self) -> Treatment:
        bone, up = (self.amount_mm if does else 0.0 for does in (self.procedure.takes_bone, self.procedure.raises_tooth))
        return Treatment(procedure=self.procedure, bone_mm=np.full(STATIONS, bone), extruded_mm=up, grooves=self.grooves)

    def wishes(self, neck: Prepared) -> Wishes:
        made = wishes_of(neck.inputs.tooth, neck.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
        return replace(
            made,
            reduction_mm=made.reduction_mm - self.less_reduction_mm,
            top_mm=made.top_mm + self.less_reduction_mm,
            convergence_deg=made.convergence_deg - self.less_convergence_deg,
        )

    def conditions(self) -> Conditions:
        """What the solver is given: bone is not taken yet, a tooth is raised."""
        neck = self.neck()
        found = neck if self.procedure.takes_bone else after(neck, self.treatment)
        return Conditions(prepared=at_means(found), wishes=self.wishes(neck), treatment=self.treatment)

    def situation(self) -> Situation:
        neck = self.neck()
        return Situation(
            prepared=at_means(after(neck, self.treatment)),
            wishes=self.wishes(neck),
            treatment=self.treatment,
            cut_mm=np.full(STATIONS, self.cut_mm),
            finish_mm=np.full(STATIONS, self.finish_mm),
        )

    def least(self, requirement: Requirement) -> float | None:
        """The least reserve; None where the requirement does not apply."""
        found = requirement.worst(self.situation())
        return None if found is None else float(found[1][0])


def settings(necks: tuple[Callable[[], Prepared], ...] = NECKS) -> Iterator[Setting]:
    for neck, procedure in product(necks, PROCEDURES):
        for cut, finish, amount in product((-0.4, -1.1), (-0.9, 0.3, 1.9), (0.3, 1.5)):
            yield Setting(
                neck=neck,
                procedure=procedure,
                cut_mm=cut if procedure.lengthens else 0.0,
                finish_mm=finish,
                amount_mm=amount,
            )


def bounds_on(requirement: Requirement, conditions: Conditions) -> tuple[Bound, ...]:
    """The bounds that speak for a requirement, whichever requirement gives them."""
    return tuple(row for one in REQUIREMENTS for row in one.rows(conditions) if row.rule == requirement.id)


def room_mm(bound: Bound, setting: Setting, finish_mm: np.ndarray) -> np.ndarray:
    """How far the lines keep a bound at each station, without reserve."""
    cut, bone = np.full(STATIONS, setting.cut_mm), setting.treatment.bone_mm
    line = {"cut": cut, "finish": finish_mm, "bone": bone}[bound.line]
    over = line - bound.at_means_mm(cut, bone)
    return over if bound.side == "below" else -over


def disagreement(requirement: Requirement, setting: Setting) -> str | None:
    """Say where the bounds of a requirement and its reserves at the means part; None where they agree.

    A reserve that does not hang on the finish line is the room between the bounds from below, its own and those of the crest,
    and the lowest from above. Of a requirement in other units the sign is compared.
    """
    conditions, situation = setting.conditions(), setting.situation()
    rows = bounds_on(requirement, conditions)
    if not rows or not requirement.applies(situation):
        return None
    reserves = requirement.reserves(situation)
    finish = np.full(STATIONS, setting.finish_mm)
    if _is_room(requirement, setting):
        others = {other.id: bounds_on(other, conditions) for other in REQUIREMENTS if other.id != requirement.id}
        above = [row for of_one in others.values() for row in of_one if (row.line, row.side) == ("finish", "above")]
        finish = np.min([row.mean_mm for row in above], axis=0)
        rows = (*rows, *others["clear_of_crest"])
        kept = float(np.min([room_mm(row, setting, finish) for row in rows]))
        found = [float(reserve.amount[:, 0].min()) for reserve in reserves]
        return None if any(abs(kept - one) < SOLVER_ROOM_MM for one in found) else f"room {kept}, reserves {found}"
    kept_at = np.min([room_mm(row, setting, finish) for row in rows], axis=0)
    if requirement.unit != "mm":
        same = np.sign(kept_at.min()) == np.sign(reserves[0].amount[:, 0].min())
        return None if same else f"bounds {kept_at.min()}, reserve {reserves[0].amount[:, 0].min()}"
    for reserve in reserves:
        off = (kept_at - reserve.amount[:, 0])[reserve.stations]
        if np.abs(off).max() < SOLVER_ROOM_MM:
            return None
    return f"off by {off}"


def _is_room(requirement: Requirement, setting: Setting) -> bool:
    on_finish = all(row.line == "finish" for row in bounds_on(requirement, setting.conditions()))
    moved = replace(setting, finish_mm=setting.finish_mm + 0.1)
    return on_finish and requirement.unit == "mm" and moved.least(requirement) == setting.least(requirement)


def compared(requirement: Requirement) -> list[Setting]:
    """The settings in which bounds and reserves are one thing.

    What shows and a furcation bound a line in one of them alone; a share is no bound where it differs all round.
    """
    necks = NECKS[:2] if requirement.id == "definitive_finish_line" else NECKS[:3]
    return [setting for setting in settings(necks) if bounds_on(requirement, setting.conditions())]


@with_rows
def test_bounds_of_the_solver_are_the_reserves_at_the_means(requirement: Requirement) -> None:
    chosen = compared(requirement)
    assert chosen
    found = [(one, disagreement(requirement, one)) for one in chosen]
    assert [(one, what) for one, what in found if what is not None] == []


FAULTS: dict[str, Callable[[Bound], Bound]] = {
    "mean": lambda row: replace(row, mean_mm=-row.mean_mm),
    "side": lambda row: replace(row, side="above" if row.side == "below" else "below"),
    "on_cut": lambda row: replace(row, on_cut=-row.on_cut),
    "on_bone": lambda row: replace(row, on_bone=-row.on_bone),
}


@with_rows
@pytest.mark.parametrize("fault", FAULTS)
def test_a_wrong_sign_planted_in_bounds_is_found(requirement: Requirement, fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    right = type(requirement).rows
    touched = [
        s for s in compared(requirement) if any(_differs(FAULTS[fault](row), row) for row in requirement.rows(s.conditions()))
    ]
    if not touched:
        assert fault in ("on_cut", "on_bone")  # no procedure moves this bound
        return
    monkeypatch.setattr(type(requirement), "rows", lambda self, given: tuple(map(FAULTS[fault], right(self, given))))
    assert any(disagreement(requirement, setting) is not None for setting in touched)


def _differs(one: Bound, other: Bound) -> bool:
    same = (np.array_equal(getattr(one, name), getattr(other, name)) for name in ("mean_mm", "on_cut", "on_bone"))
    return one.side != other.side or not all(same)


@pytest.mark.parametrize("requirement", [r for r in REQUIREMENTS if r.helps], ids=lambda requirement: requirement.id)
def test_a_wrong_sign_planted_in_a_reserve_is_found(requirement: Requirement, monkeypatch: pytest.MonkeyPatch) -> None:
    """By its bounds, or, where it has none or advice reaches it, by what is said to help."""
    right = type(requirement).reserves

    def wrong(self: Requirement, situation: Situation) -> tuple[object, ...]:
        return tuple(replace(reserve, amount=-reserve.amount) for reserve in right(self, situation))

    chosen = compared(requirement)
    monkeypatch.setattr(type(requirement), "reserves", wrong)
    by_bounds = any(disagreement(requirement, one) is not None for one in chosen)
    assert by_bounds or any(min(_gains(requirement, change), default=0) < 0 for change in requirement.helps)


@of_every_requirement
def test_what_is_said_to_help_helps_and_never_harms(requirement: Requirement) -> None:
    for change in requirement.helps:
        gains = _gains(requirement, change)
        assert max(gains, default=0) > 0, change
        assert min(gains) >= -1e-9, change


def _gains(requirement: Requirement, change: Change) -> list[float]:
    """By how much the least reserve grows where the change is carried out, in every setting it can be carried out in."""
    gains = []
    for setting in settings():
        changed = carried_out(setting, change)
        before = setting.least(requirement)
        after_it = None if changed is None or before is None else changed.least(requirement)
        if before is not None and after_it is not None:
            gains.append(after_it - before)
    return gains


def carried_out(setting: Setting, change: Change) -> Setting | None:
    """The setting with a small change of one input; None where its procedure has no such input."""
    sign = 1 if change.way == "more" else -1
    match change.input:
        case "cut":
            return replace(setting, cut_mm=setting.cut_mm - sign * 0.1) if setting.procedure.lengthens else None
        case "finish_line":
            return replace(setting, finish_mm=setting.finish_mm + sign * 0.1)
        case "bone":
            return replace(setting, amount_mm=setting.amount_mm + sign * 0.1) if setting.procedure.takes_bone else None
        case "movement":
            return replace(setting, amount_mm=setting.amount_mm + sign * 0.1) if setting.procedure.raises_tooth else None
        case "occlusal_reduction":
            return replace(setting, less_reduction_mm=-sign * 0.2)
        case "convergence":
            return replace(setting, less_convergence_deg=-sign * 4.0)
        case "grooves":
            return replace(setting, grooves=True)


@of_every_requirement
def test_what_was_not_read_is_missing_on_every_procedure_that_asks_for_it(requirement: Requirement) -> None:
    for kind, procedure in product(requirement.rests_on, PROCEDURES):
        whole = premolar()
        tooth = replace(whole, readings={name: sites for name, sites in whole.readings.items() if name != kind})
        neck = drawn_neck(case_of(tooth), draws=20)
        wishes = wishes_of(tooth, neck.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
        missing = requirement.missing(Conditions(prepared=neck, wishes=wishes, treatment=Treatment(procedure=procedure)))
        asked = requirement.id not in procedure.reads_nothing_for
        asked = asked and (requirement.id != "crown_to_root" or procedure.moves_crest)
        asked = asked and (requirement.idle != "not_bonded" or procedure.bonds)
        asked = asked and requirement.id != "seat_clear_of_crest"  # asked where a margin is raised: test_margin_elevation.py
        assert (missing is not None) == asked, (kind, procedure.id)
        assert missing in (None, *requirement.rests_on)


def test_the_table_has_every_requirement_once() -> None:
    assert sorted(requirement.id for requirement in REQUIREMENTS) == sorted(get_args(RequirementId))


@of_every_requirement
def test_every_requirement_has_a_limit_with_its_evidence(requirement: Requirement) -> None:
    rule = requirement.rule(premolar(), EVIDENCE, deep_sulcus=False)
    assert rule.evidence and requirement.confidence in rule.evidence
    assert 0.5 < rule.confidence < 1
