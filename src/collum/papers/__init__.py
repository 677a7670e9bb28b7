"""Papers: a stored plan in, PDF bytes out. Everything on a paper comes from what is stored and the catalogue of sentences.

A paper that leads to an operation is made by `operating_paper` alone, which takes the opening that only the gate makes.
"""

from collections.abc import Mapping
from typing import Any, get_args

from collum.evidence.safety_rules import Procedure
from collum.papers.answer import Answer
from collum.papers.bridge import bridge_content, bridge_drawings
from collum.papers.colleague import colleague_content
from collum.papers.drawing import SHEET_SIZE, drawing, seen_more
from collum.papers.findings import findings_content
from collum.papers.head import Content, PaperHead, PaperRefused, Plan, shown_route
from collum.papers.operating import operating_paper
from collum.papers.restoration import restoration_content, restoration_drawings
from collum.papers.restoration_walls import walls_of
from collum.papers.sheet import sheet_content
from collum.papers.typesetting import PROGRAM, Typesetter, in_process, typeset
from collum.vocabulary import PaperKind
from collum.wire.bridge.document import BridgeDocument
from collum.wire.restoration.document import ToothRestorationDocument
from collum.wording import text

PAPER_KINDS: tuple[PaperKind, ...] = get_args(PaperKind)

__all__ = [
    "Answer",
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

OPERATING: Mapping[str, Procedure] = {
    "chairside-card": "current",
    "scalpel-card": "scalpel",
    "flap-sheet": "bone",
    "extrusion-sheet": "movement",
}


def paper(
    kind: PaperKind,
    plan: Mapping[str, Any],
    *,
    tooth: int,
    head: PaperHead,
    case: Mapping[str, Any],
    answer: Answer | None = None,
    typesetter: Typesetter = in_process,
) -> bytes:
    """Return the PDF of a paper that leads to no operation, for the tooth at position `tooth` of a stored plan.

    `case` is the document the plan was made from, `answer` what a sheet of restoration or bridge shows. The same plan, case,
    answer and head give the same bytes. Raises IndexError for no such tooth, PaperRefused where the plan gives no ground for
    the paper.
    """
    of_tooth = plan["teeth"][tooth]
    if kind in OPERATING:
        raise PaperRefused(text("paper.refused.operating"))
    if kind in ("restoration-sheet", "bridge-sheet"):
        content, drawings = _answered(kind, plan, of_tooth, head, answer, case)
        return typeset(f"{kind}.typ", content, drawings, made_at=head.made_at, typesetter=typesetter)
    if kind == "findings-sheet":
        content, route = findings_content(plan, of_tooth, case, head), None
    else:
        route = shown_route(of_tooth)
        of_colleague = kind == "colleague-plan"
        made = (
            colleague_content(plan, of_tooth, route, case, head) if of_colleague else sheet_content(plan, of_tooth, route, head)
        )
        content = {**made, "seen_more": seen_more(route)}
    drawings = {"strip": drawing(of_tooth, route, SHEET_SIZE[kind])}
    return typeset(f"{kind}.typ", content, drawings, made_at=head.made_at, typesetter=typesetter)


def _answered(
    kind: PaperKind, plan: Plan, tooth: Plan, head: PaperHead, answer: Answer | None, case: Plan
) -> tuple[Content, Mapping[str, str]]:
    """Return content and drawings of a sheet that shows an answer. Raises PaperRefused for one that is empty."""
    found = None if answer is None else answer.found
    if answer is not None and isinstance(found, BridgeDocument) and kind == "bridge-sheet":
        if found.fault is not None:
            raise PaperRefused(found.fault.text)
        return bridge_content(plan, tooth, found, answer, head), bridge_drawings(found)
    if answer is not None and isinstance(found, ToothRestorationDocument) and kind == "restoration-sheet":
        if not found.routes:
            raise PaperRefused(found.because.text)
        walls = walls_of(case, tooth["number"])
        return restoration_content(plan, tooth, found, answer, head, walls), restoration_drawings(tooth, found, answer, walls)
    raise TypeError(f"a {kind} shows an answer of its own kind")
