"""What would help a bridge that lacks something: more roots, another path, larger connectors, another material."""

import math
from collections.abc import Iterator

from collum.core.bridge.beam import Section
from collum.core.bridge.pontic_bed import MATERIALS, room_for
from collum.core.bridge.rules import Material, check_connector, rules_of_thumb
from collum.plan.bridge.bridge_plan import BridgePlan, longest_row, need_between
from collum.plan.sentence import Sentence, say

_TENTHS = 10


def help_for(plan: BridgePlan) -> list[Sentence]:
    """Return what would help where there is too little root or the path undercuts a wall, a connector
    is too small or room is short."""
    said = [
        say("bridge.help.further", number=one.number, low=min(one.ratio.ratios.values()), high=max(one.ratio.ratios.values()))
        for one in plan.further
        if one.ratio.ratios
    ]
    steepest = min((one.reserve_deg for one in plan.path if one.reserve_deg is not None), default=0.0)
    if steepest < 0:
        said.append(say("bridge.help.path", undercut_deg=-steepest))
    if any(check.lacking_height_mm for check in plan.connectors):
        said.append(say("bridge.help.height"))
    return [*said, *_connectors(plan), *_materials(plan)]


def _connectors(plan: BridgePlan) -> Iterator[Sentence]:
    """Give the least size of connector that would do for all of them, of the height wished where that is enough."""
    if not any(check.verdict == "below" for check in plan.connectors):
        return
    section = plan.sections[0]
    height = max([section.height_mm, *(check.need.height_mm for check in plan.connectors)])
    area = max(check.need.area_mm2 for check in plan.connectors)
    width = area / Section(height_mm=height, width_mm=1, shape=section.shape).area_mm2()
    width = math.ceil(max(width, section.width_mm) * _TENTHS) / _TENTHS  # what is shown has to do
    yield say("bridge.help.connector", height_mm=height, width_mm=width)


def _materials(plan: BridgePlan) -> Iterator[Sentence]:
    """Give the other materials that keep every rule of material with the connectors wished and the room there is."""
    if plan.room.verdict == "short" or any(check.verdict == "below" for check in plan.connectors):
        yield from (
            say(f"bridge.help.material.{other}") for other in MATERIALS if other != plan.material and _does(plan, other)
        )


def _does(plan: BridgePlan, material: Material) -> bool:
    abutments = [unit.abutment for unit in plan.units if unit.abutment is not None]
    hindmost = max(unit.position for unit in plan.units)
    rules = rules_of_thumb(abutments, len(plan.units) - len(abutments), material, hindmost, longest_row(plan.units))
    checks = [
        check_connector(need_between(material, plan.units, i), section.area_mm2(), section.height_mm)
        for i, section in enumerate(plan.sections)
    ]
    return (
        plan.section_wished
        and all(check.verdict == "met" for check in checks)
        and room_for(material, plan.room_mm).verdict != "short"
        and not any(rule.verdict == "below" for rule in rules if rule.key in ("hindmost", "pontics_in_a_row"))
    )
