"""From the bytes of a case file to a checked Case, or to all its faults at once.

Order: bytes to a plain document (size, text, duplicate keys, depth), format number, shapes, then what only the whole can
tell (list lengths, tooth numbers, a sounding shorter than the probing depth, hard floors).
"""

import json
import re
import tomllib
from typing import Literal, cast, get_args

from collum.case.document_to_case import case_of
from collum.case.faults import CaseFaults, Finder, Said, fault, said
from collum.case.layout import CASE, FORMAT_NUMBER
from collum.case.model import Case
from collum.case.places import with_places
from collum.case.shapes import Json
from collum.case.upgrade import upgraded

MOST_BYTES = 1_000_000
MOST_DEPTH = 12
MOST_VALUES = 50_000
MOST_DIGITS = 9
_LONG_DOTTED_KEY = re.compile(r"""(?:\.[ \t]*+(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+){40}""")


Kind = Literal["toml", "json"]


def kind_of(name: str, data: bytes) -> Kind:
    """Return the form of a case file: by the ending of its name, else by its first character."""
    for kind in get_args(Kind):
        if name.lower().endswith(f".{kind}"):
            return cast(Kind, kind)
    return "json" if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{" else "toml"


def read(data: bytes, *, kind: Kind) -> Case:
    """Return the case in `data`. Raises CaseFaults with every fault."""
    return from_document(parse(data, kind=kind))


def from_document(document: Json) -> Case:
    """Return the case of a plain document. Raises CaseFaults with every fault."""
    finder = Finder()
    document = _of_this_format(document, finder)
    if finder.faults:
        raise CaseFaults(tuple(finder.faults))
    checked = CASE.check(document, "", finder)
    case = case_of(checked or {}, finder)
    if finder.faults:
        raise CaseFaults(with_places(finder.faults, checked))
    assert case is not None
    return case


def parse(data: bytes, *, kind: Kind) -> Json:
    """Return the plain document in `data`, refusing what no case file holds."""
    if len(data) > MOST_BYTES:
        raise _refused(said("what.too_large"), said("allowed.bytes", most=MOST_BYTES))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(said("what.not_utf8"), said("allowed.utf8")) from None
    if kind == "toml" and _LONG_DOTTED_KEY.search(text):  # before parsing: its time grows with the square of the length
        raise _refused(said("what.too_deep"), said("allowed.depth", most=MOST_DEPTH))
    try:
        document = (
            tomllib.loads(text)
            if kind == "toml"
            else json.loads(text, object_pairs_hook=_no_duplicates, parse_constant=_no_constant)
        )
    except CaseFaults:
        raise
    except RecursionError:
        raise _refused(said("what.too_deep"), said("allowed.depth", most=MOST_DEPTH)) from None
    except ValueError as error:
        detail = "".join(c for c in str(error)[:120] if c.isprintable())
        raise _refused(said(f"what.not_{kind}", detail=detail), said(f"allowed.{kind}")) from None
    _limit(document)
    return document


def _no_duplicates(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    table: dict[str, Json] = {}
    for key, value in pairs:
        if key in table:
            raise _refused(said("what.duplicate_key"), said("allowed.once"), where=key[:40])
        table[key] = value
    return table


def _no_constant(name: str) -> Json:
    raise _refused(said("what.not_finite"), said("allowed.finite"), found=name)


def _limit(document: Json) -> None:
    """Refuse a document that is nested too deeply or holds too many values."""
    level, count = [document], 0
    for _ in range(MOST_DEPTH + 1):
        count += len(level)
        if count > MOST_VALUES:
            raise _refused(said("what.too_many"), said("allowed.values", most=MOST_VALUES))
        below: list[Json] = []
        for value in level:
            below += list(value.values()) if isinstance(value, dict) else value if isinstance(value, list) else []
        if not below:
            return
        level = below
    raise _refused(said("what.too_deep"), said("allowed.depth", most=MOST_DEPTH))


def _of_this_format(document: Json, finder: Finder) -> Json:
    """Return the document raised to today's format number."""
    allowed = said("allowed.format", number=FORMAT_NUMBER)
    if not isinstance(document, dict):
        finder.add("file", said("what.not_a_table"), allowed)
        return document
    mark = document.get("format")
    name, _, number = mark.partition("/") if isinstance(mark, str) else ("", "", "")
    if name != "collum-case" or not re.fullmatch(f"[1-9][0-9]{{0,{MOST_DIGITS}}}", number):
        finder.add("format", said("what.missing" if mark is None else "what.not_a_format"), allowed, mark)
    elif int(number) > FORMAT_NUMBER:
        finder.add("format", said("what.newer_format"), allowed, mark)
    else:
        return upgraded(document, int(number))
    return document


def _refused(what: Said, allowed: Said, *, where: str = "file", found: object = None) -> CaseFaults:
    return CaseFaults((fault(where, what, allowed, found),))
