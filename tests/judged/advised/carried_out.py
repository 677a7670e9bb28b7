"""How each sentence of advice is carried out, and what is wrong with what the plan says then: one row for each kind.

A row gives faults: nothing where the sentence asks for no more than there is, does what it says and is not given again. A kind
of which nothing can be entered has a reason instead.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial

import numpy as np

from collum.case.model import Case, Held, RequirementWish
from collum.core.crown.form import height_for_half_wall_mm
from collum.plan.lengthening.choice.room import spare_reduction_mm
from collum.plan.lengthening.findings import findings_of
from collum.plan.lengthening.grounds import Way
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.lengthening.requirements.resistance import resisting_bases_mm
from collum.plan.lengthening.requirements.table import requirement_of
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import patient_of
from tests.judged.advised.edits import (
    changed,
    healed_after_bone,
    less_lowered,
    less_reduction,
    more_bite,
    raised,
    read_anew,
    redrawn,
    restored,
    with_facts,
)
from tests.judged.advised.findings import EDITS
from tests.judged.advised.told import Told, graded, lacking, route_alone, told

PRINTED_MM = 0.1  # figures are printed in tenths
STEP_MM = 2 * PRINTED_MM
READING_STEP_MM = 0.5  # lines that are sought anew share what room there is: no more than a reading can tell is lacking then
ACCEPTED_MM = 2.0  # over a difference: more than a settled margin is spread
Faults = Iterator[str]
CarryOut = Callable[[Told], Faults]


def after(one: Told, case: Case, left: float = 0.0) -> Faults:
    """Give what is wrong once a case was edited: the rule is short though nothing is `left` to be lacking, or more is lacking
    than a reading can tell, or the sentence is given again for the same. Lines that keep no other rule either may be drawn a
    step to the cost of this one.
    """
    assert one.route is not None and one.change is not None
    route = route_alone(case, one.route.name)
    found = graded(route, one.missed)
    short = (
        [] if route.plan is None else [name for name, g in route.plan.assessment.graded.items() if g and g.verdict == "short"]
    )
    alone = short == [one.missed] and left < STEP_MM
    if lacking(found) > left + READING_STEP_MM or alone:
        yield f"{lacking(found):.2f} is lacking then, not {left:.2f}"
    by = route.closed_by
    change = None if by is None or by.requirement != one.missed else by.least_change
    if change is not None and change.id == one.change.id and (change.most_mm or change.short_by or 0) > READING_STEP_MM:
        yield f"is given again: {change}"


def given_again(one: Told, case: Case) -> Faults:
    """Give that a sentence comes again on an edited case; a finding is asked for alone, without any lines."""
    smile = case.patient.facts.smile_line
    findings = findings_of(case.teeth[0], patient_of(case), one.plan.prepared.limits, smile_line=smile)
    if one.doubt is not None and one.route is not None:
        yield from (
            f"{doubt.id} is still there" for doubt in route_alone(case, one.route.name).doubts if doubt.id == one.doubt.id
        )
    elif one.doubt is not None:
        yield from (f"{doubt.id} is still there" for doubt in findings.doubts if doubt.id == one.doubt.id)
    elif one.question is not None and one.question in one.plan.findings.questions:
        yield from (f"{question.id} is asked again" for question in findings.questions if question.said == one.question.said)
    elif one.change is not None and one.route is not None:
        by = route_alone(case, one.route.name).closed_by
        if by is not None and by.least_change is not None and by.least_change.id == one.change.id:
            yield f"is given again: {by.least_change}"
    else:
        yield from ("is said again" for other in told(case) if (other.kind, other.question) == (one.kind, one.question))


def no_more(what: str, asked: float | None, there: float) -> Faults:
    if asked is None or not np.isfinite(asked) or not 0 <= asked <= there + 1e-9:
        yield f"asks {asked} of {what}, and there is {there}"


def by_ways(one: Told, lacks: float) -> Faults:
    """Give what is wrong with the other routes that are named: closed ones, and those that give no height for this."""
    assert one.change is not None
    for way in one.change.ways or ():
        yield from by_way(one, way, lacks)


def by_way(one: Told, way: Way, lacks: float) -> Faults:
    case = healed_after_bone(one.case, lacks) if way == "bone" else raised(one.case, lacks)
    assert one.route is not None
    left = lacking(graded(route_alone(case, one.route.name), one.missed))
    if left > STEP_MM and left > lacks / 2:
        yield f"{way} by {lacks:.2f} mm leaves {left:.2f} mm lacking"


def higher_top(one: Told, by_mm: float, left: float = 0.0) -> Faults:
    """Give what is lacking on the same lines under a top of the preparation that much higher."""
    wishes = one.lines.wishes
    found = lacking(redrawn(one, wishes=replace(wishes, top_mm=wishes.top_mm + by_mm)))
    if found > left + STEP_MM:
        yield f"{found:.2f} is lacking on the same lines, not {left:.2f}"


def reduction(one: Told) -> Faults:
    asked = one.change and one.change.short_by or 0.0
    yield from no_more("reduction", asked, spare_reduction_mm(one.lines.wishes))
    yield from higher_top(one, asked)
    yield from after(one, less_reduction(one, asked))
    if not one.kind.endswith("_no_bite"):
        yield from after(one, more_bite(one.case, asked))
    yield from by_ways(one, asked)


def reduction_in_part(one: Told) -> Faults:
    assert one.change is not None
    most, left = one.change.most_mm or 0.0, one.change.lacking_mm or 0.0
    yield from no_more("reduction", most, spare_reduction_mm(one.lines.wishes))
    yield from higher_top(one, most, left)
    yield from higher_top(one, most + left)
    less = less_reduction(one, most)
    yield from after(one, less, left)
    if not one.kind.endswith("_no_bite"):
        yield from after(one, more_bite(less, left))
    yield from by_ways(one, most + left)


def no_reduction(one: Told) -> Faults:
    lacks = one.change and one.change.short_by or 0.0
    if not one.kind.endswith("_no_bite"):
        yield from after(one, more_bite(one.case, lacks))
    yield from by_ways(one, lacks)


def place(one: Told) -> Faults:
    assert one.change is not None
    lacks = one.change.lacking_mm or 0.0
    yield from after(one, restored(one.case, finish=None), lacks)
    yield from by_ways(one, (one.change.short_by or one.change.most_mm or 0) + lacks)


def height(one: Told) -> Faults:
    yield from by_ways(one, one.change and one.change.short_by or 0.0)


def line(one: Told) -> Faults:
    """The finish line is drawn more coronal there: the crest is cleared by so much, and the line still is on sound tooth."""
    assert one.change is not None
    by = one.change.most_mm or one.change.short_by or 0.0
    found = redrawn(one, finish_mm=one.lines.finish_mm + by)
    if lacking(found) > (one.change.lacking_mm or 0) + STEP_MM:
        yield f"{lacking(found):.2f} is lacking with the line {by:.2f} higher"
    yield from by_ways(one, by + (one.change.lacking_mm or 0))


def resists(one: Told) -> Faults:
    """Convergence and grooves as asked: the height that is needed there falls by what is said."""
    assert one.change is not None and one.change.asked is not None
    lines = one.lines
    narrow = one.plan.prepared.limits.without_convergence_deg
    wishes = replace(lines.wishes, convergence_deg=narrow) if "convergence" in one.change.asked else lines.wishes
    treatment = replace(lines.treatment, grooves=lines.treatment.grooves or "grooves" in one.change.asked)
    needed = [
        float(height_for_half_wall_mm(resisting_bases_mm(w, t, lines.limits)[one.station], w.convergence_deg))
        for w, t in ((lines.wishes, lines.treatment), (wishes, treatment))
    ]
    if abs(needed[0] - needed[1] - (one.change.most_mm or 0)) > 0.01:
        yield f"the height needed falls by {needed[0] - needed[1]:.2f}"
    left = lacking(redrawn(one, wishes=wishes, treatment=treatment))
    if left > (one.change.lacking_mm or 0) + one.plan.prepared.limits.short_by_least_mm:
        yield f"{left:.2f} is lacking then"
    if one.change.asked == ("convergence",):  # grooves are no part of a case
        narrowed = restored(one.case, convergence_deg=narrow)
        yield from given_again(one, narrowed)
        yield from by_ways(replace(one, case=narrowed), one.change.lacking_mm or 0.0)


def less_taken(one: Told) -> Faults:
    """Less bone or movement at the place."""
    assert one.change is not None
    by = one.change.most_mm or one.change.short_by or 0.0
    there = float(one.lines.treatment.lowered_mm[one.station])
    yield from no_more("bone or movement", by, there)
    left = lacking(redrawn(one, treatment=less_lowered(one, by)))
    if left > (one.change.lacking_mm or 0) + STEP_MM:
        yield f"{left:.2f} is lacking then"


def least_taken(one: Told) -> Faults:
    """Nothing taken and nothing moved: then the ratio or the share is within its limit, else less of it was no advice."""
    left = lacking(redrawn(one, treatment=less_lowered(one, np.inf)))
    if left > 0.01:
        yield f"{left:.2f} is lacking even with nothing taken or moved"


def never_enough(one: Told) -> Faults:
    left = lacking(redrawn(one, treatment=less_lowered(one, np.inf)))
    if left <= 0:
        yield "with nothing taken or moved nothing is lacking"


def shallower(one: Told) -> Faults:
    """The cut is shallower: at the place that the sentence names nothing more is lacking than can be read."""
    assert one.change is not None
    by = one.change.short_by or 0.0
    yield from no_more("depth of the cut", by, float(-one.lines.cut_mm[one.station]))
    found = redrawn(one, cut_mm=np.minimum(one.lines.cut_mm + by, 0))
    if lacking(found) > STEP_MM and found is not None and found.worst_station == one.station:
        yield f"{lacking(found):.2f} is lacking with a shallower cut"
    held = {site: min(mm + by, 0) for site, mm in one.tooth.held.cut.items()}
    if held and one.route is not None:
        found = graded(route_alone(changed(one.case, held=replace(one.tooth.held, cut=held)), one.route.name), one.missed)
        if lacking(found) > READING_STEP_MM and found is not None and found.worst_station == one.station:
            yield f"{lacking(found):.2f} is lacking where the cut is held shallower"


def held_lower(one: Told) -> Faults:
    """The line is released: nothing is lacking any more at the place that the sentence names."""
    assert one.route is not None
    free = changed(one.case, held=replace(one.tooth.held, finish={}))
    found = graded(route_alone(free, one.route.name), one.missed)
    if lacking(found) > READING_STEP_MM and found is not None and found.worst_station == one.station:
        yield f"{lacking(found):.2f} is lacking there without the held line"
    yield from given_again(one, free)


def uncut(one: Told) -> Faults:
    found = redrawn(one, cut_mm=np.zeros_like(one.lines.cut_mm))
    if lacking(found) > 0:
        yield f"{lacking(found):.2f} is lacking without any cut"


def sutured_higher(one: Told) -> Faults:
    by = one.change and one.change.short_by or 0.0
    found = redrawn(one, cut_mm=np.minimum(one.lines.cut_mm + by, 0))
    if lacking(found) > STEP_MM:
        yield f"{lacking(found):.2f} is lacking with the margin {by:.2f} higher"


def flap_keeps(one: Told) -> Faults:
    if one.kind.endswith("_left"):
        yield from shallower(one)
    bone = one.plan.route("soft tissue and bone")
    found = graded(bone, "keratinised_tissue_left")
    if bone.plan is not None and lacking(found) > 0:
        yield f"on a flap {lacking(found):.2f} is lacking"


def grafted(one: Told) -> Faults:
    by = one.change and one.change.short_by or 0.0
    yield from after(one, read_anew(one.case, "keratinised_width", lambda _, mm: mm + by + PRINTED_MM))


def thicker(one: Told) -> Faults:
    assert one.change is not None
    axial = one.lines.wishes.axial_reduction_mm
    yield from no_more("axial reduction", one.change.less_mm, axial)
    case = restored(one.case, axial_reduction_mm=max(axial - (one.change.less_mm or 0) - PRINTED_MM / 2, 0))
    yield from given_again(one, case)
    yield from thin_still(one, case)


def thin_still(one: Told, case: Case) -> Faults:
    assert one.route is not None
    by = route_alone(case, one.route.name).closed_by
    if by is not None and by.ground.id == "thin_wall":
        yield f"the wall is still too thin: {by.ground.wall}"


def thin_whatever(one: Told) -> Faults:
    if not list(thin_still(one, restored(one.case, axial_reduction_mm=0.0))):
        yield "less reduction would have done"


def released(one: Told) -> Faults:
    yield from given_again(one, changed(one.case, held=Held()))


def look_mended(one: Told) -> Faults:
    """The difference is accepted: then nothing more is said of it. A cut that is named for it brings the margin nearer."""
    assert one.route is not None and one.route.looks is not None and one.change is not None
    shown = route_alone(with_limit(one, "visible_zone", abs(_from_wish(one.route)) + ACCEPTED_MM), one.route.name).looks
    if shown is None or shown.change is not None:
        yield "an accepted difference is not accepted"
    for route in one.plan.routes:
        nearer = route.looks is None or abs(_from_wish(route)) <= abs(_from_wish(one.route)) + PRINTED_MM
        if "cut" in (one.change.asked or ()) and route.name == "soft tissue only" and not nearer:
            yield "a cut takes the margin away from the wish"


def _from_wish(route: Route) -> float:
    return 0.0 if route.looks is None else route.looks.settled_above_wish_mm or 0.0


def with_limit(one: Told, name: str, limit: float) -> Case:
    others = tuple(wish for wish in one.tooth.requirements if wish.id != name)
    return changed(one.case, requirements=(*others, RequirementWish(id=name, limit=limit, reason="accepted")))


def wish_of_reduction(one: Told) -> Faults:
    assert one.remaining is not None
    yield from no_more("reduction", one.remaining.most_mm, spare_reduction_mm(one.plan.wishes))
    yield from given_again(one, less_reduction(one, spare_reduction_mm(one.plan.wishes)))


def wish_of_place(one: Told) -> Faults:
    assert one.remaining is not None
    yield from no_more("what is lacking", one.remaining.most_mm, one.remaining.short_by or 0)
    yield from given_again(one, restored(one.case, finish=None))


def own_limit(name: str, one: Told) -> Faults:
    assert one.remaining is not None and one.remaining.usual_mm is not None
    if not requirement_of(name).at_most and (one.remaining.own_mm or 0) <= one.remaining.usual_mm:
        yield "the own limit is no stricter than the usual one"
    yield from given_again(one, with_limit(one, name, one.remaining.usual_mm))


def no_ferrule_on_composite(one: Told) -> Faults:
    """The routes that are named have a ferrule on sound tooth: no more is lacking there than on composite."""
    assert one.route is not None and one.change is not None
    here = lacking(graded(one.route, one.missed))
    for procedure in PROCEDURES:
        if procedure.way in (one.change.ways or ()):
            there = lacking(graded(one.plan.route(procedure.id), one.missed))
            if there > here + STEP_MM:
                yield f"{there:.2f} is lacking by {procedure.id}, {here:.2f} on composite"


def seat_raised(one: Told) -> Faults:
    """Each way that is named gains what the seat lacks over bone: then it is no longer too near."""
    assert one.change is not None and one.route is not None and one.route.closed_by is not None
    ground = one.route.closed_by.ground
    assert ground.found is not None and ground.limit is not None
    gained = ground.limit - ground.found + PRINTED_MM
    for way in one.change.ways or ():
        yield from given_again(one, (healed_after_bone if way == "bone" else raised)(one.case, gained))


def entered(edit: Callable[[Told], Case], one: Told) -> Faults:
    """A fact is entered, read anew or corrected: then the sentence does not come again."""
    yield from given_again(one, edit(one))


def offered(one: Told) -> Faults:
    """The route that is recommended is open, and has what the sentence says it has."""
    route = one.found.route
    if route is None or route.plan is None or route.verdict not in ("kept", "in doubt"):
        yield f"recommends {route and route.name}, {route and route.verdict}"
        return
    if "kept" in one.kind and route.verdict != "kept":
        yield f"{route.name} is {route.verdict}"
    given_up = route.concessions
    wishes = {"occlusal_reduction_mm": given_up.occlusal_reduction_mm, "convergence_deg": given_up.convergence_deg}
    if route.verdict == "kept" and any(wish is not None for wish in wishes.values()):
        conceded = restored(one.case, **{name: wish for name, wish in wishes.items() if wish is not None})
        if route_alone(conceded, route.name).verdict != "kept":
            yield "what the route asks of the preparation does not keep it"


def in_stages(one: Told) -> Faults:
    """Gum goes first: what is to follow is open, and a patient who wants one operation is not told so."""
    staged = one.found.staged
    assert staged is not None
    following = staged.otherwise
    if following is not None and (following.plan is None or following.verdict not in ("kept", "in doubt")):
        yield f"{following.name} is to follow, {following.verdict}"
    yield from given_again(one, with_facts(one.case, two_operations_accepted=False))


def cleared(one: Told) -> Faults:
    """The finding that alone is left is cleared: the route is no longer left in doubt by it."""
    assert one.found.doubt is not None
    then = EDITS[f"doubt.{one.found.doubt.id}"](one)
    left = findings_of(then.teeth[0], patient_of(then), one.plan.prepared.limits).doubts
    if one.found.doubt.id in [doubt.id for doubt in left]:
        yield f"{one.found.doubt.id} is still there"


LIMITS = ("preparation_height", "ferrule", "clear_of_crest", "keratinised_tissue_left", "furcation")
KEPT = (
    *("restore_without_lengthening", "deep_margin_elevation", "partial_coverage", "soft_tissue_only"),
    *("flap_without_bone", "soft_tissue_and_bone", "extrusion_first"),
)
STAGED = (
    *("soft_tissue_and_bone", "soft_tissue_and_bone_in_doubt"),
    *("extrusion_first", "extrusion_first_in_doubt", "none"),
)
CARRIED_OUT: Mapping[str, CarryOut] = {
    "least_change.preparation_height": reduction,
    "least_change.preparation_height_in_part": reduction_in_part,
    "least_change.preparation_height_without": no_reduction,
    "least_change.preparation_height_no_bite": reduction,
    "least_change.preparation_height_in_part_no_bite": reduction_in_part,
    "least_change.preparation_height_without_no_bite": no_reduction,
    "least_change.definitive_finish_line": place,
    "least_change.definitive_finish_line_in_part": place,
    "least_change.definitive_finish_line_without": height,
    "least_change.clear_of_crest": line,
    "least_change.clear_of_crest_in_part": line,
    "least_change.clear_of_crest_without": height,
    "least_change.ferrule": height,
    "least_change.ferrule_on_composite": no_ferrule_on_composite,
    "least_change.seat_clear_of_crest": height,
    "least_change.seat_too_near_bone": seat_raised,
    "least_change.resistance": resists,
    "least_change.resistance_in_part": resists,
    "least_change.resistance_without": height,
    "least_change.furcation.line": line,
    "least_change.furcation.line_in_part": line,
    "least_change.furcation.bone": less_taken,
    "least_change.furcation.bone_in_part": less_taken,
    "least_change.furcation.movement": less_taken,
    "least_change.furcation.movement_in_part": less_taken,
    "least_change.furcation.nothing": never_enough,
    "least_change.crown_to_root.bone": least_taken,
    "least_change.crown_to_root.movement": least_taken,
    "least_change.crown_to_root.nothing": never_enough,
    "least_change.attached_area.bone": least_taken,
    "least_change.attached_area.movement": least_taken,
    "least_change.attached_area.nothing": never_enough,
    "least_change.look": look_mended,
    "least_change.no_attachment_cut": shallower,
    "least_change.no_attachment_cut_uncut": uncut,
    "least_change.clear_of_bone": shallower,
    "least_change.clear_of_bone_uncut": uncut,
    "least_change.clear_of_bone_flap": sutured_higher,
    "least_change.keratinised_tissue_left": flap_keeps,
    "least_change.keratinised_tissue_left_no_flap": shallower,
    "least_change.keratinised_tissue_left_uncut": flap_keeps,
    "least_change.keratinised_tissue_left_uncut_no_flap": uncut,
    "least_change.keratinised_tissue_left_flap": grafted,
    "least_change.thin_wall": thicker,
    "least_change.thin_wall_uncut": thin_whatever,
    "least_change.release_handle": released,
    "least_change.held_line_lower": held_lower,
    "remains.wish.reduction": wish_of_reduction,
    "remains.wish.place": wish_of_place,
    **{f"remains.limit.{name}": partial(own_limit, name) for name in LIMITS},
    **{kind: partial(entered, edit) for kind, edit in EDITS.items()},
    **{f"recommended.kept.{name}": offered for name in KEPT},
    **{f"recommended.staged.{name}": in_stages for name in STAGED},
    **{f"recommended.for_look.{way}_{wish}": offered for way in ("shorter", "longer") for wish in ("mirror", "drawn")},
    "recommended.in_doubt": offered,
    "recommended.doubt_left": cleared,
}
