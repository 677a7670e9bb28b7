"""The units of a bridge, from the case: which teeth carry, how much of them is still attached, where they stand in the arch."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.case import Case
from collum.case.model import Tooth
from collum.core.bridge.abutment import GivingWay, arch_places_mm, giving_way
from collum.core.bridge.rules import Abutment
from collum.core.ring import Floats
from collum.core.support.support import attached_area_share
from collum.core.tooth import arch, dimensions, is_right, mirrored, tooth_class
from collum.plan.sentence import Sentence, say

LossFrom = Literal["attachment_loss", "probing_and_junction", "not_known"]


class BridgeFault(ValueError):
    """No plan can be made of this bridge; `reason` says why."""

    def __init__(self, reason: Sentence) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A unit of the bridge: its tooth, what it is of, its width and place in the arch, and for an abutment what holds it.

    `loss_mm` is the attachment lost, None where nothing was read (`loss_from`); `root_from_case` is False where the length of
    the root is the handbook's. `abutment` and `giving` are None for a pontic; where the loss is not known `giving` is that of a
    tooth that lost nothing. `abutment_after` is the abutment once its route has taken bone or moved it.
    """

    number: int
    kind: str
    position: int
    width_mm: float
    place_mm: Floats
    loss_mm: float | None = None
    loss_from: LossFrom = "not_known"
    root_mm: float
    root_from_case: bool = False
    convergence_deg: float | None = None
    abutment: Abutment | None = None
    abutment_after: Abutment | None = None
    giving: GivingWay | None = None


def units_of(case: Case, bridge: int, bone_lost_mm: Mapping[int, float]) -> tuple[Unit, ...]:
    """Return the units of a bridge of the case in order along the arch, from the right. Raises BridgeFault.

    `bone_lost_mm`: attachment an abutment will lose by its planned route, by its number; absent where none.
    """
    recorded = case.bridges[bridge]
    pontics = recorded.pontics
    numbers = sorted({*recorded.teeth, *pontics}, key=_along)
    if not pontics:
        raise BridgeFault(say("bridge.fault.no_pontic"))
    if len({arch(number) for number in numbers}) > 1:
        raise BridgeFault(say("bridge.fault.two_jaws"))
    teeth = {tooth.number: tooth for tooth in case.teeth}
    return tuple(_unit(number, teeth.get(number), number not in pontics, bone_lost_mm.get(number, 0)) for number in numbers)


def _along(number: int) -> int:
    return -(number % 10) if is_right(number) else number % 10


def beyond(number: int, step: Literal[-1, 1]) -> int | None:
    """Return the next tooth to the right (-1) or to the left (1) along the arch, None behind the third molar."""
    onward = -step if is_right(number) else step
    position = number % 10 + onward
    if position in range(1, 9):
        return number - number % 10 + position
    return mirrored(number) if position == 0 else None


def _unit(number: int, tooth: Tooth | None, carries: bool, bone_lost_mm: float) -> Unit:
    handbook = dimensions(number)
    kind = f"{arch(number)}{number % 10}"
    measured = tooth.root.length_mm if tooth else None
    root = measured if measured is not None else handbook.root_length_mm
    loss, origin = _loss(tooth)
    share, after = (_share(number, loss, more, root) for more in (0, bone_lost_mm))
    filled = _root_filled(tooth)
    giving = giving_way(kind, _held(number, share), root - (loss or 0)) if carries else None
    return Unit(
        number=number,
        kind=kind,
        position=number % 10,
        width_mm=handbook.md_crown_mm,
        place_mm=_place(number),
        loss_mm=loss,
        loss_from=origin,
        root_mm=root,
        root_from_case=measured is not None,
        convergence_deg=tooth.restoration.convergence_deg if tooth else None,
        abutment=Abutment(kind=kind, attached_share=share, root_filled=filled) if carries else None,
        abutment_after=Abutment(kind=kind, attached_share=after, root_filled=filled) if carries else None,
        giving=giving,
    )


def _share(number: int, loss_mm: float | None, more_mm: float, root_mm: float) -> float | None:
    """Return the share of the root's area that is left attached, None where the loss so far is not known."""
    if loss_mm is None:
        return None
    return float(attached_area_share((loss_mm + more_mm) / root_mm, multirooted=tooth_class(number) == "molar"))


def _held(number: int, share: float | None) -> float:
    if share is not None and not share > 0:
        raise BridgeFault(say("bridge.fault.no_attachment", number=number))
    return 1.0 if share is None else share


def _place(number: int) -> Floats:
    """Return where a tooth stands in an average arch of handbook widths."""
    before = sum(dimensions(number - number % 10 + position).md_crown_mm for position in range(1, number % 10))
    width = dimensions(number).md_crown_mm
    start = -(before + width) if is_right(number) else before
    return np.asarray(arch_places_mm([width], start, arch(number))[0])


def _loss(tooth: Tooth | None) -> tuple[float | None, LossFrom]:
    """Return the attachment lost: as recorded, else probing depth and junction, averaged over the sites that have both. [mm]"""
    if tooth is None:
        return None, "not_known"
    if tooth.facts.attachment_loss_mm is not None:
        return tooth.facts.attachment_loss_mm, "attachment_loss"
    probed, junction = _site_means(tooth, "probing_depth"), _site_means(tooth, "cej_height")
    losses = [max(0.0, probed[site] + junction[site]) for site in probed if site in junction]
    return (sum(losses) / len(losses), "probing_and_junction") if losses else (None, "not_known")


def _site_means(tooth: Tooth, kind: Literal["probing_depth", "cej_height"]) -> dict[str, float]:
    means = {}
    for site, readings in tooth.readings.get(kind, {}).items():
        values = [reading.value_mm for reading in readings if reading.outcome == "measured" and reading.value_mm is not None]
        if values and len(values) == len(readings):
            means[site] = sum(values) / len(values)
    return means


def _root_filled(tooth: Tooth | None) -> bool | None:
    if tooth is None:
        return None
    if tooth.facts.root_filling is not None:
        return True
    return False if tooth.vital else None  # without pulp, but no filling recorded: not known
