"""The bridge sheet: will the bridge hold, with its span, the beds of its pontics, roots, rules and the abutments together.

It shows an answer that was worked out from the plans of all its abutments; below it says by which version of the program.
"""

from collections.abc import Collection, Sequence

from collum.papers.answer import Answer, worked_out
from collum.papers.bridge_bed import above_svg, bed_svg
from collum.papers.bridge_span import bending_drawn, life_size, span_svg
from collum.papers.bridge_tables import bridge_tables, share_words
from collum.papers.head import Content, PaperHead, PaperRefused, Plan, head_content, mm
from collum.wire.bridge.document import BridgeDocument, PonticDocument, RoomDocument
from collum.wording import side_name, text

_TITLES = (
    "lacks",
    "to_weigh",
    "help",
    "units",
    "connectors",
    "roots",
    "rules",
    "abutments",
    "assumed",
    "not_assessed",
    "numbers",
)
_SIDES = ("mesial", "distal", "facial", "oral")
_HINDMOST_FRONT = 3


def bridge_shown(bridges: Sequence[Collection[int]], number: int) -> int:
    """Return which bridge, each given by its teeth, a tooth is part of, else the only one. Raises PaperRefused for none."""
    if not bridges:
        raise PaperRefused(text("paper.bridge.none"))
    for index, teeth in enumerate(bridges):
        if number in teeth:
            return index
    if len(bridges) > 1:
        raise PaperRefused(text("paper.bridge.of_no_tooth", {"number": number}))
    return 0


def bridge_content(plan: Plan, tooth: Plan, found: BridgeDocument, answer: Answer, head: PaperHead) -> Content:
    """Return what stands on the sheet."""
    assert found.room is not None and found.verdict is not None and found.earliest is not None
    drawn: dict[str, str | float] = {"factor": bending_drawn(found), "scale": f"{life_size(found):.1f}"}
    return {
        **head_content(plan, tooth, head, "bridge", None),
        **bridge_tables(found, answer),
        "number": text("paper.bridge.number", {"first": found.units[0].number, "last": found.units[-1].number}),
        "name": text("paper.bridge.name", {"material": text(f"bridge.material.{found.material}")}),
        "titles": {name: text(f"paper.bridge.heading.{name}") for name in _TITLES},
        "verdict_line": text(f"paper.bridge.verdict.{found.verdict.replace(' ', '_')}"),
        "answer": [sentence.text for sentence in found.answer],
        "lacks": [sentence.text for sentence in found.lacks],
        "to_weigh": [sentence.text for sentence in found.to_weigh],
        "help": [sentence.text for sentence in found.what_would_help],
        "span_said": text("paper.bridge.span_said", drawn),
        "weakest": None if found.weakest_is is None else found.weakest_is.text,
        "above_said": text("paper.bridge.above_said") if _curved(found) else None,
        "pontics": [_pontic(one, found.room, one in _drawn(found)) for one in found.pontics],
        "bed_said": text("paper.bridge.bed_said"),
        "area": text(f"bridge.area.{found.area_verdict}"),
        "table_dependent": text("paper.bridge.table_dependent"),
        "earliest": found.earliest.text,
        "path_said": text("paper.bridge.path_said", {"tilt_deg": found.path[0].tilt_deg}),
        "assumed": [sentence.text for sentence in found.assumed],
        "not_assessed": [sentence.text for sentence in found.not_assessed] or [text("paper.restoration.nothing_more")],
        "worked_out": worked_out(answer),
    }


def bridge_drawings(found: BridgeDocument) -> dict[str, str]:
    """Return the drawings by name: the span, the curve from above where there is one, and one of each pontic."""
    assert found.room is not None
    shares = {str(unit.number): share_words(unit.chewing_share) for unit in found.units if unit.chewing_share is not None}
    heights = {name: text(f"paper.bridge.room.{name}", {"mm": mm(length)}) for name, length in _heights(found.room)}
    drawings = {"span": span_svg(found, shares)}
    if _curved(found):
        drawings["above"] = above_svg(found)
    return drawings | {_bed(one): bed_svg(one, found.room, {**_points(one.number), **heights}) for one in _drawn(found)}


def _points(number: int) -> dict[str, str]:
    """Return the names of the points of a ridge under a pontic."""
    return {"middle": text("bridge.point.middle"), **{side: side_name(side, number) for side in _SIDES}}


def _curved(found: BridgeDocument) -> bool:
    return any(unit.number % 10 <= _HINDMOST_FRONT for unit in found.units)


def _heights(room: RoomDocument) -> list[tuple[str, float]]:
    known = [("least", room.least_mm), ("wanted", room.wanted_mm)]
    return known if room.room_mm is None else [*known, ("there", room.room_mm)]


def _drawn(found: BridgeDocument) -> list[PonticDocument]:
    """Return the pontics that are drawn: those with readings under them, and the first for its room."""
    return [one for i, one in enumerate(found.pontics) if i == 0 or one.depth_mm is not None]


def _bed(pontic: PonticDocument) -> str:
    return f"bed_{pontic.number}"


def _pontic(pontic: PonticDocument, room: RoomDocument, drawn: bool) -> Content:
    lines = [
        pontic.answer.text,
        text(f"bridge.room.{room.verdict}", {"least_mm": room.least_mm, "wanted_mm": room.wanted_mm}),
        pontic.ridge_is.text,
    ]
    if pontic.ways_out:
        ways = "; ".join(way.text for way in pontic.ways_out)
        lines.append(text("cli.bridge.ways_out", {"number": pontic.number, "ways": ways}))
    return {
        "title": text("paper.bridge.pontic", {"number": pontic.number}),
        "lines": lines,
        "drawing": _bed(pontic) if drawn else None,
    }
