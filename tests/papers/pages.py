"""What a reader of a PDF finds: words with their size and place, and ruled lines, in page units."""

import io
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream, NameObject

MM = 72 / 25.4  # page units
Matrix = tuple[float, float, float, float, float, float]
UNIT: Matrix = (1, 0, 0, 1, 0, 0)


@dataclass(frozen=True)
class Word:
    text: str
    size: float
    x: float
    y: float


@lru_cache(maxsize=64)
def pages(pdf: bytes) -> tuple[PageObject, ...]:
    """Return the pages of a file, each with its content parsed once: parsing takes longer than all else that is done to it."""
    found = tuple(PdfReader(io.BytesIO(pdf)).pages)
    for page in found:
        page[NameObject("/Contents")] = ContentStream(page.get_contents(), page.pdf, "bytes")
    return found


def operations(page: PageObject) -> list[tuple[Any, bytes]]:
    """Return the operands and operator of each step of a page of `pages`."""
    found: list[tuple[Any, bytes]] = page["/Contents"].operations
    return found


def words_of(source: bytes | PageObject) -> str:
    """Return all text of a file or a page with single spaces."""
    return _spaced((source,)) if isinstance(source, PageObject) else _words_of_file(source)


@lru_cache(maxsize=64)
def _words_of_file(pdf: bytes) -> str:
    """Return the words of a file; many tests look at the same one, and taking them out is slow."""
    return _spaced(pages(pdf))


def _spaced(found: tuple[PageObject, ...]) -> str:
    return re.sub(r"\s+", " ", " ".join(text_of(page) for page in found))


def text_of(page: PageObject) -> str:
    """Return the text of a page; with a visitor, or pypdf writes the content out again to look for text in it."""
    return page.extract_text(visitor_text=lambda *_: None)


def words_with_size(page: PageObject) -> list[Word]:
    found: list[Word] = []

    def visit(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            x, y = _at(tuple(cm), tm[4], tm[5])  # type: ignore[arg-type]  # six numbers
            found.append(Word(text.strip(), size * abs(tm[3]) * abs(cm[3]), x, y))

    page.extract_text(visitor_text=visit)
    return found


def paints(page: PageObject) -> list[tuple[float, ...]]:
    """Return every colour that is set to fill or stroke, as red, green, blue; a grey has three equal parts."""
    found: list[tuple[float, ...]] = []
    for operands, operator in operations(page):
        if operator in (b"g", b"G"):
            found.append((float(operands[0]),) * 3)
        elif operator in (b"rg", b"RG", b"sc", b"SC", b"scn", b"SCN"):
            numbers = tuple(float(o) for o in operands if not isinstance(o, str))
            found += [numbers * 3 if len(numbers) == 1 else numbers] if numbers else []
    return found


def ruled_lines_mm(page: PageObject) -> list[float]:
    """Return the length of each straight stroke of two points, through every change of units."""
    lengths: list[float] = []
    stack: list[Matrix] = []
    now, pen = UNIT, (0.0, 0.0)
    path: list[tuple[float, float]] = []
    for operands, operator in operations(page):
        if operator == b"q":
            stack.append(now)
        elif operator == b"Q":
            now = stack.pop()
        elif operator == b"cm":
            now = _times(tuple(float(o) for o in operands), now)  # type: ignore[arg-type]  # six numbers
        elif operator == b"m":
            path = [_at(now, float(operands[0]), float(operands[1]))]
        elif operator == b"l":
            path.append(_at(now, float(operands[0]), float(operands[1])))
        elif operator == b"S" and len(path) == 2:
            (x0, y0), pen = path[0], path[1]
            lengths.append(((pen[0] - x0) ** 2 + (pen[1] - y0) ** 2) ** 0.5 / MM)
    return lengths


def missing_glyphs(pdf: bytes) -> int:
    """Return how many glyphs of number 0, the empty box of a font, are printed."""
    count = 0
    for page in pages(pdf):
        for operands, operator in operations(page):
            parts = operands[0] if operator == b"TJ" else operands if operator == b"Tj" else []
            for part in parts:
                raw = getattr(part, "original_bytes", b"")
                count += sum(raw[i : i + 2] == b"\0\0" for i in range(0, len(raw), 2))
    return count


def _times(a: Matrix, b: Matrix) -> Matrix:
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def _at(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return (m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5])
