"""What carries the crown and what shows, on a neck known exactly: each rule at its limit, a tenth above and a tenth below."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collum.case.model import RequirementWish, Restoration, Root, Tooth
from collum.case.parts import tooth_facts
from collum.plan.lengthening.procedures.procedure import Treatment, after
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.assessment import Assessment, assess
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.verdict import Graded
from tests.making.teeth import SITES, healthy_premolar, readings, row
from tests.measuring.exact import exact_neck
from tests.measuring.necks import EVIDENCE

CREST, JUNCTION, EDGE = 3.5, -2.0, 5.5  # from the margin
LINE = 2.0  # so high that it never decides
BONE, EXTRUSION, SOFT = "soft tissue and bone", "extrusion first", "soft tissue only"


def tooth(number: int = 36, trunk_mm: float | None = 4.0, root_mm: float | None = 14.0, **changes: Any) -> Tooth:
    """A tooth whose root and trunk were read."""
    made = healthy_premolar(number=number, root=Root(length_mm=root_mm, trunk_mm=trunk_mm))
    return replace(made, **changes)


def assessed(
    which: Tooth, *, route: str = BONE, bone_mm: float = 0.0, raised_mm: float = 0.0, line_mm: float = LINE, **neck: Any
) -> Assessment:
    """The margin comes back to where it was: its cause still acts."""
    known = {"sulcus": 1.5, "crest": CREST, "own_height": CREST, "sound": EDGE, "edge": EDGE, "cej": JUNCTION, **neck}
    before = exact_neck(which, **known)
    treatment = Treatment(
        procedure=procedure_of(route), returns_whole=True, bone_mm=np.full(36, bone_mm), extruded_mm=raised_mm
    )  # type: ignore[arg-type]  # a route
    wishes = wishes_of(which, before.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
    return assess(after(before, treatment), wishes, np.zeros(36), np.full(36, line_mm), treatment)


def graded(assessment: Assessment, name: str) -> Graded:
    found = assessment.graded[name]
    assert found is not None
    return found


def reserve(assessment: Assessment, name: str) -> float:
    """The reserve, the same in every draw."""
    least = graded(assessment, name).least
    assert np.ptp(least) == pytest.approx(0, abs=1e-12)
    return float(least[0])


def assert_at_its_limit(assessments: tuple[Assessment, Assessment, Assessment], name: str, step: float) -> None:
    """Above, at and below: kept, kept and short in every draw, with the reserve that hand arithmetic gives."""
    reserves = [reserve(a, name) for a in assessments]
    assert reserves == pytest.approx([step, 0.0, -step], abs=1e-9)
    assert graded(assessments[0], name).verdict == "kept"
    assert graded(assessments[2], name).verdict == "short"


def test_the_line_stays_three_millimetres_from_the_furcation_on_soft_tissue_too() -> None:
    """Entrance 4 mm under a junction 2 mm under the margin; lines at -2.5, -3.0 and -3.5."""
    found = [assessed(tooth(), route=SOFT, line_mm=mm) for mm in (-2.5, -3.0, -3.5)]
    assert_at_its_limit(tuple(found), "furcation", 0.5)  # type: ignore[arg-type]  # three of them


def test_after_bone_work_in_a_lower_molar_the_margin_stays_four_millimetres_from_it() -> None:
    """The margin comes back whole, to 0; the junction lies at -2."""
    found = [assessed(tooth(trunk_mm=trunk)) for trunk in (2.1, 2.0, 1.9)]
    assert_at_its_limit(tuple(found), "furcation", 0.1)  # type: ignore[arg-type]  # three of them
    upper = assessed(tooth(number=26, trunk_mm=2.0))
    assert reserve(upper, "furcation") == pytest.approx(0.5)  # only its bone: -3.5 over -4.0


def test_lowered_bone_still_covers_the_furcation() -> None:
    """Upper molar, bone lowered by 1.5 to -5.0; entrance at -5.1, -5.0 and -4.9."""
    found = [assessed(tooth(number=26, trunk_mm=trunk), bone_mm=1.5) for trunk in (3.1, 3.0, 2.9)]
    assert_at_its_limit(tuple(found), "furcation", 0.1)  # type: ignore[arg-type]  # three of them


def test_extrusion_raises_the_furcation_past_the_bone() -> None:
    """Raised by 1.5 the entrance stands at -5.0 + 1.5; the crest stays at -3.5."""
    found = [assessed(tooth(number=26, trunk_mm=trunk), route=EXTRUSION, raised_mm=1.5) for trunk in (3.1, 3.0, 2.9)]
    assert_at_its_limit(tuple(found), "furcation", 0.1)  # type: ignore[arg-type]  # three of them


def test_a_recorded_involvement_lies_bare_and_an_unrecorded_one_under_bone() -> None:
    """Trunk 1.0: at -3.0 by junction and trunk, over the crest at -3.5; only where recorded is that believed."""
    bare = tooth(trunk_mm=1.0, facts=tooth_facts({"furcation": ({"side": "facial", "grade": 1, "scale": "Hamp"},)}))
    involved, covered = (assessed(t, route=SOFT, line_mm=0.0) for t in (bare, tooth(trunk_mm=1.0)))
    assert reserve(involved, "furcation") == pytest.approx(0.0 - 3.0 - -3.0)
    assert reserve(covered, "furcation") == pytest.approx(0.0 - 3.0 - -3.5)


@pytest.mark.parametrize(("number", "has"), [(36, True), (26, True), (14, True), (15, False), (11, False), (45, False)])
def test_only_teeth_whose_root_divides_have_a_furcation(number: int, has: bool) -> None:
    assert (assessed(tooth(number=number)).graded["furcation"] is not None) is has


def limited(name: str, limit: float, **changes: Any) -> Tooth:
    """A premolar with a limit of the dentist's own."""
    return tooth(number=45, trunk_mm=None, requirements=(RequirementWish(id=name, limit=limit, reason="test"),), **changes)


@pytest.mark.parametrize(
    ("did", "ratio"),
    [
        ({"bone_mm": 0.0}, 9.0 / 12.5),  # 5.5 + 3.5 out of bone; of 14.0 there are 1.5 out of it
        ({"bone_mm": 2.0}, 11.0 / 10.5),
        ({"route": EXTRUSION, "raised_mm": 2.0}, 9.0 / 10.5),  # trimmed back to its old edge: kinder
    ],
)
def test_crown_to_root_on_the_proximal_crest(did: dict[str, Any], ratio: float) -> None:
    above, at, below = (assessed(limited("crown_to_root", ratio + step), **did) for step in (0.05, 1e-12, -0.05))
    assert reserve(above, "crown_to_root") == pytest.approx(0.05)
    assert reserve(at, "crown_to_root") == pytest.approx(0, abs=1e-9)
    assert [graded(a, "crown_to_root").verdict for a in (above, at, below)] == ["kept", "kept", "short"]


def test_crown_to_root_counts_to_the_planned_edge_and_not_on_soft_tissue() -> None:
    higher = tooth(number=45, trunk_mm=None)
    higher = replace(higher, restoration=replace(higher.restoration, planned_edge_mm=1.0))
    assert graded(assessed(higher), "crown_to_root").value == pytest.approx(10.0 / 12.5)
    assert assessed(higher, route=SOFT).graded["crown_to_root"] is None


def test_the_limit_of_crown_to_root_gives_way_to_the_norm_of_the_tooth() -> None:
    """Lower second premolar by the handbook: (C + 2) / (R - 2), and 1.3 of it where that is more than 1."""
    which = tooth(number=15, trunk_mm=None)
    rule = wishes_of(which, np.ones(36), EVIDENCE, deep_sulcus=False).rule("crown_to_root")
    assert rule.limit == pytest.approx(max(1.0, 1.3 * (8.5 + 2) / (14.0 - 2)))


@pytest.mark.parametrize("name", ["crown_to_root", "attached_area"])
def test_what_rests_on_the_handbook_is_at_best_in_doubt(name: str) -> None:
    read, root_missing = (assessed(tooth(number=45, trunk_mm=None, root_mm=mm)) for mm in (14.0, None))
    junction_missing = assessed(tooth(number=45, trunk_mm=None), cej=None)
    assert graded(read, name).verdict == "kept"
    for found in (root_missing, junction_missing):
        assert graded(found, name).probability == 1
        assert graded(found, name).verdict == "in doubt"


def test_attached_area_is_the_share_left_of_a_healthy_tooth() -> None:
    """4.0 of bone taken: 5.5 of 14.0 out of it, against 1.15 in health; one root, exponent 1.42; several, 1.24."""
    left = ((1 - 5.5 / 14) / (1 - 1.15 / 14)) ** 1.42
    above, at, below = (assessed(limited("attached_area", left + step), bone_mm=4.0) for step in (-0.05, -1e-12, 0.05))
    assert reserve(above, "attached_area") == pytest.approx(0.05)
    assert [graded(a, "attached_area").verdict for a in (above, at, below)] == ["kept", "kept", "short"]
    several = assessed(tooth(), bone_mm=4.0)
    assert graded(several, "attached_area").value == pytest.approx(((1 - 5.5 / 14) / (1 - 1.15 / 14)) ** 1.24)


def test_a_root_too_short_for_any_attachment_has_none_left() -> None:
    """Entered as 4 mm, it is shorter than a healthy crest lies deep (1.15 mm) in one draw of forty thousand."""
    found = graded(assessed(tooth(root_mm=1.0)), "attached_area")
    assert (found.value, found.verdict) == (0.0, "short")


def shown(**recorded: Any) -> Tooth:
    return tooth(number=11, trunk_mm=None, restoration=Restoration(visible_zone=True), facts=tooth_facts(recorded))


def test_a_papilla_fills_five_millimetres_and_never_decides() -> None:
    """Contact 1.0 over the margin, crest 3.9, 4.0 and 4.1 under it."""
    contact = shown(contact_point_mm={"mesial": 1.0, "distal": 0.0})
    found = [assessed(contact, crest=mm, own_height=mm) for mm in (3.9, 4.0, 4.1)]
    assert_at_its_limit(tuple(found), "papilla", 0.1)  # type: ignore[arg-type]  # three of them
    joint = [assessed(contact, crest=mm, own_height=mm, bone_mm=mm - 3.5).joint_probability for mm in (3.9, 4.4)]
    assert joint[0] == joint[1]
    assert assessed(shown()).missing["papilla"] == "contact_point"
    assert assessed(tooth(number=11, trunk_mm=None)).graded["papilla"] is None


def wishing(mirror_mm: float, **recorded: Any) -> Tooth:
    return shown(mirror_margin_mm=mirror_mm, mirror_healthy=True, mirror_above_cej_mm=1.5, **recorded)


@pytest.mark.parametrize("side", [1, -1])
def test_in_the_visible_zone_the_margin_may_differ_by_less_than_what_is_seen_from_the_wish(side: int) -> None:
    """The margin comes back to 0; the wish is 1.4, 1.5 and 1.6 coronal or apical of it: 1.5 is seen."""
    junction = {"cej_height": readings(row(*[-3.0] * 6))}
    wishing_for = [replace(wishing(side * mm), readings=junction, sites=SITES) for mm in (1.4, 1.5, 1.6)]
    chances = [graded(assessed(one), "visible_zone").probability for one in wishing_for]
    assert chances == [1, 0, 0]  # a difference as large as the limit is seen
    hidden = replace(wishing(3.0 * side), restoration=Restoration(visible_zone=False))
    assert assessed(hidden).graded["visible_zone"] is None
    assert assessed(shown()).graded["visible_zone"] is None  # nothing is wished
    assert assessed(shown(mirror_margin_mm=0.0)).missing["visible_zone"] == "mirror_state"


def test_half_of_every_wall_resists_a_crown_that_rolls() -> None:
    """Height over the line against base sin(20 degrees); lower second premolar 7.0 wide at the neck from facial to oral, 5.0
    along.
    """
    which = tooth(number=45, trunk_mm=None)
    base = wishes_of(which, np.ones(36), EVIDENCE, deep_sulcus=False).base_mm
    needed = max(base) * np.sin(np.deg2rad(20))
    top = EDGE - 1.5
    found = [assessed(which, route=SOFT, line_mm=top - needed - step) for step in (0.1, 1e-12, -0.1)]
    assert_at_its_limit(tuple(found), "resistance", 0.1)  # type: ignore[arg-type]  # three of them
