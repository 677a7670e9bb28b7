"""Draws of the program and plans of its routes as the peer takes them."""

from dataclasses import replace

import numpy as np

from benchmarks.peer import levels, rules
from collum.core.ring import STATIONS
from collum.plan import Prepared
from collum.plan.lengthening.procedures.act import Act
from collum.plan.lengthening.procedures.bone_surgery import plan_bone_surgery
from collum.plan.lengthening.procedures.extrusion import plan_extrusion
from collum.plan.lengthening.procedures.soft_tissue import RoutePlan, plan_soft_tissue
from collum.plan.lengthening.procedures.without_lengthening import plan_without_lengthening
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RouteName


def draws_of(prepared: Prepared) -> rules.Draws:
    """The draws of the program before any act."""
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
    if route == "restore without lengthening":
        return plan_without_lengthening(prepared, wishes, arc_mm=arc)[0]
    if route == "soft tissue only":
        return plan_soft_tissue(prepared, wishes, Act(route=route), arc_mm=arc)
    make = plan_bone_surgery if route == "soft tissue and bone" else plan_extrusion
    return make(prepared, wishes, returns_whole=False, arc_mm=arc)


def done_by(plan: RoutePlan) -> rules.Done:
    """What the route does."""
    act = plan.act
    return rules.Done(route=act.route, bone=act.bone_mm, raised=act.extruded_mm, loaded=np.asarray(act.loaded))


def asked_by(tooth: levels.Tooth, plan: RoutePlan) -> levels.Tooth:
    """The tooth with what the route asks of its restoration."""
    wishes = plan.wishes
    return replace(tooth, reduction_mm=wishes.reduction_mm, convergence_deg=wishes.convergence_deg, grooves=plan.act.grooves)
