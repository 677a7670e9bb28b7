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
class PlanLimits:
    """Limits, weights and tolerances that the plan itself works with.

    What is only the limit of a requirement is asked for by its key among the `values` of the evidence.
    """

    probably_from: Annotated[float, Key("plan.advice.probably_from")]
    unlikely_below: Annotated[float, Key("plan.advice.unlikely_below")]
    least_chance_without_cutting: Annotated[float, Key("plan.advice.least.without_cutting")]
    least_chance_bone_or_extrusion: Annotated[float, Key("plan.advice.least.bone_or_extrusion")]
    least_chance_bone_or_extrusion_visible: Annotated[float, Key("plan.advice.least.bone_or_extrusion_visible")]
    burden_elevation: Annotated[float, Key("plan.advice.burden.elevation")]
    burden_gum: Annotated[float, Key("plan.advice.burden.gum")]
    burden_bone: Annotated[float, Key("plan.advice.burden.bone")]
    burden_bone_visible: Annotated[float, Key("plan.advice.burden.bone_visible")]
    burden_extrusion: Annotated[float, Key("plan.advice.burden.extrusion")]
    burden_extrusion_visible_one_root: Annotated[float, Key("plan.advice.burden.extrusion_visible_one_root")]
    burden_replacement: Annotated[float, Key("plan.advice.burden.replacement")]
    staged_keratinised_mm: Annotated[float, Key("plan.advice.staged_keratinised_mm")]
    between_teeth_half_width_deg: Annotated[float, Key("plan.advice.between_teeth_half_width_deg")]
    elevation_raised_least_mm: Annotated[float, Key("plan.elevation.raised_least_mm")]
    elevation_raised_most_mm: Annotated[float, Key("plan.elevation.raised_most_mm")]
    elevation_arc_most_deg: Annotated[float, Key("plan.elevation.arc_most_deg")]
    elevation_off_side_deg: Annotated[float, Key("plan.elevation.off_side_deg")]
    elevation_seat_closed_mm: Annotated[float, Key("plan.elevation.seat_closed_below_mm")]
    elevation_seat_width_mm: Annotated[float, Key("plan.elevation.seat_width_mm")]
    coverage_wall_height_mm: Annotated[float, Key("plan.coverage.wall_height_mm")]
    coverage_above_gum_mm: Annotated[float, Key("plan.coverage.above_gum_mm")]
    coverage_cusp_vital_mm: Annotated[float, Key("plan.coverage.cusp_vital_mm")]
    coverage_cusp_root_filled_mm: Annotated[float, Key("plan.coverage.cusp_root_filled_mm")]
    coverage_ceramic_mm: Annotated[float, Key("plan.coverage.ceramic_mm")]
    coverage_metal_mm: Annotated[float, Key("plan.coverage.metal_mm")]
    opposing_trimmed_most_mm: Annotated[float, Key("plan.without.opposing_trimmed_most_mm")]
    clear_of_crest_mm: Annotated[float, Key("plan.limit.clear_of_crest_mm")]
    finish_above_attachment_mm: Annotated[float, Key("plan.finish_above_attachment_mm")]
    attachment_floor_mm: Annotated[float, Key("plan.attachment_floor_mm")]
    wall_thickness_mm: Annotated[float, Key("plan.limit.wall_thickness_mm")]
    ferrule_least_mm: Annotated[float, Key("plan.limit.ferrule_least_mm")]
    crown_to_root_said_up_to: Annotated[float, Key("plan.crown_to_root_said_up_to")]
    mirror_margin_above_cej_mm: Annotated[float, Key("plan.mirror_margin_above_cej_mm")]
    keratinised_in_front_mm: Annotated[float, Key("plan.limit.keratinised_tissue_in_front_mm")]
    least_chance_gum_for_looks: Annotated[float, Key("plan.advice.least.gum_for_looks")]
    passive_eruption_crest_mm: Annotated[float, Key("plan.passive_eruption_crest_mm")]
    ferrule_arc_deg: Annotated[float, Key("plan.ferrule_arc_deg")]
    loaded_half_width_deg: Annotated[float, Key("plan.loaded_half_width_deg")]
    sulcus_deep_over_mm: Annotated[float, Key("plan.sulcus_deep_over_mm")]
    bevel_deg: Annotated[float, Key("plan.bevel_deg")]
    thickness_thin_mm: Annotated[float, Key("plan.thickness.thin_mm")]
    thickness_unknown_mm: Annotated[float, Key("plan.thickness.unknown_mm")]
    thickness_thick_mm: Annotated[float, Key("plan.thickness.thick_mm")]
    occlusal_reduction_mm: Annotated[float, Key("plan.occlusal_reduction_mm")]
    axial_reduction_mm: Annotated[float, Key("plan.axial_reduction_mm")]
    aim_above_crest_mm: Annotated[float, Key("plan.aim_above_crest_mm")]
    inflamed_probing_mm: Annotated[float, Key("plan.inflamed_probing_mm")]
    attachment_loss_mm: Annotated[float, Key("plan.attachment_loss_mm")]
    crest_below_cej_mm: Annotated[float, Key("plan.crest_below_cej_mm")]
    least_cut_mm: Annotated[float, Key("plan.least_cut_mm")]
    will_not_last_mm: Annotated[float, Key("plan.will_not_last_mm")]
    smoothing_side_weight: Annotated[float, Key("plan.smoothing_side_weight")]
    reserve_factor: Annotated[float, Key("plan.reserve_factor")]
    reserve_factor_step: Annotated[float, Key("plan.reserve_factor_step")]
    reserve_factor_most: Annotated[float, Key("plan.reserve_factor_most")]
    weight_cut_per_mm2: Annotated[float, Key("plan.weight.cut")]
    weight_finish_per_mm2: Annotated[float, Key("plan.weight.finish")]
    weight_bending_mm2: Annotated[float, Key("plan.weight.bending")]
    solver_tolerance_mm: Annotated[float, Key("plan.solver.tolerance_mm")]
    solver_slack_room_mm: Annotated[float, Key("plan.solver.slack_room_mm")]
    visible_half_width_deg: Annotated[float, Key("plan.visible_half_width_deg")]
    preparation_height_with_grooves_mm: Annotated[float, Key("plan.limit.preparation_height_with_grooves_mm")]
    groove_base_share: Annotated[float, Key("plan.groove_base_share")]
    without_convergence_deg: Annotated[float, Key("plan.without.convergence_deg")]
    furcation_to_margin_mm: Annotated[float, Key("plan.limit.furcation_to_margin_mm")]
    trunk_sd_mm: Annotated[float, Key("plan.trunk_sd_mm")]
    trunk_measured_sd_mm: Annotated[float, Key("plan.trunk_measured_sd_mm")]
    crown_to_root_over_norm: Annotated[float, Key("plan.crown_to_root_over_norm")]
    norm_crest_below_cej_mm: Annotated[float, Key("plan.norm_crest_below_cej_mm")]
    healthy_crest_below_cej_mm: Annotated[float, Key("plan.healthy_crest_below_cej_mm")]
    healthy_crest_below_cej_sd_mm: Annotated[float, Key("plan.healthy_crest_below_cej_sd_mm")]
    root_handbook_sd_share: Annotated[float, Key("plan.root.handbook_sd_share")]
    root_measured_sd_mm: Annotated[float, Key("plan.root.measured_sd_mm")]
    contact_to_crest_mm: Annotated[float, Key("plan.limit.contact_to_crest_mm")]
    papilla_chance_at_5: Annotated[float, Key("plan.papilla_chance.at_5")]
    papilla_chance_at_6: Annotated[float, Key("plan.papilla_chance.at_6")]
    papilla_chance_at_7: Annotated[float, Key("plan.papilla_chance.at_7")]
    bone_slope: Annotated[float, Key("plan.bone_slope")]
    surgery_measuring_sd_mm: Annotated[float, Key("plan.surgery.measuring_sd_mm")]
    extrusion_measuring_sd_mm: Annotated[float, Key("plan.extrusion.measuring_sd_mm")]
    bone_most_mm: Annotated[float, Key("plan.bone_most_mm")]
    short_by_least_mm: Annotated[float, Key("plan.short_by_least_mm")]
    near_bone_spreads: Annotated[float, Key("plan.near_bone_spreads")]
    least_bone_mm: Annotated[float, Key("plan.least_bone_mm")]
    extrusion_most_mm: Annotated[float, Key("plan.extrusion_most_mm")]
    plaque_limit_percent: Annotated[float, Key("plan.plaque_limit_percent")]
    bleeding_limit_percent: Annotated[float, Key("plan.bleeding_limit_percent")]
    root_filling_short_mm: Annotated[float, Key("plan.root_filling_short_mm")]
    open_to_saliva_months: Annotated[float, Key("plan.open_to_saliva_months")]
    lesion_waits_mm: Annotated[float, Key("plan.lesion_waits_mm")]
    crack_probing_mm: Annotated[float, Key("plan.crack_probing_mm")]
    crack_deeper_mm: Annotated[float, Key("plan.crack_deeper_mm")]
    near_bone_possible_mm: Annotated[float, Key("plan.near_bone_possible_mm")]
    near_bone_likely_mm: Annotated[float, Key("plan.near_bone_likely_mm")]
    hygiene_checked_from_weeks: Annotated[float, Key("plan.hygiene_checked.from_weeks")]
    hygiene_checked_to_weeks: Annotated[float, Key("plan.hygiene_checked.to_weeks")]
    post_lost_times: Annotated[float, Key("plan.post_lost_times")]
    support_less_over_norm: Annotated[float, Key("plan.support_less_over_norm")]
    support_little_over_norm: Annotated[float, Key("plan.support_little_over_norm")]
    support_little_ratio: Annotated[float, Key("plan.support_little_ratio")]
    vertical_defect_mm: Annotated[float, Key("plan.vertical_defect_mm")]
    provisional_short_mm: Annotated[float, Key("plan.provisional_short_mm")]
    trough_past_finish_mm: Annotated[float, Key("plan.trough_past_finish_mm")]
    usual_attachment_low_mm: Annotated[float, Key("plan.usual.attachment_low_mm")]
    usual_attachment_high_mm: Annotated[float, Key("plan.usual.attachment_high_mm")]
    usual_jump_mm: Annotated[float, Key("plan.usual.jump_mm")]
    hopeless_chance: Annotated[float, Key("plan.hopeless_chance")]
    weight_bone_per_mm2: Annotated[float, Key("plan.weight.bone")]
    weight_bone_linear_per_mm: Annotated[float, Key("plan.weight.bone_linear")]
    weight_neighbour_bone: Annotated[float, Key("plan.weight.neighbour_bone")]
    weight_bone_bending_mm2: Annotated[float, Key("plan.weight.bone_bending")]
    weight_reserve: Annotated[float, Key("plan.weight.reserve")]
    weight_support_per_mm: Annotated[float, Key("plan.weight.support")]
    weight_lacking_per_mm: Annotated[float, Key("plan.weight.lacking")]
    weight_bending_shaped_mm2: Annotated[float, Key("plan.weight.bending_shaped")]
    weight_printed_per_mm: Annotated[float, Key("plan.weight.printed")]
    hand_off_printed_mm: Annotated[float, Key("plan.hand.off_printed_mm")]
    hand_check: Annotated[float, Key("plan.hand.check")]
    hand_step_mm: Annotated[float, Key("plan.hand.step_mm")]
    hand_overlooked_mm: Annotated[float, Key("plan.hand.overlooked_mm")]
    hand_depth_change: Annotated[float, Key("plan.hand.depth_change")]
    hand_margin_slope: Annotated[float, Key("plan.hand.margin_slope")]
    hand_bend_radius_mm: Annotated[float, Key("plan.hand.bend_radius_mm")]
    hand_ridge_mm: Annotated[float, Key("plan.hand.ridge_mm")]
    hand_crest_slope: Annotated[float, Key("plan.hand.crest_slope")]
    hand_bone_width_mm: Annotated[float, Key("plan.hand.bone_width_mm")]
    hand_neighbour_bone_mm: Annotated[float, Key("plan.hand.neighbour_bone_mm")]
    hand_neighbour_half_width_deg: Annotated[float, Key("plan.hand.neighbour_half_width_deg")]


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
    limits: PlanLimits

    def figures(self, keys: Iterable[str]) -> dict[str, float]:
        """Return values that a sentence speaks of, by the last part of their keys."""
        return {key.rpartition(".")[2]: self.values[key] for key in keys}

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
        limits=_part(PlanLimits, values),
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
