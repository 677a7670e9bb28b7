"""Numbers of restorations (filled in below)."""

from collum.evidence.registry import Constant

CONSTANTS: tuple[Constant, ...] = ()
