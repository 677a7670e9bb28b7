"""What kind of file some bytes are, told by what they are and never by a name. Nothing of them is decoded or drawn."""

import codecs
import re
from collections.abc import Mapping
from typing import Literal

MediaType = Literal[
    "image/png", "image/jpeg", "application/pdf", "model/stl", "model/ply", "model/obj", "application/dicom", "text/plain"
]
ENDINGS: Mapping[MediaType, str] = {
    "image/png": "png",
    "image/jpeg": "jpg",
    "application/pdf": "pdf",
    "model/stl": "stl",
    "model/ply": "ply",
    "model/obj": "obj",
    "application/dicom": "dcm",
    "text/plain": "txt",
}
_STARTS: tuple[tuple[bytes, MediaType], ...] = (
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"%PDF-", "application/pdf"),
    (b"ply\n", "model/ply"),
    (b"ply\r", "model/ply"),
)
_DICOM_AT, _DICOM = 128, b"DICM"
_LOOKED_AT = 4_096
_STL_HEAD, _STL_COUNT_AT, _STL_FACET = 84, 80, 50
_OBJ_STARTS = ("v", "vn", "vt", "f", "o", "g", "s", "mtllib", "usemtl")
_NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


class UnknownMedia(Exception):
    """The bytes are none of the kinds of file that are taken."""


class MediaLook:
    """Looks at the bytes of a file as they pass. Size and text are followed to the end; nothing is kept but the beginning."""

    def __init__(self) -> None:
        self.size = 0
        self._head = b""
        self._text = codecs.getincrementaldecoder("utf-8")()
        self._is_text = True

    def take(self, part: bytes) -> None:
        """Look at the next bytes. Raises UnknownMedia as soon as no kind is left."""
        self._head += part[: _LOOKED_AT - len(self._head)]
        self.size += len(part)
        self._follow(part, last=False)
        if len(self._head) == _LOOKED_AT and not (self._is_text or self._by_start() or self._stl_size() > self.size):
            self.found()

    def found(self) -> MediaType:
        """Return the kind of the whole file, once all of it has passed. Raises UnknownMedia."""
        started = self._by_start()
        if started is not None:
            return started
        if self.size == 0:
            raise UnknownMedia
        if self.size == self._stl_size():
            return "model/stl"
        self._follow(b"", last=True)
        if not self._is_text:
            raise UnknownMedia
        return self._kind_of_text()

    def _by_start(self) -> MediaType | None:
        if self._head[_DICOM_AT : _DICOM_AT + len(_DICOM)] == _DICOM:
            return "application/dicom"
        return next((kind for start, kind in _STARTS if self._head.startswith(start)), None)

    def _stl_size(self) -> int:
        """Return the size of the file if it is a binary STL; 0 where it is none."""
        if len(self._head) < _STL_HEAD:
            return 0
        return _STL_HEAD + _STL_FACET * int.from_bytes(self._head[_STL_COUNT_AT:_STL_HEAD], "little")

    def _follow(self, part: bytes, *, last: bool) -> None:
        if not self._is_text:
            return
        try:
            self._is_text = _NO_TEXT.search(self._text.decode(part, last)) is None
        except UnicodeDecodeError:
            self._is_text = False

    def _kind_of_text(self) -> MediaType:
        lines = (line.strip() for line in self._head.decode("utf-8", "ignore").lstrip("\ufeff").splitlines())
        first = next((line for line in lines if line and not line.startswith("#")), "")
        if first.split(" ")[0] == "solid" and "facet" in self._head.decode("utf-8", "ignore"):
            return "model/stl"
        return "model/obj" if first.split(" ")[0] in _OBJ_STARTS and len(first.split()) > 1 else "text/plain"
