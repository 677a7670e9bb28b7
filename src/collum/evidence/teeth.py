"""Handbook dimensions of teeth (filled in by the next commit)."""

from collum.evidence.registry import Constant

CONSTANTS: tuple[Constant, ...] = ()
