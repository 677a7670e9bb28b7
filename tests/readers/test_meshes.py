"""Mesh files: every format gives the same triangles, a bad file one fault with its place, and any bytes nothing else."""

import struct
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collum.readers import MOST_FACETS, MeshFault, mesh_file, read_mesh, read_points
from tests.making.mesh_files import FORMATS, binary_ply, binary_stl, changed, obj, tetrahedron, text_ply, text_stl

VERTICES, FACES = tetrahedron()
CORNERS = VERTICES[FACES]


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_gives_the_same_triangles(name: str) -> None:
    found = read_mesh(FORMATS[name](VERTICES, FACES))
    assert (found.format, found.cut) == (name, 0)
    assert found.vertices[found.faces] == pytest.approx(CORNERS)


def test_both_byte_orders_of_ply_are_read() -> None:
    found = read_mesh(binary_ply(VERTICES, FACES, ">"))
    assert found.vertices[found.faces] == pytest.approx(CORNERS)


def test_a_binary_stl_that_begins_like_a_text_one_is_told_by_its_length() -> None:
    found = read_mesh(binary_stl(VERTICES, FACES, head=b"solid made by a scanner"))
    assert found.format == "STL, binary" and len(found.faces) == 4


def test_text_is_read_with_any_line_ends_case_and_blanks() -> None:
    plain = text_stl(VERTICES, FACES)
    for written in (plain.replace(b"\n", b"\r\n"), plain.upper(), plain.replace(b"  ", b"\t"), plain + plain):
        found = read_mesh(written)
        assert found.vertices[found.faces][:4] == pytest.approx(CORNERS)
    assert len(read_mesh(plain + plain).faces) == 8


def test_text_longer_than_a_block_is_read_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.readers.stl._BLOCK", 500)
    faces = np.tile(FACES, (10, 1))
    found = read_mesh(text_stl(VERTICES, faces))
    assert found.vertices[found.faces] == pytest.approx(VERTICES[faces])


def test_polygons_are_cut_into_triangles_and_counted() -> None:
    square = b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf -4 -3 -2 -1\n"
    found = read_mesh(square)
    assert found.cut == 1 and found.faces.tolist() == [[0, 1, 2], [0, 2, 3]]
    text = changed(text_ply(VERTICES, FACES), b"element face 4", b"element face 1").rsplit(b"3 0 2 1", 1)[0] + b"4 0 1 2 3\n"
    assert read_mesh(text).faces.tolist() == [[0, 1, 2], [0, 2, 3]]
    binary = changed(binary_ply(VERTICES, FACES[:1]), struct.pack("<B3i", 3, 0, 2, 1), struct.pack("<B4i", 4, 0, 1, 2, 3))
    assert read_mesh(binary).faces.tolist() == [[0, 1, 2], [0, 2, 3]]


def test_further_properties_and_elements_of_ply_are_passed_over() -> None:
    head = b"ply\nformat binary_little_endian 1.0\nelement camera 1\nproperty float f\nelement vertex 3\nproperty uchar red\n"
    head += b"property float z\nproperty float y\nproperty float x\nelement face 1\nproperty uchar flag\n"
    head += b"property list uchar uint vertex_index\nproperty float q\nelement edge 9\nproperty int a\nend_header\n"
    rows = struct.pack("<f", 7) + b"".join(struct.pack("<B3f", 9, 3 + i, 2 + i, 1 + i) for i in range(3))
    found = read_mesh(head + rows + struct.pack("<BB3If", 1, 3, 0, 1, 2, 0.5))
    assert found.vertices.tolist() == [[1, 2, 3], [2, 3, 4], [3, 4, 5]] and found.faces.tolist() == [[0, 1, 2]]


def test_the_columns_of_a_text_ply_are_known_by_their_names() -> None:
    head = (
        b"ply\nformat ascii 1.0\nelement vertex 3\nproperty uchar red\nproperty float z\nproperty float y\nproperty float x\n"
    )
    rows = b"element face 1\nproperty list uchar int vertex_index\nend_header\n9 3 2 1\n9 4 3 2\n9 5 4 3\n3 0 1 2\n"
    assert read_mesh(head + rows).vertices.tolist() == [[1, 2, 3], [2, 3, 4], [3, 4, 5]]


STL, TEXT, PLY, BINARY_PLY = (
    binary_stl(VERTICES, FACES),
    text_stl(VERTICES, FACES),
    text_ply(VERTICES, FACES),
    binary_ply(VERTICES, FACES),
)
OBJ = obj(VERTICES, FACES)
NAN = struct.pack("<f", float("nan"))
BAD: dict[str, tuple[bytes, str, str]] = {
    "empty": (b"", "empty", "file"),
    "garbage in bytes": (b"\x00\x01\x02\xff", "no_mesh", "file"),
    "garbage in text": (b"Dear colleague, here is the scan.\n" * 9, "no_mesh", "file"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(200), "stl_length", "header"),
    "STL cut short": (STL[:-30], "stl_length", "header"),
    "STL with more behind": (STL + b"xx", "stl_length", "header"),
    "STL with a huge count": (STL[:80] + struct.pack("<I", 2**32 - 1) + STL[84:], "stl_length", "header"),
    "STL without facets": (binary_stl(VERTICES, FACES[:0]), "no_facets", "file"),
    "STL with NaN": (STL[:96] + NAN + STL[100:], "not_finite", "vertex 1"),
    "text STL cut short": (TEXT[: len(TEXT) // 2], "no_end", "end"),
    "text STL with a facet cut": (changed(TEXT, b"  endfacet\nendsolid", b"endsolid"), "cut_short", "facet 4"),
    "text STL with a word for a number": (changed(TEXT, b"vertex 0.0", b"vertex zero"), "no_number", "facets 1 to 4"),
    "text STL with infinity": (changed(TEXT, b"vertex 0.0", b"vertex inf"), "not_finite", "vertex 1"),
    "text STL of four corners": (changed(TEXT, b"    endloop", b"    vertex 1 1 1\n    endloop"), "stl_words", "facet 1"),
    "text STL without facets": (b"solid x\nendsolid x\n", "no_facets", "file"),
    "PLY with a huge count": (changed(PLY, b"vertex 4", b"vertex 99999999999"), "too_many", "header"),
    "PLY with more rows than there are": (changed(PLY, b"vertex 4", b"vertex 40"), "ply_short", "vertex 9"),
    "binary PLY with more rows than there are": (changed(BINARY_PLY, b"vertex 4", b"vertex 4000"), "ply_short", "vertex 7"),
    "binary PLY with facets that are not there": (changed(BINARY_PLY, b"face 4", b"face 9"), "ply_short", "face 5"),
    "PLY without an end of its header": (PLY.replace(b"end_header", b"comment"), "ply_header", "line 11"),
    "PLY of an unknown type": (changed(PLY, b"property double x", b"property quad x"), "ply_header", "line 5"),
    "PLY of an unknown order": (changed(PLY, b"ascii", b"middle_endian"), "ply_header", "line 2"),
    "PLY without facets": (changed(PLY, b"element face", b"element edge"), "ply_elements", "header"),
    "PLY without z": (changed(PLY, b"double z", b"double w"), "ply_elements", "header"),
    "PLY with a point that is not there": (changed(PLY, b"3 0 2 1", b"3 0 2 7"), "no_such_vertex", "facet 1"),
    "PLY with a list that is too long": (changed(PLY, b"3 0 2 1", b"4 0 2 1"), "ply_row", "face 1"),
    "PLY with a row too short": (changed(PLY, b"5.0 0.0 0.0", b"5.0 0.0"), "ply_row", "vertex 2"),
    "PLY with a facet of two corners": (changed(PLY, b"3 0 2 1", b"2 0 2"), "corners", "facet 1"),
    "PLY with a point one past the last": (changed(PLY, b"3 0 2 1", b"3 0 2 4"), "no_such_vertex", "facet 1"),
    "OBJ of points alone": (OBJ.split(b"f ")[0].replace(b"s off\n", b""), "no_facets", "file"),
    "OBJ with index 0": (changed(OBJ, b"f 1//1", b"f 0//1"), "obj_index", "line 9"),
    "OBJ with a point that is not there": (changed(OBJ, b"f 1//1", b"f 9//1"), "no_such_vertex", "facet 1"),
    "OBJ that counts back too far": (changed(OBJ, b"f 1//1", b"f -9//1"), "no_such_vertex", "facet 1"),
    "OBJ with a line unknown": (changed(OBJ, b"s off", b"call other.obj"), "obj_line", "line 8"),
    "OBJ with a word for a number": (changed(OBJ, b"v 0.0", b"v nought"), "no_number", "vertices"),
    "OBJ with a long line": (changed(OBJ, b"vn 0 0 1", b"# " + b"m" * 20_000), "long_line", "line 7"),
}


@pytest.mark.parametrize(("data", "key", "where"), BAD.values(), ids=BAD.keys())
def test_a_bad_file_gives_its_fault_and_place(data: bytes, key: str, where: str) -> None:
    with pytest.raises(MeshFault) as found:
        read_mesh(data)
    assert (found.value.key, found.value.where) == (key, where)


def test_a_file_over_its_size_is_refused_unread(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_file, "MOST_BYTES", len(STL) - 1)
    with pytest.raises(MeshFault, match="too_large"):
        read_mesh(STL)


def test_more_facets_than_are_taken_are_refused_before_they_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.readers.triangles.MOST_FACETS", 3)
    for data in (STL, TEXT):
        with pytest.raises(MeshFault, match="too_many"):
            read_mesh(data)
    head = changed(BINARY_PLY, b"face 4", f"face {MOST_FACETS + 1}".encode())
    with pytest.raises(MeshFault, match="too_many"):
        read_mesh(head)


@given(st.binary(max_size=600))
@settings(max_examples=150, deadline=None)
def test_any_bytes_give_triangles_or_a_fault(data: bytes) -> None:
    _read(data)


@given(st.sampled_from(sorted(FORMATS)), st.data())
@settings(max_examples=250, deadline=None)
def test_a_file_with_any_bytes_changed_gives_triangles_or_a_fault(name: str, drawn: st.DataObject) -> None:
    written = bytearray(FORMATS[name](VERTICES, FACES))
    for _ in range(drawn.draw(st.integers(1, 4))):
        place = drawn.draw(st.integers(0, len(written) - 1))
        kind = drawn.draw(st.sampled_from(("change", "cut", "double")))
        if kind == "change":
            written[place] = drawn.draw(st.integers(0, 255))
        elif kind == "cut":
            del written[place : place + drawn.draw(st.integers(1, 40))]
        else:
            written[place:place] = written[place : place + 20]
        if not written:
            break
    _read(bytes(written))


def _read(data: bytes) -> None:
    try:
        found = read_mesh(data)
    except MeshFault:
        return
    assert np.isfinite(found.vertices).all() and len(found.faces)
    assert found.faces.min() >= 0 and found.faces.max() < len(found.vertices)


def test_points_of_a_line_are_read_with_any_parting_and_remarks() -> None:
    assert read_points(b"# line\n1 2 3\n\n4,5;-6e-1 # last\n") == ((1, 2, 3), (4, 5, -0.6))


@pytest.mark.parametrize(
    ("data", "where"),
    [(b"", "file"), (b"1 2\n", "line 1"), (b"1 2 3 4\n", "line 1"), (b"1 2 3\n1 2 x\n", "line 2"), (b"1" * 11_000, "line 1")],
)
def test_bad_points_are_refused_with_their_place(data: bytes, where: str) -> None:
    with pytest.raises(MeshFault) as found:
        read_points(data)
    assert found.value.where == where


@pytest.mark.parametrize("write", [binary_stl, binary_ply])
def test_a_number_that_signals_is_refused_without_a_warning(write: Callable[..., bytes]) -> None:
    """0x7fa00000 is a NaN of four bytes that a processor complains of when it is widened; warnings of ours are errors here."""
    if write is binary_stl:
        data = bytearray(write(VERTICES, FACES))
        data[84 + 12 : 84 + 16] = struct.pack("<I", 0x7FA00000)
    else:
        whole = write(VERTICES, FACES).replace(b"property double", b"property float ")
        head, _, body = whole.partition(b"end_header\n")
        four = b"".join(struct.pack("<f", mm) for mm in struct.unpack(f"<{3 * len(VERTICES)}d", body[: 24 * len(VERTICES)]))
        data = bytearray(head + b"end_header\n" + struct.pack("<I", 0x7FA00000) + four[4:] + body[24 * len(VERTICES) :])
    with pytest.raises(MeshFault) as refused:
        read_mesh(bytes(data))
    assert refused.value.key == "not_finite"
