"""The plan of a bridge: all abutments together, what carries them and what is weak. Pure."""

from collum.plan.bridge.bridge_plan import BridgePlan, BridgeWishes, PathReserve, plan_bridge
from collum.plan.bridge.document import BridgeDocument, BridgesDocument
from collum.plan.bridge.pontics import POINTS, PonticPlan
from collum.plan.bridge.to_document import bridge_document, faulty_bridge_document
from collum.plan.bridge.units import BridgeFault, Unit, units_of
from collum.plan.bridge.weak_points import assumed, help_for, not_assessed, weak_points

__all__ = [
    "POINTS",
    "BridgeDocument",
    "BridgeFault",
    "BridgePlan",
    "BridgeWishes",
    "BridgesDocument",
    "PathReserve",
    "PonticPlan",
    "Unit",
    "assumed",
    "bridge_document",
    "faulty_bridge_document",
    "help_for",
    "not_assessed",
    "plan_bridge",
    "units_of",
    "weak_points",
]
