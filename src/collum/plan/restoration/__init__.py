"""Will the restoration hold, and if not what would make it hold. Pure."""

from collum.plan.restoration.document import RestorationsDocument, RouteRestorationDocument, ToothRestorationDocument
from collum.plan.restoration.to_document import limits, tooth_restoration_document
from collum.plan.restoration.tooth_restoration import RouteRestoration, ToothRestoration, restoration_of_tooth

__all__ = [
    "RestorationsDocument",
    "RouteRestorationDocument",
    "RouteRestoration",
    "ToothRestoration",
    "ToothRestorationDocument",
    "limits",
    "restoration_of_tooth",
    "tooth_restoration_document",
]
