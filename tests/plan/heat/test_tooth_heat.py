"""Heat and pacing of a tooth: rounds that keep limits, answers where none does, forms, what is said and what never is."""

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest

from collum.app.speaking import words
from collum.case.model import Tooth
from collum.case.parts import tooth_facts
from collum.plan import PlannedTooth
from collum.plan.heat import HeatWishes, heat_of_tooth
from collum.wire.heat.document import ToothHeatDocument
from collum.wire.heat.to_document import assumptions, tooth_heat_document
from tests.measuring.planned import with_tooth
from tests.plan.heat.making import planned, with_cut, with_level

PLAIN = HeatWishes()


def heat(tooth: Tooth, plan: PlannedTooth, wishes: HeatWishes = PLAIN) -> ToothHeatDocument:
    return tooth_heat_document(tooth, heat_of_tooth(with_tooth(plan, tooth), wishes), words)


def ring_cut(crest_mm: float = 6, **changes: object) -> tuple[Tooth, PlannedTooth]:
    tooth, plan = planned(**changes)
    plan = with_level(with_level(plan, "crest", crest_mm), "mucogingival_junction", 8)
    return tooth, with_cut(plan, [1.0] * 36)


def short_cut(crest_mm: float = 6, **changes: object) -> tuple[Tooth, PlannedTooth]:
    """A cut of 60 degrees in front: one or two strokes, soon worked out."""
    tooth, plan = ring_cut(crest_mm, **changes)
    return tooth, with_cut(plan, [1.0 if angle <= 20 or angle >= 330 else 0.0 for angle in range(0, 360, 10)])


def one_place(**changes: object) -> tuple[Tooth, PlannedTooth]:
    """A cut of 40 degrees in front: one place."""
    tooth, plan = ring_cut(**changes)  # type: ignore[arg-type]  # changes of the tooth alone
    return tooth, with_cut(plan, [1.0 if angle <= 10 or angle >= 340 else 0.0 for angle in range(0, 360, 10)])


@lru_cache(maxsize=1)
def plain() -> ToothHeatDocument:
    return heat(*ring_cut(vital=False))


@pytest.mark.slow
def test_a_ring_is_paced_without_a_breach() -> None:
    found = plain()
    assert found.outcome == "paced" and found.round is not None
    assert [o.organ for o in found.round.organs] == ["bone", "ligament", "soft_tissue"]  # no pulp to watch
    for organ in found.round.organs:
        assert 0 < organ.low < organ.middle < organ.high <= 1
    assert sorted(s.sector for s in found.round.strokes) == list(range(len(found.sectors)))
    for earlier, later in pairwise(found.round.strokes):
        assert later.start_s >= earlier.end_s + found.hand.move_s - 1e-6
        assert later.sector not in found.sectors[earlier.sector].neighbours or later.start_s >= earlier.end_s + 2 - 1e-6


@pytest.mark.slow
def test_one_pass_takes_what_the_bevel_makes_of_the_thickness() -> None:
    found = plain()
    assert found.passes_asked == 1  # 1.1 mm at 45 degrees are 1.6 mm of wire; one pass takes 2
    assert [sector.passes for sector in found.sectors] == [1] * len(found.sectors)
    tooth, plan = short_cut(vital=False)
    inputs = replace(plan.draws.inputs, thickness_mm=np.full(36, 1.5))
    thick = replace(plan, draws=replace(plan.draws, inputs=inputs))
    assert heat(tooth, thick).passes_asked == 2  # 1.5 mm are 2.1


@pytest.mark.slow
def test_a_living_pulp_is_watched_and_may_decide() -> None:
    found = heat(*ring_cut(vital=True), HeatWishes(passes=3))
    assert found.outcome in ("fewer passes", "fewer places")
    assert found.answer[0].key.startswith("heat.answer.no_pause_often_")
    assert found.answer[0].parameters["passes"] == 3
    assert isinstance(found.answer[0].parameters["percent"], int) and found.answer[0].parameters["percent"] > 100
    unknown = heat(*short_cut(vital=None))
    assert unknown.round is not None
    assert "pulp" in [o.organ for o in unknown.round.organs]


@pytest.mark.slow
def test_of_a_tooth_without_a_living_pulp_nothing_says_anything_of_one() -> None:
    tooth, plan = one_place(vital=False)
    found = heat(tooth, plan, HeatWishes(passes=1))
    assert not found.pulp and found.round is not None
    assert [o.organ for o in found.round.organs] == ["bone", "ligament", "soft_tissue"]
    assert {row.worst_organ for row in found.by_passes} <= {None, "bone", "ligament", "soft_tissue"}
    said = [*found.answer, *found.reminders, *(r for s in found.sectors for r in s.remarks)]
    said_of_all = [words(sentence) for sentence in assumptions([tooth])]
    assert not [line for line in [*(one.text for one in said), *said_of_all] if "pulp" in line]
    assert any("pulp" in words(sentence) for sentence in assumptions([tooth, planned(vital=None)[0]]))


@pytest.mark.slow
def test_of_one_place_nothing_is_said_of_others() -> None:
    found = heat(*one_place(vital=False), HeatWishes(passes=1))
    assert found.round is not None and len(found.round.strokes) == 1
    assert found.answer[0].text == f"One stroke, of {found.round.duration_s:.1f} s."
    assert found.answer[0].key == "heat.answer.one_stroke"


@pytest.mark.slow
def test_where_fewer_passes_hold_the_round_is_theirs() -> None:
    found = heat(*short_cut(vital=False), HeatWishes(passes=5))
    assert found.outcome == "fewer passes" and found.round is not None
    holds = found.sectors[0].passes
    assert 1 <= holds < 5
    assert len(found.round.strokes) == holds * len(found.sectors)
    rows = {row.passes: row for row in found.by_passes}
    assert list(rows) == [1, 2, 3, 4, 5]
    assert rows[5].duration_s is None and rows[5].worst_share is not None and rows[5].worst_share > 1
    assert rows[holds].duration_s is not None
    lengths = [row.duration_s for row in found.by_passes if row.duration_s is not None]
    assert lengths == sorted(lengths)
    for row in found.by_passes:  # what the unfavourable band allows the middle one allows too, sooner or at once
        assert row.duration_s is None or (row.middle_duration_s or 0) <= row.duration_s
    assert rows[2].middle_duration_s is not None


@pytest.mark.slow
def test_where_one_pass_all_round_is_too_much_some_places_are_left_out() -> None:
    """A pulp 3.2 mm wide in a root of 5 leaves 0.9 mm of dentine."""
    found = heat(*ring_cut(vital=True, facts=tooth_facts({"pulp_width_mm": {"mesiodistal": 3.2}})), HeatWishes(passes=1))
    assert found.outcome == "fewer places" and found.round is not None
    assert [s.key for s in found.answer] == ["heat.answer.no_pause_once_pulp", "heat.answer.fewer_places_hold"]
    left_out = {sector.number for sector in found.sectors if not sector.passes}
    assert 0 < len(left_out) < len(found.sectors)
    assert not left_out & {stroke.sector for stroke in found.round.strokes}
    assert all(organ.high <= 1 for organ in found.round.organs)


@pytest.mark.slow
def test_where_one_stroke_is_too_much_no_round_is_offered() -> None:
    """A pulp 4.4 mm wide leaves 0.3 mm of dentine at the narrow sides of the root."""
    found = heat(*ring_cut(vital=True, facts=tooth_facts({"pulp_width_mm": {"mesiodistal": 4.4}})), HeatWishes(passes=1))
    assert (found.outcome, found.round) == ("no round", None)
    assert [s.key for s in found.answer] == ["heat.answer.no_pause_once_pulp", "heat.answer.one_is_too_many"]
    assert {sector.passes for sector in found.sectors} == {0}


@pytest.mark.slow
def test_a_loop_rests_longer_keeps_off_bone_and_leaves_more_heat() -> None:
    wire, looped = heat(*short_cut(vital=False)), heat(*short_cut(vital=False), HeatWishes(loop=True))
    assert {s.form for s in looped.sectors} == {"loop"}
    assert {s.rest_s for s in looped.sectors} == {15} and {s.rest_s for s in wire.sectors} == {8}
    assert wire.by_passes[0].worst_share is not None
    assert looped.by_passes[0].worst_share is not None
    assert looped.by_passes[0].worst_share > wire.by_passes[0].worst_share
    near = heat(*short_cut(crest_mm=3.4, vital=False), HeatWishes(loop=True))  # 1.4 mm over bone, under its 1.5
    assert "loop" not in {s.form for s in near.sectors}


@pytest.mark.slow
def test_more_speed_means_shorter_strokes_and_less_heat() -> None:
    wire, quick = heat(*short_cut(vital=False)), heat(*short_cut(vital=False), HeatWishes(speed_mm_s=9))
    assert quick.round is not None and wire.round is not None
    assert quick.sectors[0].stroke_s == pytest.approx(wire.sectors[0].stroke_s * 7 / 9)
    assert max(o.high for o in quick.round.organs) < max(o.high for o in wire.round.organs)


@pytest.mark.parametrize("speed_mm_s", [6.99, 10.01, 0.0])
def test_a_slow_stroke_cannot_be_asked_for(speed_mm_s: float) -> None:
    with pytest.raises(ValueError, match="not within 7 to 10"):
        HeatWishes(speed_mm_s=speed_mm_s)
    with pytest.raises(ValueError, match="one pass"):
        HeatWishes(passes=0)


@pytest.mark.slow
def test_oral_places_are_reached_with_a_bent_wire() -> None:
    for sector in plain().sectors:
        oral = 120 <= sector.centre_deg <= 240
        assert sector.form == ("angled wire" if oral else "straight wire")
        assert any(remark.key == "heat.remark.tongue" for remark in sector.remarks) == (90 < sector.centre_deg < 270)
    hard = heat(*short_cut(vital=False, facts=tooth_facts({"access": "poor"})))
    assert {s.form for s in hard.sectors} == {"angled wire"}


def test_an_implant_beside_the_cut_closes_current() -> None:
    found = heat(*ring_cut(facts=tooth_facts({"implant_beside": True})))
    assert (found.outcome, found.round, found.sectors, found.reminders) == ("closed", None, [], [])
    assert [s.key for s in found.answer] == ["heat.closed.implant_beside"]


def test_no_cut_and_no_route_have_nothing_to_pace() -> None:
    tooth, plan = ring_cut()
    none = heat(tooth, with_cut(plan, [0.0] * 36))
    assert (none.outcome, [s.key for s in none.answer]) == ("nothing to stroke", ["heat.closed.no_cut"])
    for verdict in ("short", "closed", "not assessed"):
        refused = heat(tooth, with_cut(plan, [1.0] * 36, verdict=verdict))
        assert (refused.outcome, [s.key for s in refused.answer]) == ("closed", ["heat.closed.no_route"])
    not_needed = heat(tooth, with_cut(plan, [1.0] * 36, verdict="not needed"))
    assert not_needed.outcome == "nothing to stroke"


def test_a_tooth_near_to_bone_all_round_is_kept_out_whole() -> None:
    found = heat(*ring_cut(crest_mm=2.9))
    assert (found.outcome, [s.key for s in found.answer]) == ("nothing to stroke", ["heat.closed.all_kept_out"])
    assert [(k.reason, k.from_deg, k.to_deg) for k in found.kept_out] == [("thin_over_bone", 0, 0)]
