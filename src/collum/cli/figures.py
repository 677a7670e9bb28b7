"""Figures and heads that several pages of the terminal print alike."""

from typing import Protocol

from collum.cli.page import Page
from collum.wire.form import SentenceDocument
from collum.wire.restoration.document import RetentionDocument
from collum.wording import text


class Tooth(Protocol):
    """What the head of a page says of a tooth."""

    @property
    def number(self) -> int: ...
    @property
    def universal(self) -> int: ...
    @property
    def name(self) -> SentenceDocument: ...


class Answer(Protocol):
    """What the head of a page says of the case."""

    @property
    def case_reference(self) -> str: ...
    @property
    def invented(self) -> bool: ...


def head_of(found: Answer, tooth: Tooth) -> dict[str, str | int]:
    """Return what the head of a page names."""
    return {
        "reference": found.case_reference,
        "number": tooth.number,
        "universal": tooth.universal,
        "name": tooth.name.text,
    }


def print_head(page: Page, words: str, found: Answer) -> None:
    """Print the head of a page, and that its case is invented where it is."""
    page.line(words, style="bold")
    if found.invented:
        page.line(text("cli.plan.invented"))


def mm(length_mm: float | None) -> str:
    """Return a length, or an area or a volume, with one decimal; a dash where it is not known."""
    return text("cli.plan.none") if length_mm is None else text("cli.plan.mm", {"mm": length_mm})


def percent(share: float | None) -> str:
    """Return a share in whole per cent; a dash where it is not known."""
    return text("cli.plan.none") if share is None else f"{100 * share:.0f}"


def retention_row(held: RetentionDocument) -> tuple[str, str, str]:
    """Return the class of a cement, the range of what it holds and how that is known."""
    return (
        text(f"restoration.cement.{held.cement}"),
        text("cli.restoration.range", {"low": f"{held.low_n:.0f}", "high": f"{held.high_n:.0f}"}),
        text(f"restoration.status.{held.status}"),
    )
