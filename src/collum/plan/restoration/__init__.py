"""Will the restoration hold, and if not what would make it hold. Pure."""

from collum.plan.restoration.tooth_restoration import RouteRestoration, ToothRestoration, restoration_of_tooth

__all__ = [
    "RouteRestoration",
    "ToothRestoration",
    "restoration_of_tooth",
]
