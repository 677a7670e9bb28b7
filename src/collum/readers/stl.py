"""STL: facets one by one, three corners each. The normals of the file are not used: corners say which way a facet looks."""

import re
from collections.abc import Iterator

import numpy as np

from collum.readers.mesh_fault import MeshFault
from collum.readers.triangles import Triangles, check_count, numbers

_HEAD, _FACET = 84, 50
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
_WORDS = 21  # of a facet in text
_KEYWORDS = {
    0: b"facet",
    1: b"normal",
    5: b"outer",
    6: b"loop",
    7: b"vertex",
    11: b"vertex",
    15: b"vertex",
    19: b"endloop",
    20: b"endfacet",
}
_CORNERS = (8, 9, 10, 12, 13, 14, 16, 17, 18)
_FRAME = re.compile(rb"^[ \t]*(?:end)?solid\b[^\n]*$", re.MULTILINE | re.IGNORECASE)
_BLOCK = 4_000_000  # bytes of text taken apart at a time


def read_binary_stl(data: bytes) -> Triangles:
    """Return the facets. Raises MeshFault where the length is not that of the facets it says it has."""
    count = int.from_bytes(data[_HEAD - 4 : _HEAD], "little")
    wanted = _HEAD + _FACET * count
    if wanted != len(data):
        raise MeshFault("stl_length", "header", count=count, wanted=wanted, bytes=len(data))
    check_count(count)
    corners = np.frombuffer(data, dtype=_RECORD, offset=_HEAD)["corners"]
    with np.errstate(invalid="ignore"):  # what is no number is refused with its place, not warned of
        return _soup(corners.astype(np.float64))


def read_text_stl(data: bytes) -> Triangles:
    """Return the facets of all solids of the file. Raises MeshFault."""
    if not re.search(rb"\bendsolid\b", data[-_BLOCK:], re.IGNORECASE):
        raise MeshFault("no_end", "end", word="endsolid")
    parts: list[np.ndarray] = []
    done = 0
    for block in _blocks(data):
        parts.append(_facets(_FRAME.sub(b"", block).split(), done))
        done += len(parts[-1])
        check_count(done)
    return _soup(np.concatenate(parts).reshape(-1, 3, 3))


def _blocks(data: bytes) -> Iterator[bytes]:
    """Cut the text behind whole facets, so that no more than a block is in words at a time."""
    begin = 0
    while begin < len(data):
        end = len(data)
        if end - begin > _BLOCK:
            found = re.compile(rb"endfacet[^\n]*\n", re.IGNORECASE).search(data, begin + _BLOCK)
            end = found.end() if found and found.end() - begin < 2 * _BLOCK else len(data)
            if end - begin > 2 * _BLOCK:
                raise MeshFault("no_end", f"byte {begin + 1}", word="endfacet")
        yield data[begin:end]
        begin = end


def _facets(words: list[bytes], done: int) -> "np.ndarray":
    """Return (F, 9) coordinates from the words of whole facets; `done` facets came before."""
    count, rest = divmod(len(words), _WORDS)
    first, expected = _first_wrong(words)
    if expected is not None:
        raise MeshFault("stl_words", f"facet {done + first + 1}", word=expected)
    if rest:
        raise MeshFault("cut_short", f"facet {done + count + 1}")
    columns = [numbers(words[place::_WORDS], f"facets {done + 1} to {done + count}") for place in _CORNERS]
    return np.stack(columns, axis=1)


def _first_wrong(words: list[bytes]) -> tuple[int, str | None]:
    """Return the first facet without a keyword where it belongs, and that keyword; None where all are there."""
    first, expected = len(words), None
    for place, keyword in _KEYWORDS.items():
        found = [word.lower() for word in words[place::_WORDS]]
        if found.count(keyword) == len(found):
            continue
        wrong = next(i for i, word in enumerate(found) if word != keyword)
        if wrong < first:
            first, expected = wrong, keyword.decode()
    return first, expected


def _soup(corners: "np.ndarray") -> Triangles:
    return Triangles(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3))
