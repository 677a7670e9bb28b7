"""Papers: a stored plan in, PDF bytes out. Everything on a paper comes from what is stored and the catalogue of sentences.

A paper that leads to an operation is made by `operating_paper` alone, which takes the opening that only the gate makes.
"""

from collections.abc import Mapping
from typing import Any, Literal, get_args

from collum.evidence.safety_rules import Procedure
from collum.papers.bridge import bridge_content, bridge_drawings, bridge_of
from collum.papers.drawing import SHEET_SIZE, drawing, seen_more
from collum.papers.findings import findings_content
from collum.papers.head import Content, PaperHead, Plan, shown_route
from collum.papers.operating import operating_paper
from collum.papers.restoration import NoAnswer, answer_of, restoration_content, restoration_drawings
from collum.papers.sheet import sheet_content
from collum.papers.typesetting import PROGRAM, Typesetter, in_process, typeset
from collum.wording import text

PaperKind = Literal[
    "chairside-card", "plan-sheet", "findings-sheet", "flap-sheet", "extrusion-sheet", "restoration-sheet", "bridge-sheet"
]
PAPER_KINDS: tuple[PaperKind, ...] = get_args(PaperKind)

__all__ = [
    "OPERATING",
    "PAPER_KINDS",
    "PROGRAM",
    "PaperHead",
    "PaperKind",
    "PaperRefused",
    "Typesetter",
    "in_process",
    "operating_paper",
    "paper",
]

OPERATING: Mapping[str, Procedure] = {"chairside-card": "current", "flap-sheet": "bone", "extrusion-sheet": "movement"}


class PaperRefused(ValueError):
    """The plan gives no ground for this paper; the message says why."""


def paper(
    kind: PaperKind,
    plan: Mapping[str, Any],
    *,
    tooth: int,
    head: PaperHead,
    case: Mapping[str, Any],
    typesetter: Typesetter = in_process,
) -> bytes:
    """Return the PDF of a paper that leads to no operation, for the tooth at position `tooth` of a stored plan.

    `case` is the document the plan was made from. The same plan, case and head give the same bytes. Raises IndexError for no
    such tooth, PaperRefused where the plan gives no ground for the paper.
    """
    of_tooth = plan["teeth"][tooth]
    if kind in OPERATING:
        raise PaperRefused(text("paper.refused.operating"))
    if kind in ("restoration-sheet", "bridge-sheet"):
        content, drawings = _worked_out(kind, plan, of_tooth, head, case)
        return typeset(f"{kind}.typ", content, drawings, made_at=head.made_at, typesetter=typesetter)
    if kind == "findings-sheet":
        content, route = findings_content(plan, of_tooth, case, head), None
    else:
        route = shown_route(of_tooth)
        content = {**sheet_content(plan, of_tooth, route, head), "seen_more": seen_more(route)}
    drawings = {"strip": drawing(of_tooth, route, SHEET_SIZE[kind])}
    return typeset(f"{kind}.typ", content, drawings, made_at=head.made_at, typesetter=typesetter)


def _worked_out(
    kind: PaperKind, plan: Plan, tooth: Plan, head: PaperHead, case: Mapping[str, Any]
) -> tuple[Content, Mapping[str, str]]:
    """Return content and drawings of a sheet that is worked out from plan and case when it is printed."""
    try:
        if kind == "bridge-sheet":
            bridge = bridge_of(plan, tooth, case)
            return bridge_content(plan, tooth, bridge, head), bridge_drawings(bridge)
        found = answer_of(tooth, case)
        return restoration_content(plan, tooth, found, head), restoration_drawings(tooth, found)
    except NoAnswer as without:
        raise PaperRefused(str(without)) from None
