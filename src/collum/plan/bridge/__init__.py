"""The plan of a bridge: all abutments together, what carries them and what is weak. Pure."""

from collum.plan.bridge.answer import BridgeVerdict
from collum.plan.bridge.bridge_plan import BridgePlan, PathReserve, bridge_of_case, plan_bridge
from collum.plan.bridge.help import help_for
from collum.plan.bridge.pontics import PonticPlan
from collum.plan.bridge.units import BridgeFault, Unit, units_of
from collum.plan.bridge.weak_points import assumed, not_assessed, weak_points
from collum.plan.bridge.wishes import BridgeWishes, wishes_of

__all__ = [
    "BridgeFault",
    "BridgePlan",
    "BridgeVerdict",
    "BridgeWishes",
    "PathReserve",
    "PonticPlan",
    "Unit",
    "assumed",
    "bridge_of_case",
    "help_for",
    "not_assessed",
    "plan_bridge",
    "units_of",
    "weak_points",
    "wishes_of",
]
