"""The requirements of a route: for given lines, how much more than the limit there is, in every draw.

Heights relative to the margin as the route leaves the tooth, coronal positive; draws (36, n), lines (36,). [mm]
"""

from dataclasses import dataclass

import numpy as np

from collum.core.healing import phenotype_shift_mm, return_share_bone, settled_after_flap_mm, settled_margin_mm
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared, at_means
from collum.plan.lengthening.procedures.act import Act
from collum.plan.lengthening.requirements.support import missing_of_support, support_of
from collum.plan.lengthening.requirements.verdict import Graded, Reserve, grade
from collum.plan.lengthening.wishes import Wishes

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

    On a flap the cut line is where its margin is sutured.
    """
    lines = (wishes, cut_mm, finish_mm, act)
    settled = forecasts_mm(prepared, cut_mm, act)
    found = reserves_of(prepared, *lines, settled)
    means = at_means(prepared)
    at_best = {name: float(least[0]) for name, least in least_of(means, *lines).items()}
    missing = missing_readings(prepared, act)
    graded: dict[str, Graded | None] = {}
    for name, alternatives in found.items():
        if name in missing:
            continue
        reserve, least = _worse(alternatives)
        graded[name] = grade(reserve, least, at_best[name])
    applicable = not set(missing) - set(WISHED)
    counting = [g.least for name, g in graded.items() if g is not None and name not in WISHED]
    joint = float(np.mean(np.min(counting, axis=0) >= 0)) if counting and applicable else None
    return Assessment(
        graded={name: graded.get(name) for name in ORDER if name not in missing},
        missing=missing,
        joint_probability=joint,
        settled_mm=settled[0],
        settled_full_mm=settled[1],
    )


def least_of(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, act: Act) -> dict[str, Floats]:
    """Return the least reserve (n,) of every requirement that applies: all that choosing between lines asks for."""
    settled = forecasts_mm(prepared, cut_mm, act)
    found = reserves_of(prepared, wishes, cut_mm, finish_mm, act, settled)
    missing = missing_readings(prepared, act)
    return {name: _worse(alternatives)[1] for name, alternatives in found.items() if name not in missing}


def reserves_of(
    prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, act: Act, settled_mm: tuple[Floats, Floats]
) -> dict[str, tuple[Reserve, ...]]:
    """Return the reserves of every requirement that applies; of several under a name the worse counts.

    The finish line is placed from the sound edge, which is seen and measured when it is placed, and so is a sutured margin.
    """
    line = finish_mm[:, None] + line_moves_mm(prepared)
    everywhere = np.ones(STATIONS, dtype=bool)
    step = _step(prepared)
    flap = act.route == "soft tissue and bone"
    found = _flap(prepared, wishes, sutured_mm(prepared, cut_mm, act)) if flap else _cutting(prepared, wishes, cut_mm)
    clearance = clearance_mm(prepared, wishes)
    rule = wishes.rule("clear_of_crest")
    found["clear_of_crest"] = (Reserve(rule=rule, amount=line + clearance, stations=everywhere, step_mm=step),)
    if prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("preparation_height")
        height = prepared.occlusal_edge_mm + wishes.top_mm - line - rule.limit
        found["preparation_height"] = (Reserve(rule=rule, amount=height, stations=height_stations(prepared), step_mm=step),)
    if prepared.sound_edge_mm is not None:
        ferrule = ferrule_reserve_mm(prepared, wishes, line)
        found["ferrule"] = (
            Reserve(rule=wishes.rule("ferrule"), amount=ferrule, stations=everywhere, limits=wishes.ferrule_mm, step_mm=step),
        )
    if prepared.sound_edge_mm is not None and prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("definitive_finish_line")
        alternatives = settled_mm if act.cuts else settled_mm[:1]  # what nothing is cut from, and a flap, has one forecast
        found["definitive_finish_line"] = tuple(
            Reserve(rule=rule, amount=amount, stations=everywhere, step_mm=step)
            for amount in _definitive(prepared, wishes, clearance, alternatives)
        )
    return found | support_of(prepared, wishes, line, settled_mm[1], act)


def _worse(alternatives: tuple[Reserve, ...]) -> tuple[Reserve, Floats]:
    """Return the alternative that holds less often, with its least reserve."""
    with_least = [(reserve, reserve.least()) for reserve in alternatives]
    return min(with_least, key=lambda pair: float(np.mean(pair[1] >= 0)))


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
    inputs, levels = prepared.inputs, prepared.inputs.levels
    read = {
        "probing_depth": bool(levels.probing),
        "bone_sounding": bool(levels.soundings),
        "sound_height": bool(levels.sound_edge),
        "crown_height": bool(levels.occlusal_edge),
        "keratinised_width": bool(levels.mucogingival) or bool(inputs.keratinised_exempt.all()),
    }
    apart = {"restore without lengthening": _ON_THE_CUT, "soft tissue and bone": ("no_attachment_cut",)}.get(act.route, ())
    lacking = {name: [k for k in kinds if not read[k]] for name, kinds in _RESTS_ON.items() if name not in apart}
    missing = {name: kinds[0] for name, kinds in lacking.items() if kinds}
    return missing | missing_of_support(prepared, act)


def clearance_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) how far the margin stands above the lowest place a finish line may have over crest and attachment."""
    attachment = np.maximum(prepared.attachment_mm, value("plan.attachment_floor_mm"))
    need = np.maximum(wishes.rule("clear_of_crest").limit, attachment + value("plan.finish_above_attachment_mm"))
    return np.asarray(prepared.crest_depth_mm - need)


def line_moves_mm(prepared: Prepared) -> Floats:
    """Return by how much the finish line lies off its plan in every draw: with the sound edge it is placed from."""
    if prepared.sound_edge_mm is None:
        return np.zeros((1, 1))
    if prepared.whole is not None:
        return np.asarray(prepared.sound_edge_mm - prepared.whole.sound_edge_mm)
    return np.asarray(prepared.sound_edge_mm - prepared.sound_edge_mm.mean(axis=1, keepdims=True))


def height_stations(prepared: Prepared) -> np.ndarray:
    """Return (36,) bool: the stations at which the occlusal edge was read; between them its relief is not known."""
    read = [nearest_station(r.theta_deg) for r in prepared.inputs.levels.occlusal_edge]
    return np.asarray(np.isin(np.arange(STATIONS), read))


def forecasts_mm(prepared: Prepared, cut_mm: Floats, act: Act) -> tuple[Floats, Floats]:
    """Return the settled margin (36, n) with the spread of the return and with full return; one and the same where there is
    but one forecast: nothing is cut, or the law known from bone surgery holds.
    """
    if act.route == "restore without lengthening":
        still = np.zeros_like(prepared.crest_depth_mm)
        return still, still
    spread = settled_mm(prepared, sutured_mm(prepared, cut_mm, act), act, full=False)
    if not act.cuts:
        return spread, spread
    return spread, settled_mm(prepared, cut_mm[:, None], act, full=True)


def settled_mm(prepared: Prepared, cut_mm: Floats, act: Act, *, full: bool) -> Floats:
    """Return (36, n) the settled margin in every draw, for a cut (36, 1) or a sutured margin (36, n): with full return, or
    with the spread of the return.
    """
    if act.returns_whole:
        return np.zeros_like(prepared.crest_depth_mm)
    law = prepared.evidence.healing
    if act.route == "soft tissue and bone":
        spread = law.return_share_sd * prepared.regrowth.share_deviate
        return settled_after_flap_mm(
            cut_mm,
            law,
            crest_depth_mm=prepared.crest_depth_mm,
            own_height_mm=prepared.own_height_mm,
            return_share=np.clip(return_share_bone(STATIONS_DEG, law)[:, None] + spread, 0, 1),
            phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype, law),
            noise=prepared.regrowth.noise,
        )
    return settled_margin_mm(
        cut_mm,
        law,
        crest_depth_mm=prepared.crest_depth_mm,
        own_height_mm=prepared.own_height_mm,
        return_share=1 if full else prepared.regrowth.return_share,
        phenotype_shift_mm=0 if full else phenotype_shift_mm(prepared.inputs.phenotype, law),
        noise=prepared.regrowth.noise,
        recedes=not full,
    )


def sutured_mm(prepared: Prepared, cut_mm: Floats, act: Act) -> Floats:
    """Return the cut (36, 1), or on a flap its sutured margin in every draw (36, n): it is placed from the sound edge too."""
    if act.route != "soft tissue and bone":
        return cut_mm[:, None]
    return np.asarray(cut_mm[:, None] + line_moves_mm(prepared))


Reserves = dict[str, tuple[Reserve, ...]]


def _cutting(prepared: Prepared, wishes: Wishes, cut_mm: Floats) -> Reserves:
    """Requirements on the cut itself: only stations that are cut take part."""
    stations = cut_mm < -value("plan.least_cut_mm")
    if not stations.any():
        return {}
    inner, outer = cut_mm[:, None], (cut_mm - wishes.bevel_mm)[:, None]
    step = _step(prepared)
    rule, bone = wishes.rule("no_attachment_cut"), wishes.rule("clear_of_bone")
    found: Reserves = {
        "no_attachment_cut": (
            Reserve(rule=rule, amount=inner + prepared.sulcus_mm - rule.limit, stations=stations, step_mm=step),
        ),
        "clear_of_bone": (
            Reserve(
                rule=bone,
                amount=outer + prepared.crest_depth_mm - bone.limit,
                stations=stations,
                smooth=False,
                step_mm=step,
            ),
        ),
    }
    taking_part = stations & ~prepared.inputs.keratinised_exempt
    if prepared.mucogingival_mm is not None and taking_part.any():
        rule = wishes.rule("keratinised_tissue_left")
        amount = outer - prepared.mucogingival_mm - rule.limit
        found["keratinised_tissue_left"] = (Reserve(rule=rule, amount=amount, stations=taking_part, step_mm=step),)
    return found


def clear_of_bone(prepared: Prepared, wishes: Wishes, cut_mm: Floats) -> bool:
    """Return whether a cut keeps its distance to bone all round in the share of draws that the confidence asks."""
    found = _cutting(prepared, wishes, cut_mm).get("clear_of_bone")
    return found is None or float(np.mean(found[0].least() >= 0)) >= found[0].rule.confidence


def _flap(prepared: Prepared, wishes: Wishes, margin_mm: Floats) -> Reserves:
    """Requirements on a flap: tissue over bone under its margin; no current is used, and its keratinised tissue is kept."""
    stations = np.ones(STATIONS, dtype=bool)
    rule = wishes.rule("clear_of_bone")
    amount = margin_mm + prepared.crest_depth_mm - rule.limit
    found: Reserves = {
        "clear_of_bone": (Reserve(rule=rule, amount=amount, stations=stations, smooth=False, step_mm=_step(prepared)),)
    }
    taking_part = ~prepared.inputs.keratinised_exempt
    if prepared.mucogingival_mm is not None and taking_part.any():
        rule = wishes.rule("keratinised_tissue_left")
        amount = -prepared.mucogingival_mm - rule.limit
        found["keratinised_tissue_left"] = (Reserve(rule=rule, amount=amount, stations=taking_part, step_mm=_step(prepared)),)
    return found


def ferrule_reserve_mm(prepared: Prepared, wishes: Wishes, line_mm: Floats) -> Floats:
    """Return (36, n) height of ferrule less what is asked at the station: sound tooth or top of the preparation, whichever is
    lower, above the line.

    Where the wall left after axial reduction is thinner than its limit there is no ferrule.
    """
    assert prepared.sound_edge_mm is not None
    height = lowest_top_mm(prepared, wishes) - line_mm
    thin = thin_wall(prepared, wishes)
    height[thin] = np.minimum(height[thin], 0)
    height -= wishes.ferrule_mm[:, None]
    return height


def thin_wall(prepared: Prepared, wishes: Wishes) -> np.ndarray:
    """Return (36,) bool: stations whose wall, where it was measured, is left too thin to count once the axis is reduced."""
    wall = prepared.inputs.wall_mm
    if wall is None:
        return np.zeros(STATIONS, dtype=bool)
    return np.asarray(wall - wishes.axial_reduction_mm < value("plan.limit.wall_thickness_mm"))


def lowest_top_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) the sound edge or, where it is read, the top of the preparation, whichever is lower."""
    assert prepared.sound_edge_mm is not None
    if prepared.occlusal_edge_mm is None:
        return prepared.sound_edge_mm
    top = prepared.occlusal_edge_mm + wishes.top_mm
    return np.minimum(top, prepared.sound_edge_mm, out=top)


def _definitive(
    prepared: Prepared, wishes: Wishes, above_lowest_mm: Floats, settled_mm: tuple[Floats, ...]
) -> tuple[Floats, ...]:
    """Return the room (36, n) for a finish line once the margin has settled and is measured, for each forecast of it."""
    assert prepared.occlusal_edge_mm is not None
    highest = lowest_top_mm(prepared, wishes) - wishes.ferrule_mm[:, None]
    read = height_stations(prepared)
    by_height = prepared.occlusal_edge_mm[read] + (wishes.top_mm - wishes.rule("preparation_height").limit)
    highest[read] = np.minimum(highest[read], by_height)
    shown = wishes.shown
    rooms = []
    for settled in settled_mm:
        room = settled + wishes.low_mm
        np.maximum(room, -above_lowest_mm, out=room)
        np.subtract(highest, room, out=room)
        if wishes.high_mm is not None and shown.any():
            hidden = settled[shown] + wishes.high_mm
            room[shown] -= np.maximum(highest[shown] - hidden, 0)
        rooms.append(room)
    return tuple(rooms)


def _step(prepared: Prepared) -> float:
    """Return the coarsest reading step of the tooth. [mm]"""
    steps = [r.step_mm for r in (*prepared.inputs.levels.probing, *prepared.inputs.levels.soundings)]
    return max(steps, default=1)


def nearest_station(angle_deg: float) -> int:
    """Return the index of the station nearest to an angle."""
    return int(np.argmin(angular_distance_deg(STATIONS_DEG, angle_deg)))
