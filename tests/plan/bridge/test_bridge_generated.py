"""Bridges of any span in either jaw: planned, borne in equilibrium, worded and printed without a number that is none."""

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.app.speaking import words
from collum.case.model import Case, Patient, Restoration, Root, Tooth
from collum.case.parts import bridge_of, tooth_facts
from collum.plan.bridge import BridgeFault, BridgeWishes, plan_bridge
from collum.wire.bridge.to_document import bridge_document, faulty_bridge_document

UPPER = [*range(18, 10, -1), *range(21, 29)]
LOWER = [*range(48, 40, -1), *range(31, 39)]
MM = st.floats(0.5, 12)
maybe_mm = st.none() | MM


@st.composite
def bridges(draw: st.DrawFn) -> tuple[Case, BridgeWishes, dict[int, float]]:
    arch = draw(st.sampled_from([UPPER, LOWER]))
    first = draw(st.integers(0, len(arch) - 2))
    units = arch[first : first + draw(st.integers(2, 14))]
    pontics = draw(st.lists(st.sampled_from(units), min_size=1, max_size=len(units) - 1, unique=True))
    teeth = tuple(draw(_tooth(number)) for number in units if number not in pontics and draw(st.booleans()))
    recorded: dict[str, Any] = {"teeth": units, "pontics": pontics}
    if draw(st.booleans()):
        recorded["path"] = {"toward": "mesial", "tilt_deg": draw(st.integers(0, 45))}
    wishes = BridgeWishes(
        material=draw(st.sampled_from(["metal", "metal_ceramic", "lithium_disilicate", "monolithic_zirconia"])),
        connector_height_mm=draw(maybe_mm),
        connector_width_mm=draw(maybe_mm),
        room_mm=draw(maybe_mm),
        tissue_mm={pontics[0]: tuple(draw(st.just(math.nan) | st.floats(0, 6)) for _ in range(5))}
        if draw(st.booleans())
        else {},
    )
    lost = {tooth.number: draw(st.floats(0, 4)) for tooth in teeth}
    return Case(patient=Patient(reference="T-1"), teeth=teeth, bridges=(bridge_of(recorded),)), wishes, lost


@st.composite
def _tooth(draw: st.DrawFn, number: int) -> Tooth:
    loss = draw(st.none() | st.floats(0, 12))
    return Tooth(
        number=number,
        role="abutment",
        vital=draw(st.none() | st.booleans()),
        root=Root(length_mm=draw(st.none() | st.floats(6, 25))),
        restoration=Restoration(convergence_deg=draw(st.none() | st.floats(0, 40))),
        facts=tooth_facts({} if loss is None else {"attachment_loss_mm": loss}),
    )


@pytest.mark.slow
@given(bridges())
def test_any_bridge_is_planned_worded_and_in_equilibrium(made: tuple[Case, BridgeWishes, dict[int, float]]) -> None:
    case, wishes, lost = made
    try:
        plan = plan_bridge(case, 0, wishes, lost)
    except BridgeFault as fault:
        assert fault.reason.key == "bridge.fault.no_attachment"
        document = faulty_bridge_document(wishes.material, fault, words)
        assert document.fault is not None and document.fault.text
        return
    assert plan.carried.imbalance < 1e-9
    document = bridge_document(plan, {}, words)
    assert all(math.isfinite(number) for number in _numbers(json.loads(document.model_dump_json())))
    unknown = {unit.number for unit in plan.units if unit.abutment is not None and unit.loss_mm is None}
    if unknown:
        assert document.area_verdict == "not_assessed"
        assert {sentence.parameters["number"] for sentence in document.assumed if "attachment" in sentence.key} == unknown
    if None in (wishes.connector_height_mm, wishes.connector_width_mm):
        assert all(one.verdict != "met" for one in document.connectors)
    assert len({sentence.text for sentence in document.weak_points}) == len(document.weak_points)


def _numbers(found: Any) -> Iterator[float]:
    if isinstance(found, dict):
        for one in found.values():
            yield from _numbers(one)
    elif isinstance(found, list):
        for one in found:
            yield from _numbers(one)
    elif isinstance(found, float):
        yield found
