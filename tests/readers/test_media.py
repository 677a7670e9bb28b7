"""The kind of a file is told by what it is, however it comes, and what is none of those taken is refused early."""

import numpy as np
import pytest

from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.readers import MediaLook, MediaType, UnknownMedia
from tests.making.mesh_files import binary_stl, obj

MESH = preparation_mesh(
    PreparationDesign(
        facial_oral_mm=9, mesiodistal_mm=7, height_mm=4.5, convergence_facial_oral_deg=12, convergence_mesiodistal_deg=16
    ),
    around=24,
    levels=4,
)
STL = binary_stl(MESH.vertices_mm, MESH.faces)
NOISE = np.random.default_rng(5).bytes(9_000)
KNOWN: dict[str, tuple[bytes, MediaType]] = {
    "png": (b"\x89PNG\r\n\x1a\n" + NOISE, "image/png"),
    "jpeg": (b"\xff\xd8\xff\xe0" + NOISE, "image/jpeg"),
    "pdf": (b"%PDF-1.7\n" + NOISE, "application/pdf"),
    "binary stl": (STL, "model/stl"),
    "binary stl that begins as a text one": (b"solid" + STL[5:], "model/stl"),
    "text stl": (b"solid a\n facet normal 0 0 1\n" * 300, "model/stl"),
    "ply": (b"ply\nformat binary_little_endian 1.0\n" + NOISE, "model/ply"),
    "obj": (b"\xef\xbb\xbf# made\n\n" + obj(MESH.vertices_mm, MESH.faces), "model/obj"),
    "dicom": (bytes(128) + b"DICM" + NOISE, "application/dicom"),
    "text": ("Größe: 3 mm\n".encode() * 2_000, "text/plain"),
    "text that begins like a model": (b"v for the vestibular side\n".replace(b"v ", b"via "), "text/plain"),
    "html is text": (b"<script>alert(1)</script>", "text/plain"),
}
UNKNOWN = {
    "nothing": b"",
    "noise": NOISE,
    "archive": b"PK\x03\x04" + NOISE,
    "program": b"\x7fELF" + NOISE,
    "stl cut off": STL[:-1],
    "stl with more": STL + b"x",
    "text with a zero": b"a" * 9_000 + b"\0",
    "latin 1": "Größe".encode("latin-1"),
    "half a character": "ö".encode()[:1],
    "png that ends early": b"\x89PNG\r\n",
}


def look(content: bytes, size: int) -> MediaType:
    looked = MediaLook()
    for start in range(0, len(content), size):
        looked.take(content[start : start + size])
    return looked.found()


@pytest.mark.parametrize(("content", "kind"), KNOWN.values(), ids=KNOWN.keys())
def test_each_kind_is_known_in_parts_of_any_size(content: bytes, kind: MediaType) -> None:
    assert {look(content, size) for size in (1, 97, 4_096, len(content))} == {kind}


@pytest.mark.parametrize("content", UNKNOWN.values(), ids=UNKNOWN.keys())
def test_what_is_none_of_them_is_refused(content: bytes) -> None:
    for size in (1, 97, 100_000):
        with pytest.raises(UnknownMedia):
            look(content, size)


def test_what_cannot_become_one_of_them_is_refused_before_its_end() -> None:
    looked = MediaLook()
    with pytest.raises(UnknownMedia):
        looked.take(b"PK\x03\x04" + bytes(80) + NOISE)
