"""Draws of the program and plans of its routes as the peer takes them."""

from dataclasses import replace

import numpy as np

from benchmarks.peer import levels, rules
from collum.core.ring import STATIONS
from collum.plan import Prepared
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import PROCEDURES, procedure_of
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RouteName

STATED: tuple[RouteName, ...] = tuple(one.id for one in PROCEDURES if not one.raises_margin)  # whose rules the peer states


def draws_of(prepared: Prepared) -> rules.Draws:
    """The draws of the program before any treatment."""
    edge, sound, junction = prepared.occlusal_edge_mm, prepared.sound_edge_mm, prepared.mucogingival_mm
    assert edge is not None and sound is not None and junction is not None
    return rules.Draws(
        sulcus=prepared.sulcus_mm,
        attachment=prepared.attachment_mm,
        own_height=prepared.own_height_mm,
        share=prepared.regrowth.return_share,
        noise=prepared.regrowth.noise,
        edge=edge,
        sound=sound,
        junction=junction,
        crest_was=-prepared.crest_depth_mm,
        share_deviate=prepared.regrowth.share_deviate,
        root=prepared.root.length,
        trunk=prepared.root.trunk,
        cej=prepared.root.junction,
        surgery=prepared.root.surgery,
    )


def route_plan(route: RouteName, prepared: Prepared, wishes: Wishes, perimeter_mm: float) -> RoutePlan:
    """The plan of one route, made whether or not a lesser one will do."""
    arc = perimeter_mm / STATIONS
    return procedure_of(route).plan(prepared, wishes, returns_whole=False, arc_mm=arc)


def done_by(plan: RoutePlan) -> rules.Done:
    """What the route does."""
    treatment = plan.treatment
    return rules.Done(
        route=treatment.procedure.id, bone=treatment.bone_mm, raised=treatment.extruded_mm, loaded=np.asarray(treatment.loaded)
    )


def asked_by(tooth: levels.Tooth, plan: RoutePlan) -> levels.Tooth:
    """The tooth with what the route asks of its restoration."""
    wishes = plan.wishes
    return replace(
        tooth, reduction_mm=wishes.reduction_mm, convergence_deg=wishes.convergence_deg, grooves=plan.treatment.grooves
    )
