"""Whether restorations will hold, for reading in a terminal: words and tables that hold at 100 columns and without colour."""

from collections.abc import Iterable, Sequence
from typing import Literal

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from collum.plan.document import SentenceDocument
from collum.plan.restoration import RestorationsDocument, RouteRestorationDocument, ToothRestorationDocument
from collum.wording import text

_COLUMNS = 100


def print_restorations(found: RestorationsDocument) -> None:
    """Print the answers to the standard output, without colour or padding."""
    console = Console(width=_COLUMNS, highlight=False, markup=False, emoji=False, no_color=True, force_terminal=False)
    with console.capture() as captured:
        for tooth in found.teeth:
            _print_tooth(console, found, tooth)
        _print_list(console, "limits", found.limits)
        console.print()
        console.print(Text(found.safety_reason.text))
    print("\n".join(line.rstrip() for line in captured.get().splitlines()))


def _print_tooth(console: Console, found: RestorationsDocument, tooth: ToothRestorationDocument) -> None:
    named: dict[str, str | int] = {
        "reference": found.case_reference,
        "number": tooth.number,
        "universal": tooth.universal,
        "name": tooth.name.text,
    }
    console.print(Text(text("cli.restoration.head", named)))
    if found.invented:
        console.print(Text(text("cli.plan.invented")))
    console.print(Text(tooth.because.text))
    for route in tooth.routes:
        _print_route(console, route)
    _print_table(console, "support", _support(tooth))
    _print_list(console, "old_crown", _old_crown(tooth))
    _print_list(console, "assumed", tooth.assumed)
    _print_list(console, "not_assessed", tooth.not_assessed)


def _print_route(console: Console, route: RouteRestorationDocument) -> None:
    _print_list(console, "answer", route.answer)
    _print_table(console, "parts", _parts(route))
    if route.stump is not None:
        _print_table(console, "changes", _changes(route))
        _print_table(console, "retention", _retention(route))
    _print_table(console, "ferrule", _ferrule(route))
    _print_list(console, "optimum", _optimum(route))
    _print_list(console, "posts", _posts(route))
    if route.pins:
        _print_table(console, "pins", _pins(route))
    _print_table(console, "materials", _materials(route))
    _print_list(console, "laboratory", route.laboratory)


def _parts(route: RouteRestorationDocument) -> Table:
    table = _table(("question", "verdict", "chance", "because"), words=2)
    for part in route.parts:
        chance = text("cli.plan.none") if part.probability is None else text("cli.restoration.chance", {"p": part.probability})
        table.add_row(
            text(f"restoration.question.{part.id}"),
            text(f"restoration.verdict.{_key(part.verdict)}"),
            chance,
            " ".join(sentence.text for sentence in part.said),
        )
    return table


def _changes(route: RouteRestorationDocument) -> Table:
    table = _table(("change", "share", "more", "costs"), words=1)
    assert route.stump is not None
    for gain in route.stump.gains:
        table.add_row(gain.said.text, _percent(gain.share), _one(gain.gained_mm2), _one(gain.removed_mm3))
    return table


def _retention(route: RouteRestorationDocument) -> Table:
    table = _table(("cement", "force", "known"), words=1)
    for one in route.retention:
        table.add_row(
            text(f"restoration.cement.{one.cement}"),
            text("cli.restoration.range", {"low": f"{one.low_n:.0f}", "high": f"{one.high_n:.0f}"}),
            text(f"restoration.status.{one.status}"),
        )
    return table


def _ferrule(route: RouteRestorationDocument) -> Table:
    table = _table(("at", "height", "wall", "counts", "load", "state"), words=1)
    for sector in route.ferrule.sectors:
        table.add_row(
            text("cli.restoration.at", {"at_deg": sector.centre_deg}),
            _one(sector.height_mm),
            _one(sector.wall_left_mm),
            _one(sector.counted_mm),
            text("cli.restoration.loaded" if sector.loaded else "cli.plan.none"),
            text(f"restoration.sector.{_key(sector.state)}"),
        )
    return table


def _optimum(route: RouteRestorationDocument) -> list[str]:
    return [sentence.text for sentence in (*(one.said for one in route.ferrule.optimum), *route.ferrule.optimum_said)]


def _posts(route: RouteRestorationDocument) -> list[str]:
    lines = []
    for post in route.posts:
        told = " ".join(sentence.text for sentence in (*post.said, *(opener.said for opener in post.openers)))
        lines.append(text("cli.restoration.post", {"root": text(f"restoration.root.{post.root}"), "said": told}))
    return lines


def _pins(route: RouteRestorationDocument) -> Table:
    table = _table(("size", "number", "depth", "core", "state"), words=0)
    for pins in route.pins:
        table.add_row(
            text("cli.restoration.hundredths", {"mm": pins.diameter_mm}),
            str(len(pins.pins)),
            _one(pins.in_dentine_mm),
            _one(pins.core_mm),
            text(f"restoration.enough.{_key(pins.state)}"),
        )
    return table


def _materials(route: RouteRestorationDocument) -> Table:
    table = _table(("material", "line", "axial", "occlusal", "height", "lacks", "across", "hazard"), words=1)
    for one in route.materials:
        table.add_row(
            text(f"restoration.material.{one.material}"),
            _one(one.finish_line_mm),
            _one(one.axial_mm),
            _one(one.occlusal_mm),
            _one(one.height_mm),
            _one(one.height_short_mm),
            _one(min(one.across_facial_oral_mm, one.across_mesiodistal_mm)),
            text(f"restoration.hazard.{_key(one.hazard)}"),
        )
    return table


def _support(tooth: ToothRestorationDocument) -> Table:
    table = _table(("route", "ratio", "norm", "attached", "furcation", "grade"), words=1)
    for one in tooth.support:
        rooms = [furcation.finish_mm for furcation in one.furcations]
        ratio = text("cli.plan.none")
        if one.ratio_before is not None and one.ratio_after is not None:
            ratio = text("cli.restoration.to", {"before": one.ratio_before, "after": one.ratio_after})
        table.add_row(
            one.route,
            ratio,
            text("cli.plan.none") if one.norm is None else text("cli.restoration.hundredths", {"mm": one.norm}),
            text("cli.restoration.to", {"before": one.attached_before, "after": one.attached_after}),
            _one(min(rooms, default=None)),
            text(f"restoration.grade.{_key(one.grade_after)}"),
        )
    return table


def _old_crown(tooth: ToothRestorationDocument) -> list[str]:
    if tooth.old_crown is None:
        return []
    grounds = [
        text("cli.restoration.ground", {"side": text(f"restoration.side.{_key(one.side)}"), "said": one.said.text})
        for one in tooth.old_crown.grounds
    ]
    return [*grounds, *(sentence.text for sentence in tooth.old_crown.said)]


def _table(columns: Sequence[str], *, words: int) -> Table:
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1))
    left = ("because", "state", "known", "hazard", "grade")
    for i, name in enumerate(columns):
        justify: Literal["left", "right"] = "left" if i < words or name in left else "right"
        table.add_column(text(f"cli.restoration.column.{name}"), justify=justify, vertical="bottom")
    return table


def _print_table(console: Console, title: str, table: Table) -> None:
    if table.row_count:
        console.print()
        console.print(Text(text(f"cli.restoration.title.{title}")))
        console.print(table)


def _print_list(console: Console, title: str, lines: Iterable[SentenceDocument | str]) -> None:
    told = [line if isinstance(line, str) else line.text for line in lines]
    if told:
        console.print()
        console.print(Text(text(f"cli.restoration.title.{title}")))
        for line in told:
            console.print(Text(f"  · {line}"))


def _key(word: str) -> str:
    return word.replace(",", "_").replace(" ", "_")


def _percent(share: float | None) -> str:
    return text("cli.plan.none") if share is None else f"{100 * share:.0f}"


def _one(number: float | None) -> str:
    return text("cli.plan.none") if number is None else text("cli.plan.mm", {"mm": number})
