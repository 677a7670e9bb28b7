"""The plan of a case for reading in a terminal: words and tables that hold at 100 columns and without colour."""

import os
import sys
from collections.abc import Iterable

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from collum.plan.document import PlanDocument, RequirementDocument, RouteDocument, SiteDocument, ToothDocument
from collum.wording import text

_MOST_COLUMNS = 100


def print_plan(plan: PlanDocument) -> None:
    """Print a plan to the standard output, without colour or padding where that is no terminal."""
    console = _console()
    if console.is_terminal:
        _print(console, plan)
        return
    with console.capture() as captured:
        _print(console, plan)
    print("\n".join(line.rstrip() for line in captured.get().splitlines()))


def _console() -> Console:
    plain = bool(os.environ.get("NO_COLOR")) or not sys.stdout.isatty()
    width = min(Console().width, _MOST_COLUMNS) if sys.stdout.isatty() else _MOST_COLUMNS
    return Console(
        file=sys.stdout, width=width, highlight=False, markup=False, emoji=False, force_terminal=not plain, no_color=plain
    )


def _print(console: Console, plan: PlanDocument) -> None:
    for tooth in plan.teeth:
        _print_tooth(console, plan, tooth)
    _print_list(console, text("cli.plan.cautions"), [caution.text for caution in plan.cautions])
    console.print()
    _line(console, plan.safety_reason.text, style="bold" if plan.safety_cleared else "bold reverse")
    _line(console, text("cli.plan.seed", {"seed": plan.seed, "draws": plan.draws, "version": plan.program_version}))


def _print_tooth(console: Console, plan: PlanDocument, tooth: ToothDocument) -> None:
    head: dict[str, str | int] = {
        "reference": plan.case_reference,
        "number": tooth.number,
        "universal": tooth.universal,
        "name": tooth.name.text,
        "role": text(f"cli.role.{tooth.role}"),
    }
    _line(console, text("cli.plan.head", head), style="bold")
    if plan.invented:
        _line(console, text("cli.plan.invented"))
    for route in tooth.routes:
        _print_route(console, tooth, route)
    doubts = [*(odd.reason.text for odd in tooth.odd_readings), *(question.text for question in tooth.questions)]
    _print_list(console, text("cli.plan.doubts"), doubts)


def _print_route(console: Console, tooth: ToothDocument, route: RouteDocument) -> None:
    console.print()
    console.print(_pairs(_answer(tooth, route)))
    _print_list(console, text("cli.plan.why"), [sentence.text for sentence in route.explanation])
    if route.requirements:
        _title(console, text("cli.plan.requirements"))
        console.print(_requirements(route.requirements))
    if route.sites:
        _title(console, text("cli.plan.sites"))
        console.print(_sites(route.sites))
    if route.finish_line is not None and route.earliest_final_weeks is not None:
        console.print()
        _line(console, text("cli.plan.finish", {"weeks": route.earliest_final_weeks}))


def _answer(tooth: ToothDocument, route: RouteDocument) -> list[tuple[str, str]]:
    """Return what the dentist asked for first: the route, its verdict, what decides it, what is recommended."""
    verdict = route.verdict.upper()
    if route.joint_probability is not None:
        verdict = text("cli.plan.verdict_with_chance", {"verdict": verdict, "probability": route.joint_probability})
    rows = [(text("cli.plan.route"), route.name), (text("cli.plan.verdict"), verdict)]
    if route.closed_by is not None:
        rows.append((text("cli.plan.closed_by"), route.closed_by.reason.text))
        if route.closed_by.least_change is not None:
            rows.append((text("cli.plan.least_change"), route.closed_by.least_change.text))
    because = tooth.recommended_because.text
    if tooth.recommended_route is not None:
        because = text("cli.plan.recommended_route", {"route": tooth.recommended_route, "because": because})
    rows.append((text("cli.plan.recommended"), because))
    return rows + [(text("cli.plan.last_resort"), sentence.text) for sentence in tooth.last_resort]


def _requirements(requirements: Iterable[RequirementDocument]) -> Table:
    table = _table(("requirement", "verdict", "value", "limit", "at", "chance", "short_by"), numbers_from=2)
    for row in requirements:
        table.add_row(
            text(f"paper.requirement.{row.id}"),
            row.verdict,
            _mm(row.value),
            _mm(row.limit),
            _filled("at", station_deg=row.worst_station_deg),
            _filled("chance", share=row.probability),
            _mm(row.short_by_mm),
        )
    return table


def _sites(sites: Iterable[SiteDocument]) -> Table:
    table = _table(("site", "cut", "lasting", "finish", "bone", "bone_nearest", "remark"), numbers_from=1, words_last=True)
    for row in sites:
        remark = "" if row.cut else text("cli.plan.remark.no_cut")
        table.add_row(
            _filled("site", site=row.site),
            _mm(row.stop_from_margin_mm) if row.cut else text("cli.plan.none"),
            _mm(row.lasting_gain_mm),
            _mm(row.finish_to_margin_mm),
            _mm(row.bone_from_margin_mm),
            _mm(row.bone_nearest_from_margin_mm),
            text("cli.plan.remark.will_not_last") if row.will_not_last else remark,
        )
    return table


def _table(columns: tuple[str, ...], *, numbers_from: int, words_last: bool = False) -> Table:
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1), header_style="bold")
    for i, name in enumerate(columns):
        words = i < numbers_from or (words_last and i == len(columns) - 1)
        heading = text(f"cli.plan.column.{name}")
        table.add_column(heading, justify="left" if words else "right", vertical="bottom", no_wrap=i in (0, len(columns) - 1))
    return table


def _pairs(rows: Iterable[tuple[str, str]]) -> Table:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(no_wrap=True)
    table.add_column()
    for name, words in rows:
        table.add_row(Text(name), Text(words, style="bold" if name == text("cli.plan.verdict") else ""))
    return table


def _print_list(console: Console, title: str, lines: list[str]) -> None:
    if lines:
        _title(console, title)
        table = Table(box=None, show_header=False, padding=(0, 1, 0, 0), pad_edge=False)
        for line in lines:
            table.add_row(Text("  ·"), Text(line))
        console.print(table)


def _title(console: Console, title: str) -> None:
    console.print()
    _line(console, title, style="bold")


def _line(console: Console, words: str, *, style: str = "") -> None:
    console.print(Text(words, style=style))


def _mm(mm: float | None) -> str:
    return _filled("mm", mm=mm)


def _filled(key: str, **parameter: float | str | None) -> str:
    """Return a value in the words of `cli.plan.<key>`, a dash where it is unknown."""
    given = {name: value for name, value in parameter.items() if value is not None}
    return text(f"cli.plan.{key}", given) if given else text("cli.plan.none")
