"""Typesetting: a template of ours and data as JSON in, PDF bytes out. Data are never markup; no file can be read."""

import json
import sys
import tempfile
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Protocol

from collum.papers import engine

_COMMON = "common.typ"
_SHARED: Mapping[str, tuple[str, ...]] = {name: ("cut-card.typ",) for name in ("chairside-card.typ", "scalpel-card.typ")}
# The engine in a process of its own; an empty folder is its last argument. -P: the modules beside it are not on its path.
PROGRAM = (sys.executable, "-P", str(Path(engine.__file__)))


class Typesetter(Protocol):
    """What sets a paper: the same input gives the same bytes."""

    def __call__(self, source: str, inputs: Mapping[str, str], *, made_at: str) -> bytes: ...


def in_process(source: str, inputs: Mapping[str, str], *, made_at: str) -> bytes:
    """Return the PDF of a template, set in this process, which keeps some 60 MB of it afterwards."""
    with tempfile.TemporaryDirectory(prefix="collum-paper-") as empty:
        return engine.compiled(source, inputs, made_at=made_at, root=empty)


def typeset(
    template: str, content: Mapping[str, Any], drawings: Mapping[str, str], *, made_at: str, typesetter: Typesetter = in_process
) -> bytes:
    """Return the PDF of `template` (a file name in templates/) filled with `content`; drawings are SVG by name.

    Only the fonts inside the engine are used and its file access is rooted in an empty folder; the same input gives the same
    bytes.
    """
    templates = resources.files("collum.papers") / "templates"
    source = "".join((templates / name).read_text(encoding="utf-8") for name in (_COMMON, *_SHARED.get(template, ()), template))
    inputs = {"content": json.dumps(content), "drawings": json.dumps(drawings)}
    return typesetter(source, inputs, made_at=made_at)
