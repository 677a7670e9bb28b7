"""PLY, binary and text: a header that says which elements follow, then their rows. Only x, y, z and the facets are kept."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from itertools import islice
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.readers.mesh_fault import MeshFault
from collum.readers.triangles import MOST_CORNERS, MOST_FACETS, MOST_LINE, MOST_VERTICES, Triangles, fans, numbers

_TYPES = {
    b"char": "i1",
    b"int8": "i1",
    b"uchar": "u1",
    b"uint8": "u1",
    b"short": "i2",
    b"int16": "i2",
    b"ushort": "u2",
    b"uint16": "u2",
    b"int": "i4",
    b"int32": "i4",
    b"uint": "u4",
    b"uint32": "u4",
    b"float": "f4",
    b"float32": "f4",
    b"double": "f8",
    b"float64": "f8",
}
_WHOLE = frozenset(name for name, kind in _TYPES.items() if kind[0] != "f")
_ORDERS: dict[bytes, Literal["<", ">", "text"]] = {
    b"ascii": "text",
    b"binary_little_endian": "<",
    b"binary_big_endian": ">",
}
_CORNERS = (b"vertex_indices", b"vertex_index")
_MOST_HEAD_LINES = 1_000


@dataclass(slots=True)
class _Property:
    name: bytes
    type: str
    count_type: str | None = None  # of a list


@dataclass(slots=True)
class _Element:
    name: bytes
    count: int
    properties: list[_Property] = field(default_factory=list)

    @property
    def lists(self) -> bool:
        return any(one.count_type for one in self.properties)


def read_ply(data: bytes) -> Triangles:
    """Return vertices and facets. Raises MeshFault."""
    order, elements, offset = _header(data)
    _check_elements(elements)
    if order == "text":
        return _joined(_text_rows(data, offset, elements))
    return _joined(_binary_rows(data, offset, elements, order))


def _joined(found: dict[bytes, Triangles]) -> Triangles:
    faces = found[b"face"]
    return Triangles(found[b"vertex"].vertices, faces.faces, faces.cut)


def _header(data: bytes) -> tuple[Literal["<", ">", "text"], list[_Element], int]:
    """Return byte order, elements in order, and where their rows begin."""
    stream = BytesIO(data)
    order: Literal["<", ">", "text"] | None = None
    elements: list[_Element] = []
    stream.readline(MOST_LINE)
    for number in range(2, _MOST_HEAD_LINES):
        words = stream.readline(MOST_LINE).split()
        if words == [b"end_header"]:
            if order is None:
                break
            return order, elements, stream.tell()
        if words[:1] in ([b"comment"], [b"obj_info"]):
            continue
        if words[:1] == [b"format"] and len(words) == 3 and words[1] in _ORDERS:
            order = _ORDERS[words[1]]
        elif words[:1] == [b"element"] and len(words) == 3 and words[2].isdigit() and len(words[2]) < 12:
            elements.append(_Element(words[1], int(words[2])))
        elif words[:1] == [b"property"] and elements:
            elements[-1].properties.append(_property(words, number))
        else:
            raise MeshFault("ply_header", f"line {number}")
    raise MeshFault("no_end", "header", word="end_header")


def _property(words: list[bytes], number: int) -> _Property:
    if len(words) == 3 and words[1] in _TYPES:
        return _Property(words[2], _TYPES[words[1]])
    if len(words) == 5 and words[1] == b"list" and words[2] in _WHOLE and words[3] in _WHOLE:
        return _Property(words[4], _TYPES[words[3]], _TYPES[words[2]])
    raise MeshFault("ply_header", f"line {number}")


def _check_elements(elements: list[_Element]) -> None:
    """Vertices with x, y, z before facets with a list of corners; what comes behind the facets is not looked at."""
    names = [element.name for element in elements]
    if names.count(b"vertex") != 1 or names.count(b"face") != 1 or names.index(b"vertex") > names.index(b"face"):
        raise MeshFault("ply_elements", "header")
    before = elements[: names.index(b"face") + 1]
    if any(element.lists for element in before[:-1]) or not all(element.properties for element in before):
        raise MeshFault("ply_elements", "header")
    vertex, face = before[names.index(b"vertex")], before[-1]
    corners = [one for one in face.properties if one.name in _CORNERS and one.count_type]
    if not {b"x", b"y", b"z"} <= {one.name for one in vertex.properties} or len(corners) != 1:
        raise MeshFault("ply_elements", "header")
    for element, most in ((vertex, MOST_VERTICES), (face, MOST_FACETS)):
        if element.count > most:
            raise MeshFault("too_many", "header", count=element.count, most=most)


def _needed(elements: list[_Element]) -> Iterator[_Element]:
    for element in elements:
        yield element
        if element.name == b"face":
            return


def _text_rows(data: bytes, offset: int, elements: list[_Element]) -> dict[bytes, Triangles]:
    stream = BytesIO(data)
    stream.seek(offset)
    found: dict[bytes, Triangles] = {}
    for element in _needed(elements):
        rows = _rows(stream, element)
        if element.name == b"vertex":
            found[element.name] = Triangles(_text_vertices(rows, element), np.zeros((0, 3), dtype=np.int64))
        elif element.name == b"face":
            polygons = [_text_polygon(row, element, i) for i, row in enumerate(rows, start=1)]
            found[element.name] = Triangles(np.zeros((0, 3)), *fans(polygons))
    return found


def _rows(stream: BytesIO, element: _Element) -> list[list[bytes]]:
    name = element.name.decode("ascii", "replace")[:20]
    rows = [line.split() for line in islice(iter(lambda: stream.readline(MOST_LINE), b""), element.count)]
    if len(rows) < element.count:
        raise MeshFault("ply_short", f"{name} {len(rows) + 1}", name=name, count=element.count)
    return rows


def _text_vertices(rows: list[list[bytes]], element: _Element) -> NDArray[np.float64]:
    names = [one.name for one in element.properties]
    wrong = next((i for i, row in enumerate(rows) if len(row) != len(names)), None)
    if wrong is not None:
        raise MeshFault("ply_row", f"vertex {wrong + 1}", count=len(names))
    columns = [numbers([row[names.index(axis)] for row in rows], "vertices") for axis in (b"x", b"y", b"z")]
    return np.stack(columns, axis=1)


def _text_polygon(row: list[bytes], element: _Element, number: int) -> list[int]:
    """Return the corners of a facet; the words before and after its list belong to its other properties."""
    try:
        found: list[int] | None = None
        at = 0
        for one in element.properties:
            count = int(row[at]) if one.count_type else 0
            if one.name in _CORNERS and one.count_type:
                found = [int(word[:12]) for word in row[at + 1 : at + 1 + count]]
            at += 1 + max(count, 0)
        if found is None or at != len(row):
            raise ValueError
        return found
    except (ValueError, IndexError):
        raise MeshFault("ply_row", f"face {number}", count=len(element.properties)) from None


def _binary_rows(data: bytes, offset: int, elements: list[_Element], order: str) -> dict[bytes, Triangles]:
    found: dict[bytes, Triangles] = {}
    for element in _needed(elements):
        if element.name == b"face":
            found[element.name] = _binary_faces(data, offset, element, order)
            break
        record = np.dtype([(f"{i}", order + one.type) for i, one in enumerate(element.properties)])
        _check_length(data, offset, element, record)
        if element.name == b"vertex":
            rows = np.frombuffer(data, dtype=record, count=element.count, offset=offset)
            names = [one.name for one in element.properties]
            with np.errstate(invalid="ignore"):  # what is no number is refused with its place, not warned of
                columns = [rows[f"{names.index(axis)}"].astype(np.float64) for axis in (b"x", b"y", b"z")]
            found[element.name] = Triangles(np.stack(columns, axis=1), np.zeros((0, 3), dtype=np.int64))
        offset += element.count * record.itemsize
    return found


def _check_length(data: bytes, offset: int, element: _Element, record: np.dtype[np.void]) -> None:
    held = (len(data) - offset) // record.itemsize
    if held < element.count:
        name = element.name.decode("ascii", "replace")[:20]
        raise MeshFault("ply_short", f"{name} {held + 1}", name=name, count=element.count)


def _binary_faces(data: bytes, offset: int, element: _Element, order: str) -> Triangles:
    """Return the facets: at once where every list is of three, else one by one."""
    fields: list[tuple[str, str] | tuple[str, str, int]] = []
    for i, one in enumerate(element.properties):
        if one.count_type:
            fields += [(f"n{i}", order + one.count_type), (f"{i}", order + one.type, 3)]
        else:
            fields.append((f"{i}", order + one.type))
    record = np.dtype(fields)
    lists = [i for i, one in enumerate(element.properties) if one.count_type]
    corners = next(i for i in lists if element.properties[i].name in _CORNERS)
    if (len(data) - offset) // record.itemsize >= element.count:
        rows = np.frombuffer(data, dtype=record, count=element.count, offset=offset)
        if all((rows[f"n{i}"] == 3).all() for i in lists):
            return Triangles(np.zeros((0, 3)), rows[f"{corners}"].astype(np.int64))
    return Triangles(np.zeros((0, 3)), *fans(list(_binary_polygons(data, offset, element, order))))


def _binary_polygons(data: bytes, offset: int, element: _Element, order: str) -> Iterator[list[int]]:
    def take(kind: str, count: int, number: int) -> list[int]:
        nonlocal offset
        made = np.dtype(order + kind)
        if not 0 <= count <= MOST_CORNERS:
            raise MeshFault("corners", f"facet {number}", count=count, most=MOST_CORNERS)
        if offset + count * made.itemsize > len(data):
            raise MeshFault("ply_short", f"face {number}", name="face", count=element.count)
        found: list[int] = np.frombuffer(data, dtype=made, count=count, offset=offset).tolist()
        offset += count * made.itemsize
        return found

    for number in range(1, element.count + 1):
        corners: list[int] = []
        for one in element.properties:
            count = int(take(one.count_type, 1, number)[0]) if one.count_type else 1
            found = take(one.type, count, number)
            corners = found if one.name in _CORNERS else corners
        yield corners
