"""What is on a paper, apart from its bytes: words, where each is, and the figures of everything that is drawn."""

from typing import Any

from tests.papers.pages import operations, pages, words_with_size

_DRAWN = (b"m", b"l", b"c", b"re", b"w", b"cm", b"rg", b"RG", b"g", b"G", b"sc", b"SC", b"scn", b"SCN", b"d")
_PLACES = 2  # hundredths of a point, less than a printer can show


def on_paper(pdf: bytes) -> dict[str, Any]:
    """Return the fields of each page."""
    found: dict[str, Any] = {}
    for number, page in enumerate(pages(pdf), start=1):
        words = words_with_size(page)
        found[f"page {number}.size"] = [float(side) for side in page.mediabox[2:]]
        found[f"page {number}.words"] = "\n".join(word.text for word in words)
        for name in ("x", "y", "size"):
            found[f"page {number}.{name} of words"] = [round(getattr(word, name), _PLACES) for word in words]
        for operator, numbers in _drawn(page).items():
            found[f"page {number}.drawn {operator}"] = numbers
    return found


def _drawn(page: Any) -> dict[str, list[float]]:
    """Return the operands of every drawing operator, in order."""
    found: dict[str, list[float]] = {}
    for operands, operator in operations(page):
        if operator in _DRAWN:
            flat = [one for given in operands for one in (given if isinstance(given, list) else [given])]
            found.setdefault(operator.decode(), []).extend(round(float(one), _PLACES) for one in flat if _is_number(one))
    return found


def _is_number(one: Any) -> bool:
    return isinstance(one, (int, float))
