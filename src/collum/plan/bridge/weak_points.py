"""What is weak in a bridge, worst known first, and what was assumed where nothing was recorded: sentences by key."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from collum.plan.bridge.bridge_plan import BridgePlan
from collum.plan.bridge.units import Unit
from collum.plan.sentence import Parameter, Sentence, say


@dataclass(frozen=True, slots=True, kw_only=True)
class WeakPoint:
    """What speaks against a bridge. `lacks`: a rule is not met; else it is to be weighed."""

    lacks: bool
    said: Sentence


def weak_points(plan: BridgePlan) -> list[WeakPoint]:
    """Return what speaks against the bridge as it stands; empty where all that could be assessed is met."""
    closed = [_lacks("no_route", number=number) for number in plan.closed]
    return [
        *closed,
        *_of_roots(plan),
        *_of_rules(plan),
        *_of_connectors(plan),
        *_of_load(plan),
        *_of_path(plan),
        *_of_room(plan),
    ]


def not_assessed(plan: BridgePlan) -> list[Sentence]:
    """Return what could not be said, and which reading would say it."""
    said = [
        say("bridge.unknown.attachment", number=unit.number)
        for unit in plan.units
        if unit.abutment is not None and unit.loss_mm is None
    ]
    said += [
        say("bridge.unknown.root_filled", number=unit.number)
        for unit in plan.units
        if unit.abutment is not None and unit.abutment.root_filled is None
    ]
    if not plan.section_wished:
        said.append(say("bridge.unknown.connector"))
    said += [say("bridge.unknown.convergence", number=one.number) for one in plan.path if one.reserve_deg is None]
    if plan.room.verdict == "not_assessed":
        said.append(say("bridge.unknown.room"))
    unread = [pontic.number for pontic in plan.pontics if pontic.verdict.verdict == "not_assessed"]
    return said + [say("bridge.unknown.bed", number=number) for number in unread]


def assumed(plan: BridgePlan) -> list[Sentence]:
    """Return what stood in for what was not recorded."""
    roots = [unit for unit in plan.units if unit.abutment is not None and not unit.root_from_case]
    said = [say("bridge.assumed.root", number=unit.number, root_mm=unit.root_mm) for unit in roots]
    said += [
        say("bridge.assumed.attachment", number=unit.number)
        for unit in plan.units
        if unit.abutment is not None and unit.loss_mm is None
    ]
    if not plan.section_wished:
        said.append(say("bridge.assumed.connector"))
    return [*said, say("bridge.assumed.arch"), say("bridge.assumed.stiffness"), say("bridge.assumed.strength")]


def _lacks(name: str, **parameters: Parameter) -> WeakPoint:
    return WeakPoint(lacks=True, said=say(f"bridge.weak.{name}", **parameters))


def _weigh(name: str, **parameters: Parameter) -> WeakPoint:
    return WeakPoint(lacks=False, said=say(f"bridge.weak.{name}", **parameters))


def _of_roots(plan: BridgePlan) -> Iterator[WeakPoint]:
    best = max(plan.ratio_if_whole.ratios.values(), default=1)
    if plan.ratio.verdict == "not_assessed" and plan.ratio_if_whole.verdict == "below":
        yield _lacks("area_below_even_if_whole", ratio=best)
    elif plan.ratio.verdict == "below":
        yield _lacks("area_below", ratio=max(plan.ratio.ratios.values()))
    elif plan.ratio.verdict == "table_dependent":
        yield _weigh("area_table_dependent", low=min(plan.ratio.ratios.values()), high=max(plan.ratio.ratios.values()))
    if plan.ratio_after is not None and plan.ratio_after.verdict in ("below", "table_dependent"):
        ratios = plan.ratio_after.ratios.values()
        said = say(f"bridge.weak.area_{plan.ratio_after.verdict}_after", low=min(ratios), high=max(ratios))
        yield WeakPoint(lacks=plan.ratio_after.verdict == "below", said=said)


def _of_rules(plan: BridgePlan) -> Iterator[WeakPoint]:
    for rule in plan.rules:
        if rule.verdict == "below" and rule.found is not None:
            yield _lacks(f"{rule.key}", found=rule.found, limit=rule.limit)


def _of_connectors(plan: BridgePlan) -> Iterator[WeakPoint]:
    """Give what connectors lack: once where all lack the same, else one by one."""
    between = [(one.number, two.number) for one, two in zip(plan.units, plan.units[1:], strict=False)]
    for size, unit, lacking in (
        ("height", "mm", [check.lacking_height_mm or 0 for check in plan.connectors]),
        ("area", "mm2", [check.lacking_area_mm2 or 0 for check in plan.connectors]),
    ):
        if lacking[0] and len(set(lacking)) == 1:
            yield _lacks(f"connectors_{size}", **{f"lacking_{unit}": lacking[0]})
            continue
        for (one, two), lack in zip(between, lacking, strict=True):
            if lack:
                yield _lacks(f"connector_{size}", one=one, two=two, **{f"lacking_{unit}": lack})


def _of_load(plan: BridgePlan) -> Iterator[WeakPoint]:
    for index, sure in plan.carried.pulled():
        yield _weigh(f"pulled_{sure}", number=plan.units[index].number)
    for end in _hanging(plan.units):
        yield _weigh("hangs_over", number=end.number)
    inside = [unit.number for unit, lever in zip(plan.units, plan.levers_mm, strict=True) if lever > unit.width_mm / 2]
    if outside := [number for number in inside if number not in {unit.number for unit in _hanging(plan.units)}]:
        yield _weigh("outside_the_line", numbers=", ".join(map(str, outside)), lever_mm=float(np.max(plan.levers_mm)))


def _hanging(units: tuple[Unit, ...]) -> list[Unit]:
    """Return the pontics beyond the last abutment on either side."""
    carrying = [i for i, unit in enumerate(units) if unit.abutment is not None]
    return [unit for i, unit in enumerate(units) if i < carrying[0] or i > carrying[-1]]


def _of_path(plan: BridgePlan) -> Iterator[WeakPoint]:
    for one in plan.path:
        if one.reserve_deg is not None and one.reserve_deg < 0:
            yield _lacks("path", number=one.number, undercut_deg=-one.reserve_deg)


def _of_room(plan: BridgePlan) -> Iterator[WeakPoint]:
    if plan.room.verdict == "short" and plan.room.lacking_mm is not None:
        yield _lacks("room", lacking_mm=plan.room.lacking_mm)
    for pontic in plan.pontics:
        if pontic.verdict.lacking_mm:
            yield _weigh("bed", number=pontic.number, lacking_mm=pontic.verdict.lacking_mm)
