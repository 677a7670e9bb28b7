"""The requirements of a route: for given lines, how much more than the limit there is, in every draw.

Heights relative to the margin as the route leaves the tooth, coronal positive; draws (36, n), lines (36,). [mm]
"""

from dataclasses import dataclass, replace

import numpy as np

from collum.core.healing import phenotype_shift_mm, return_share_bone, settled_after_flap_mm, settled_margin_mm
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.plan.act import Act
from collum.plan.prepared import Prepared, at_means
from collum.plan.support import support_of
from collum.plan.verdict import Graded, all_round, grade, single_station, with_best_estimate
from collum.plan.wishes import Wishes

ORDER = (
    "no_attachment_cut",
    "clear_of_bone",
    "clear_of_crest",
    "definitive_finish_line",
    "preparation_height",
    "resistance",
    "ferrule",
    "keratinised_tissue_left",
    "furcation",
    "crown_to_root",
    "attached_area",
    "visible_zone",
    "papilla",
)
WISHED = ("papilla",)  # shown, never decisive


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """All requirements for one pair of lines.

    `graded` holds None where a requirement does not apply; `missing` names the fact that a requirement lacks.
    `settled_mm` is the forecast that counts the spread of the return, `settled_full_mm` the one with full return.
    """

    graded: dict[str, Graded | None]
    missing: dict[str, str]
    joint_probability: float | None
    settled_mm: Floats
    settled_full_mm: Floats


def assess(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, act: Act) -> Assessment:
    """Return the verdict of every requirement for a cut and a finish line; `prepared` is the neck after the act.

    On a flap the cut line is where its margin is sutured. Short is what not even the best estimate of all levels keeps.
    """
    found = _assessed(prepared, wishes, cut_mm, finish_mm, act)
    best = _assessed(at_means(prepared), wishes, cut_mm, finish_mm, act).graded
    graded = {
        name: g if g is None else with_best_estimate(g, best[name], wishes.rule(name)) for name, g in found.graded.items()
    }
    return replace(found, graded=graded)


def _assessed(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, act: Act) -> Assessment:
    """Return the assessment by the draws alone.

    The finish line is placed from the sound edge, which is seen and measured when it is placed, and so is a sutured margin.
    """
    moves = line_moves_mm(prepared)
    line = finish_mm[:, None] + moves
    flap = act.route == "soft tissue and bone"
    margin = cut_mm[:, None] + moves if flap else cut_mm[:, None]
    settled = settled_mm(prepared, margin, act, full=False)
    settled_full = settled if flap else settled_mm(prepared, margin, act, full=True)
    graded = _flap(prepared, wishes, margin) if flap else _cutting(prepared, wishes, cut_mm)
    clearance = clearance_mm(prepared, wishes)
    graded["clear_of_crest"] = _everywhere(prepared, wishes, "clear_of_crest", line + clearance)
    if prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("preparation_height")
        reserve = prepared.occlusal_edge_mm + wishes.top_mm - line - rule.limit
        read = height_stations(prepared)
        graded["preparation_height"] = grade(all_round(reserve, read), reserve, read, rule, _step(prepared))
    if prepared.sound_edge_mm is not None:
        graded["ferrule"] = _ferrule(prepared, wishes, line)
    if prepared.sound_edge_mm is not None and prepared.occlusal_edge_mm is not None:
        graded["definitive_finish_line"] = _definitive(prepared, wishes, clearance, settled, settled_full)
    supported, lacking = support_of(prepared, wishes, line, settled_full, act)
    graded |= supported
    missing = missing_readings(prepared, act) | lacking
    for name in missing:
        graded.pop(name, None)
    least = [g.least for name, g in graded.items() if g is not None and name not in WISHED]
    joint = float(np.mean(np.min(least, axis=0) >= 0)) if least and not set(missing) - set(WISHED) else None
    return Assessment(graded=graded, missing=missing, joint_probability=joint, settled_mm=settled, settled_full_mm=settled_full)


_RESTS_ON = {
    "no_attachment_cut": ("probing_depth",),
    "clear_of_bone": ("bone_sounding",),
    "clear_of_crest": ("bone_sounding",),
    "definitive_finish_line": ("bone_sounding", "sound_height", "crown_height"),
    "preparation_height": ("crown_height",),
    "resistance": ("crown_height",),
    "ferrule": ("sound_height",),
    "keratinised_tissue_left": ("keratinised_width",),
}


_ON_THE_CUT = ("no_attachment_cut", "clear_of_bone", "keratinised_tissue_left")


def missing_readings(prepared: Prepared, act: Act) -> dict[str, str]:
    """Return, for each requirement that cannot be assessed, the kind of reading it lacks; what is believed beforehand is no
    reading. Rules on a cut ask for nothing on a route without one.
    """
    inputs = prepared.inputs
    read = {
        "probing_depth": bool(inputs.probing),
        "bone_sounding": bool(inputs.soundings),
        "sound_height": bool(inputs.sound_edge),
        "crown_height": bool(inputs.occlusal_edge),
        "keratinised_width": bool(inputs.mucogingival) or bool(inputs.keratinised_exempt.all()),
    }
    apart = {"restore without lengthening": _ON_THE_CUT, "soft tissue and bone": ("no_attachment_cut",)}.get(act.route, ())
    lacking = {name: [k for k in kinds if not read[k]] for name, kinds in _RESTS_ON.items() if name not in apart}
    return {name: kinds[0] for name, kinds in lacking.items() if kinds}


def clearance_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) how far the margin stands above the lowest place a finish line may have over crest and attachment."""
    attachment = np.maximum(prepared.attachment_mm, value("plan.attachment_floor_mm"))
    need = np.maximum(wishes.rule("clear_of_crest").limit, attachment + value("plan.finish_above_attachment_mm"))
    return np.asarray(prepared.crest_depth_mm - need)


def line_moves_mm(prepared: Prepared) -> Floats:
    """Return by how much the finish line lies off its plan in every draw: with the sound edge it is placed from."""
    if prepared.sound_edge_mm is None:
        return np.zeros((1, 1))
    return np.asarray(prepared.sound_edge_mm - prepared.sound_edge_mm.mean(axis=1, keepdims=True))


def height_stations(prepared: Prepared) -> np.ndarray:
    """Return (36,) bool: the stations at which the occlusal edge was read; between them its relief is not known."""
    read = [nearest_station(r.theta_deg) for r in prepared.inputs.occlusal_edge]
    return np.asarray(np.isin(np.arange(STATIONS), read))


def settled_mm(prepared: Prepared, cut_mm: Floats, act: Act, *, full: bool) -> Floats:
    """Return (36, n) the settled margin in every draw, for a cut (36, 1) or a sutured margin (36, n): with full return, or
    with the spread of the return.
    """
    if act.returns_whole:
        return np.zeros_like(prepared.crest_depth_mm)
    if act.route == "soft tissue and bone":
        spread = value("healing.return_share.sd") * prepared.regrowth.share_deviate
        return settled_after_flap_mm(
            cut_mm,
            crest_depth_mm=prepared.crest_depth_mm,
            own_height_mm=prepared.own_height_mm,
            return_share=np.clip(return_share_bone(STATIONS_DEG)[:, None] + spread, 0, 1),
            phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype),
            noise=prepared.regrowth.noise,
        )
    return settled_margin_mm(
        cut_mm,
        crest_depth_mm=prepared.crest_depth_mm,
        own_height_mm=prepared.own_height_mm,
        return_share=1 if full else prepared.regrowth.return_share,
        phenotype_shift_mm=0 if full else phenotype_shift_mm(prepared.inputs.phenotype),
        noise=prepared.regrowth.noise,
        recedes=not full,
    )


def _cutting(prepared: Prepared, wishes: Wishes, cut_mm: Floats) -> dict[str, Graded | None]:
    """Requirements on the cut itself: only stations that are cut take part."""
    stations = cut_mm < -value("plan.least_cut_mm")
    exempt = prepared.inputs.keratinised_exempt
    graded: dict[str, Graded | None] = {
        "no_attachment_cut": None,
        "clear_of_bone": None,
        "keratinised_tissue_left": None,
    }
    if not stations.any():
        return graded
    inner = cut_mm[:, None]
    outer = (cut_mm - wishes.bevel_mm)[:, None]
    step = _step(prepared)
    rule = wishes.rule("no_attachment_cut")
    reserve = inner + prepared.sulcus_mm - rule.limit
    graded["no_attachment_cut"] = grade(all_round(reserve, stations), reserve, stations, rule, step)
    rule = wishes.rule("clear_of_bone")
    reserve = outer + prepared.crest_depth_mm - rule.limit
    graded["clear_of_bone"] = grade(single_station(reserve, stations), reserve, stations, rule, step)
    taking_part = stations & ~exempt
    if prepared.mucogingival_mm is not None and taking_part.any():
        rule = wishes.rule("keratinised_tissue_left")
        reserve = outer - prepared.mucogingival_mm - rule.limit
        graded["keratinised_tissue_left"] = grade(all_round(reserve, taking_part), reserve, taking_part, rule, step)
    return graded


def _flap(prepared: Prepared, wishes: Wishes, sutured_mm: Floats) -> dict[str, Graded | None]:
    """Requirements on a flap: tissue over bone under its margin; no current is used, and its keratinised tissue is kept."""
    graded: dict[str, Graded | None] = {"no_attachment_cut": None, "keratinised_tissue_left": None}
    stations = np.ones(STATIONS, dtype=bool)
    rule = wishes.rule("clear_of_bone")
    reserve = sutured_mm + prepared.crest_depth_mm - rule.limit
    graded["clear_of_bone"] = grade(single_station(reserve, stations), reserve, stations, rule, _step(prepared))
    taking_part = ~prepared.inputs.keratinised_exempt
    if prepared.mucogingival_mm is not None and taking_part.any():
        rule = wishes.rule("keratinised_tissue_left")
        reserve = -prepared.mucogingival_mm - rule.limit
        graded["keratinised_tissue_left"] = grade(all_round(reserve, taking_part), reserve, taking_part, rule, _step(prepared))
    return graded


def _everywhere(prepared: Prepared, wishes: Wishes, name: str, reserve_mm: Floats) -> Graded:
    stations = np.ones(STATIONS, dtype=bool)
    return grade(all_round(reserve_mm, stations), reserve_mm, stations, wishes.rule(name), _step(prepared))


def ferrule_reserve_mm(prepared: Prepared, wishes: Wishes, line_mm: Floats) -> Floats:
    """Return (36, n) height of ferrule less what is asked at the station: sound tooth or top of the preparation, whichever is
    lower, above the line.

    Where the wall left after axial reduction is thinner than its limit there is no ferrule.
    """
    assert prepared.sound_edge_mm is not None
    top = prepared.sound_edge_mm
    if prepared.occlusal_edge_mm is not None:
        top = np.minimum(top, prepared.occlusal_edge_mm + wishes.top_mm)
    height = top - line_mm
    wall = prepared.inputs.wall_mm
    if wall is not None:
        thin = wall - wishes.axial_reduction_mm < value("plan.limit.wall_thickness_mm")
        height = np.where(thin[:, None], np.minimum(height, 0), height)
    return np.asarray(height - wishes.ferrule_mm[:, None])


def _ferrule(prepared: Prepared, wishes: Wishes, line_mm: Floats) -> Graded:
    reserve = ferrule_reserve_mm(prepared, wishes, line_mm)
    stations = np.ones(STATIONS, dtype=bool)
    rule = wishes.rule("ferrule")
    return grade(all_round(reserve, stations), reserve, stations, rule, _step(prepared), limits_mm=wishes.ferrule_mm)


def _definitive(
    prepared: Prepared, wishes: Wishes, above_lowest_mm: Floats, settled_mm: Floats, settled_full_mm: Floats
) -> Graded:
    """The settled margin will be measured; is there then a place for the line? The worse of both forecasts counts."""
    assert prepared.sound_edge_mm is not None and prepared.occlusal_edge_mm is not None
    lowest = -above_lowest_mm
    top = prepared.occlusal_edge_mm + wishes.top_mm
    highest = np.minimum(
        np.minimum(prepared.sound_edge_mm, top) - wishes.ferrule_mm[:, None],
        top - wishes.rule("preparation_height").limit,
    )
    stations = np.ones(STATIONS, dtype=bool)
    worse: Graded | None = None
    for settled in (settled_mm, settled_full_mm):
        low = np.maximum(lowest, settled + wishes.low_mm)
        high = highest
        if wishes.high_mm is not None and wishes.shown.any():
            high = np.where(wishes.shown[:, None], np.minimum(highest, settled + wishes.high_mm), highest)
        reserve = high - low
        least = all_round(reserve, stations)
        graded = grade(least, reserve, stations, wishes.rule("definitive_finish_line"), _step(prepared))
        if worse is None or graded.probability < worse.probability:
            worse = graded
    assert worse is not None
    return worse


def _step(prepared: Prepared) -> float:
    """Return the coarsest reading step of the tooth. [mm]"""
    steps = [r.step_mm for r in (*prepared.inputs.probing, *prepared.inputs.soundings)]
    return max(steps, default=1)


def nearest_station(angle_deg: float) -> int:
    """Return the index of the station nearest to an angle."""
    return int(np.argmin(angular_distance_deg(STATIONS_DEG, angle_deg)))
