"""Heat and pacing for reading in a terminal: words and tables that hold at 100 columns and without colour."""

from collections.abc import Iterable, Sequence

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from collum.plan.heat.chair import percent
from collum.plan.heat.document import HeatDocument, RoundDocument, ToothHeatDocument
from collum.wording import text

_COLUMNS = 100


def print_heat(heat: HeatDocument) -> None:
    """Print heat and pacing to the standard output, without colour or padding."""
    console = Console(width=_COLUMNS, highlight=False, markup=False, emoji=False, no_color=True, force_terminal=False)
    with console.capture() as captured:
        _print(console, heat)
    print("\n".join(line.rstrip() for line in captured.get().splitlines()))


def _print(console: Console, heat: HeatDocument) -> None:
    for tooth in heat.teeth:
        head: dict[str, str | int] = {
            "reference": heat.case_reference,
            "number": tooth.number,
            "universal": tooth.universal,
            "name": tooth.name.text,
        }
        console.print(Text(text("cli.heat.head", head)))
        if heat.invented:
            console.print(Text(text("cli.plan.invented")))
        _print_tooth(console, tooth)
    _print_list(console, text("cli.heat.assumptions"), [sentence.text for sentence in heat.assumptions])
    console.print()
    console.print(Text(heat.no_card.text))
    console.print(Text(heat.safety_reason.text))


def _print_tooth(console: Console, tooth: ToothHeatDocument) -> None:
    _print_list(console, text("cli.heat.answer"), [sentence.text for sentence in tooth.answer])
    _print_list(console, text("cli.heat.kept_out"), [one.text.text for one in tooth.kept_out])
    if tooth.round is not None:
        _print_table(console, "strokes", _strokes(tooth, tooth.round))
    if tooth.sectors:
        _print_table(console, "sectors", _sectors(tooth))
    if tooth.round is not None:
        _print_table(console, "organs", _organs(tooth.round))
    if tooth.by_passes:
        _print_table(console, "by_passes", _by_passes(tooth))
    _print_list(console, text("cli.heat.remember"), _remembered(tooth))


def _strokes(tooth: ToothHeatDocument, planned: RoundDocument) -> Table:
    table = _table(("stroke", "place", "pass", "start", "wait", "direction"))
    for number, stroke in enumerate(planned.strokes, start=1):
        sector = tooth.sectors[stroke.sector]
        table.add_row(
            str(number),
            text("cli.heat.place", {"number": sector.number + 1, "centre_deg": sector.centre_deg}),
            str(stroke.number),
            _seconds(stroke.start_s),
            _seconds(stroke.wait_s),
            text("cli.heat.direction", {"from_deg": sector.from_deg, "to_deg": sector.to_deg}),
        )
    return table


def _sectors(tooth: ToothHeatDocument) -> Table:
    table = _table(("place", "form", "length", "rest", "over_bone"))
    for sector in tooth.sectors:
        table.add_row(
            text("cli.heat.place", {"number": sector.number + 1, "centre_deg": sector.centre_deg}),
            text(f"cli.heat.form.{sector.form.replace(' ', '_')}") if sector.passes else text("cli.heat.left_out"),
            text("cli.heat.length", {"length_mm": sector.length_mm}),
            text("cli.heat.rests", {"first_s": sector.rest_s, "later_s": sector.rest_repeat_s}),
            text("cli.heat.length", {"length_mm": sector.tissue_over_bone_mm}),
        )
    return table


def _organs(planned: RoundDocument) -> Table:
    table = _table(("organ", "low", "middle", "high", "at"))
    for organ in planned.organs:
        shares = [_percent(share) for share in (organ.low, organ.middle, organ.high)]
        table.add_row(text(f"cli.heat.organ.{organ.organ}"), *shares, text("cli.heat.at", {"worst_deg": organ.worst_deg}))
    return table


def _by_passes(tooth: ToothHeatDocument) -> Table:
    table = _table(("passes", "duration", "waiting", "worst", "high", "middle_duration"))
    for row in tooth.by_passes:
        table.add_row(
            str(row.passes),
            text("cli.heat.no_round") if row.duration_s is None else _seconds(row.duration_s),
            text("cli.heat.none") if row.waiting_s is None else _seconds(row.waiting_s),
            text(f"cli.heat.organ.{row.worst_organ}"),
            text("cli.heat.none") if row.worst_share is None else _percent(row.worst_share),
            text("cli.heat.no_round") if row.middle_duration_s is None else _seconds(row.middle_duration_s),
        )
    return table


def _remembered(tooth: ToothHeatDocument) -> list[str]:
    """Return reminders and remarks, each once, those of places with their numbers."""
    places: dict[str, list[str]] = {}
    for sector in tooth.sectors:
        for remark in sector.remarks:
            places.setdefault(remark.text, []).append(str(sector.number + 1))
    at = [text("cli.heat.at_places", {"numbers": ", ".join(numbers), "remark": remark}) for remark, numbers in places.items()]
    return [*(sentence.text for sentence in tooth.reminders), *at]


def _table(columns: Sequence[str]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1))
    for name in columns:
        left = name in ("place", "form", "organ", "worst", "direction", "at")
        table.add_column(text(f"cli.heat.column.{name}"), justify="left" if left else "right", vertical="bottom")
    return table


def _print_table(console: Console, title: str, table: Table) -> None:
    console.print()
    console.print(Text(text(f"cli.heat.{title}")))
    console.print(table)


def _print_list(console: Console, title: str, lines: Iterable[str]) -> None:
    shown = list(lines)
    if not shown:
        return
    console.print()
    console.print(Text(title))
    table = Table(box=None, show_header=False, padding=(0, 1, 0, 0), pad_edge=False)
    for line in shown:
        table.add_row(Text("  ·"), Text(line))
    console.print(table)


def _seconds(time_s: float) -> str:
    return text("cli.heat.seconds", {"time_s": f"{time_s:.1f}"})


def _percent(share: float) -> str:
    return text("cli.heat.percent", {"percent": percent(share)})
