"""The evidence that a plan is made under: what may be learned or chosen, as typed values that are handed in.

`neck.*`, `healing.*` and `plan.*` may differ between practices and with what is learned; the plan and the core take them as
arguments. Physics and handbook stay in the registry. The unit of a value is in its name; one without is a number.
"""

import hashlib
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, TypeVar, get_type_hints

from collum.evidence.registry import Constant

HANDED_PARTS = ("neck.", "healing.", "plan.")
REGISTRY = "registry"

Part = TypeVar("Part")


@dataclass(frozen=True, slots=True)
class Key:
    """The key in the registry of a field of one of the parts below."""

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckPriors:
    """What is believed of the neck before any reading, and how readings err."""

    sulcus_mid_mm: Annotated[float, Key("neck.sulcus.mean_mid_mm")]
    sulcus_proximal_extra_mm: Annotated[float, Key("neck.sulcus.mean_proximal_extra_mm")]
    attachment_mm: Annotated[float, Key("neck.attachment.mean_mm")]
    person_mm2: Annotated[float, Key("neck.variance.person_mm2")]
    tooth_mm2: Annotated[float, Key("neck.variance.tooth_mm2")]
    facial_embrasure_sites_mm2: Annotated[float, Key("neck.variance.facial_embrasure_sites_mm2")]
    oral_embrasure_sites_mm2: Annotated[float, Key("neck.variance.oral_embrasure_sites_mm2")]
    mid_site_mm2: Annotated[float, Key("neck.variance.mid_site_mm2")]
    facial_against_oral_mm2: Annotated[float, Key("neck.variance.facial_against_oral_mm2")]
    facial_embrasure_mm2: Annotated[float, Key("neck.variance.facial_embrasure_mm2")]
    oral_embrasure_mm2: Annotated[float, Key("neck.variance.oral_embrasure_mm2")]
    attachment_person_mm2: Annotated[float, Key("neck.variance.attachment_person_mm2")]
    attachment_site_mm2: Annotated[float, Key("neck.variance.attachment_site_mm2")]
    ring_length: Annotated[float, Key("neck.ring.length")]
    bump_sharpness: Annotated[float, Key("neck.ring.bump_sharpness")]
    overgrown_ring_length: Annotated[float, Key("neck.overgrown.ring_length")]
    overgrown_tooth_sd_mm: Annotated[float, Key("neck.overgrown.tooth_sd_mm")]
    overgrown_site_sd_mm: Annotated[float, Key("neck.overgrown.site_sd_mm")]
    overgrown_local_sd_mm: Annotated[float, Key("neck.overgrown.local_sd_mm")]
    healthy_deepest_probing_mm: Annotated[float, Key("neck.healthy.deepest_probing_mm")]
    sulcus_floor_mm: Annotated[float, Key("neck.floor.sulcus_mm")]
    attachment_floor_mm: Annotated[float, Key("neck.floor.attachment_mm")]
    tip_beyond_healthy_mm: Annotated[float, Key("neck.probe.tip_beyond_floor_healthy_mm")]
    tip_beyond_healthy_sd_mm: Annotated[float, Key("neck.probe.tip_beyond_floor_healthy_sd_mm")]
    tip_beyond_bleeding_mm: Annotated[float, Key("neck.probe.tip_beyond_floor_bleeding_mm")]
    tip_beyond_bleeding_sd_mm: Annotated[float, Key("neck.probe.tip_beyond_floor_bleeding_sd_mm")]
    probing_error_mm: Annotated[float, Key("neck.error.probing_mm")]
    probing_posterior_proximal_error_mm: Annotated[float, Key("neck.error.probing_posterior_proximal_mm")]
    sounding_error_mm: Annotated[float, Key("neck.error.sounding_mm")]
    hard_edge_error_mm: Annotated[float, Key("neck.error.hard_edge_mm")]
    mucogingival_error_mm: Annotated[float, Key("neck.error.mucogingival_mm")]
    cej_error_mm: Annotated[float, Key("neck.error.cej_mm")]
    film_error_mm: Annotated[float, Key("neck.error.film_mm")]
    film_step_mm: Annotated[float, Key("neck.error.film_step_mm")]
    sounding_right_bias_mm: Annotated[float, Key("neck.sounding.right_bias_mm")]
    sounding_short_bias_mm: Annotated[float, Key("neck.sounding.short_bias_mm")]
    sounding_short_sd_mm: Annotated[float, Key("neck.sounding.short_sd_mm")]
    sounding_long_bias_mm: Annotated[float, Key("neck.sounding.long_bias_mm")]
    sounding_long_sd_mm: Annotated[float, Key("neck.sounding.long_sd_mm")]
    sounding_short_share_front: Annotated[float, Key("neck.sounding.short_share_front")]
    sounding_long_share_front: Annotated[float, Key("neck.sounding.long_share_front")]
    sounding_short_share: Annotated[float, Key("neck.sounding.short_share")]
    sounding_long_share: Annotated[float, Key("neck.sounding.long_share")]
    sound_edge_between_sd_mm: Annotated[float, Key("neck.between_sites.sound_edge_sd_mm")]
    occlusal_edge_between_sd_mm: Annotated[float, Key("neck.between_sites.occlusal_edge_sd_mm")]
    level_edge_between_sd_mm: Annotated[float, Key("neck.between_sites.level_edge_sd_mm")]
    mucogingival_between_sd_mm: Annotated[float, Key("neck.between_sites.mucogingival_sd_mm")]
    cej_between_sd_mm: Annotated[float, Key("neck.between_sites.cej_sd_mm")]
    vague_mean_sd_mm: Annotated[float, Key("neck.between_sites.vague_mean_sd_mm")]
    tie_error_mm: Annotated[float, Key("neck.tie.error_mm")]
    least_branch_weight: Annotated[float, Key("neck.branch.least_weight")]
    odd_reading_probability: Annotated[float, Key("neck.odd_reading.probability")]

    def of_key(self, key: str) -> float:
        """Return the value of a key of the registry. Raises KeyError."""
        return float(getattr(self, _field_of_key()[key]))


@dataclass(frozen=True, slots=True, kw_only=True)
class HealingLaw:
    """How far the margin comes back after a cut, how surely, and how long that takes."""

    return_share_facial: Annotated[float, Key("healing.return_share.facial")]
    return_share_proximal: Annotated[float, Key("healing.return_share.proximal")]
    return_share_sd: Annotated[float, Key("healing.return_share.sd")]
    own_height_mid_mm: Annotated[float, Key("healing.own_height.mid_mm")]
    own_height_proximal_mm: Annotated[float, Key("healing.own_height.proximal_mm")]
    own_height_sd_mm: Annotated[float, Key("healing.own_height.sd_mm")]
    own_height_site_sd_mm: Annotated[float, Key("healing.own_height.site_sd_mm")]
    healthy_site_error_mm: Annotated[float, Key("healing.own_height.healthy_site_error_mm")]
    other_tooth_error_mm: Annotated[float, Key("healing.own_height.other_tooth_error_mm")]
    above_attachment_mm: Annotated[float, Key("healing.own_height.above_attachment_mm")]
    phenotype_shift_mm: Annotated[float, Key("healing.phenotype_shift_mm")]
    largest_recession_mm: Annotated[float, Key("healing.largest_recession_mm")]
    spread_mm: Annotated[float, Key("healing.spread_mm")]
    spread_growth: Annotated[float, Key("healing.spread_growth")]
    spread_growth_below_mm: Annotated[float, Key("healing.spread_growth_below_mm")]
    residual_mm: Annotated[float, Key("healing.residual_mm")]
    tail_freedom: Annotated[float, Key("healing.tail_freedom")]
    soft_tissue_return_spread: Annotated[float, Key("healing.soft_tissue.return_spread")]
    soft_tissue_return_beta: Annotated[float, Key("healing.soft_tissue.return_beta")]
    fade_in_mm: Annotated[float, Key("healing.fade_in_mm")]
    extrusion_weeks_per_mm: Annotated[float, Key("healing.extrusion.pace")]
    ring_length: Annotated[float, Key("neck.ring.length")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A snapshot of what may be learned or chosen; made at the door and passed on, never a default.

    `values` by key is for what names its evidence beside the number (limits, times to wait) and for the record of a plan;
    `origin` by key is registry, practice or learned(hash); `sha256` names all values and where they come from.
    """

    values: Mapping[str, float]
    origin: Mapping[str, str]
    sha256: str
    neck: NeckPriors
    healing: HealingLaw

    def as_planned(self, constants: Iterable[Constant]) -> tuple[Constant, ...]:
        """Return the constants with the values handed in where they differ from the registry's."""
        return tuple(replace(c, value=self.values.get(c.key, c.value)) for c in constants)


@dataclass(frozen=True, slots=True, kw_only=True)
class Handed:
    """A value that takes the place of the registry's. `origin`: practice, or learned(hash)."""

    value: float
    origin: str


def evidence_of(constants: Iterable[Constant], instead: Mapping[str, Handed] | None = None) -> Evidence:
    """Return the snapshot of `constants`, with the values `instead` of theirs.

    Raises ValueError for a value outside the range or past the hard floor of its constant, KeyError for one that cannot be
    handed in.
    """
    handed = instead or {}
    mine = {c.key: c for c in constants if c.key.startswith(HANDED_PARTS)}
    for key, given in handed.items():
        _check(mine[key], given.value)
    values = {key: handed[key].value if key in handed else c.value for key, c in mine.items()}
    origin = {key: handed[key].origin if key in handed else REGISTRY for key in mine}
    named = json.dumps([[key, values[key], origin[key]] for key in sorted(values)])
    return Evidence(
        values=MappingProxyType(values),
        origin=MappingProxyType(origin),
        sha256=hashlib.sha256(named.encode()).hexdigest(),
        neck=_part(NeckPriors, values),
        healing=_part(HealingLaw, values),
    )


def keys_of(part: type[Any]) -> dict[str, str]:
    """Return the key in the registry of each field of a part."""
    hints = get_type_hints(part, include_extras=True)
    return {field.name: next(m.name for m in hints[field.name].__metadata__ if isinstance(m, Key)) for field in fields(part)}


@cache
def _field_of_key() -> Mapping[str, str]:
    """Return the field of the priors of the neck for each key."""
    return {key: name for name, key in keys_of(NeckPriors).items()}


def _part(part: type[Part], values: Mapping[str, float]) -> Part:
    return part(**{name: values[key] for name, key in keys_of(part).items()})


def _check(constant: Constant, value: float) -> None:
    low = max(constant.low, constant.low if constant.editable_down_to is None else constant.editable_down_to)
    high = min(constant.high, constant.high if constant.editable_up_to is None else constant.editable_up_to)
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"{constant.key} = {value} {constant.unit}: handed in outside [{low}, {high}]")
