"""Typesetting: a template of ours and data as JSON in, PDF bytes out. Data are never markup; no file can be read."""

import json
import tempfile
from collections.abc import Mapping
from datetime import datetime
from importlib import resources
from typing import TYPE_CHECKING, Any

import typst

if TYPE_CHECKING:
    from typst import PDFStandard

_COMMON = "common.typ"
_STANDARDS: "list[PDFStandard]" = ["a-2a", "ua-1"]


def typeset(template: str, content: Mapping[str, Any], drawings: Mapping[str, str], *, made_at: str) -> bytes:
    """Return the PDF of `template` (a file name in templates/) filled with `content`; drawings are SVG by name.

    Only the fonts inside the engine are used and its file access is rooted in an empty folder; the same input gives the same
    bytes. The engine checks that the file can be kept (PDF/A-2a) and read aloud (PDF/UA-1).
    """
    templates = resources.files("collum.documents") / "templates"
    source = (templates / _COMMON).read_bytes() + (templates / template).read_bytes()
    with tempfile.TemporaryDirectory(prefix="collum-paper-") as empty:
        compiler = typst.Compiler(
            source,
            root=empty,
            ignore_system_fonts=True,
            sys_inputs={"content": json.dumps(content), "drawings": json.dumps(drawings)},
        )
        made = compiler.compile(format="pdf", pdf_standards=_STANDARDS, timestamp=datetime.fromisoformat(made_at))
    assert isinstance(made, bytes)
    return made
