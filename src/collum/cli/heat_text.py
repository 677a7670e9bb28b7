"""Heat and pacing for reading in a terminal."""

from collections.abc import Sequence

from rich.table import Table

from collum.cli.figures import head_of, print_head
from collum.cli.page import Page, new_table, print_page
from collum.wire.heat.chair import percent
from collum.wire.heat.document import HeatDocument, RoundDocument, ToothHeatDocument
from collum.wording import text


def print_heat(heat: HeatDocument) -> None:
    """Print heat and pacing to the standard output."""
    print_page(lambda page: _print(page, heat))


def _print(page: Page, heat: HeatDocument) -> None:
    for tooth in heat.teeth:
        print_head(page, text("cli.heat.head", head_of(heat, tooth)), heat)
        _print_tooth(page, tooth)
    page.listed(text("cli.heat.assumptions"), [sentence.text for sentence in heat.assumptions])
    page.gap()
    page.line(heat.no_card.text)
    page.line(heat.safety_reason.text)


def _print_tooth(page: Page, tooth: ToothHeatDocument) -> None:
    page.listed(text("cli.heat.answer"), [sentence.text for sentence in tooth.answer])
    page.listed(text("cli.heat.kept_out"), [one.text.text for one in tooth.kept_out])
    page.listed(text("cli.heat.groups"), [group.text.text for group in tooth.groups])
    if tooth.round is not None:
        page.table(_strokes(tooth, tooth.round), text("cli.heat.strokes"))
    page.table(_sectors(tooth), text("cli.heat.sectors"))
    if tooth.round is not None:
        page.table(_organs(tooth.round, tooth.number), text("cli.heat.organs"))
    page.table(_by_passes(tooth), text("cli.heat.by_passes"))
    page.listed(text("cli.heat.remember"), _remembered(tooth))


def _strokes(tooth: ToothHeatDocument, planned: RoundDocument) -> Table:
    table = _table(("stroke", "place", "pass", "start", "earliest", "wait", "direction"))
    for number, stroke in enumerate(planned.strokes, start=1):
        sector = tooth.sectors[stroke.sector]
        table.add_row(
            str(number),
            text("cli.heat.place", {"number": sector.number + 1, "centre_deg": sector.centre_deg}, tooth.number),
            str(stroke.number),
            _seconds(stroke.start_s),
            _seconds(stroke.start_s if stroke.earliest_s is None else stroke.earliest_s),
            _seconds(stroke.wait_s),
            text("cli.heat.direction", {"from_deg": sector.from_deg, "to_deg": sector.to_deg}, tooth.number),
        )
    return table


def _sectors(tooth: ToothHeatDocument) -> Table:
    table = _table(("place", "form", "length", "rest", "over_bone"))
    for sector in tooth.sectors:
        table.add_row(
            text("cli.heat.place", {"number": sector.number + 1, "centre_deg": sector.centre_deg}, tooth.number),
            text(f"cli.heat.form.{sector.form.replace(' ', '_')}") if sector.passes else text("cli.heat.left_out"),
            text("cli.heat.length", {"length_mm": sector.length_mm}),
            text("cli.heat.rests", {"first_s": sector.rest_s, "later_s": sector.rest_repeat_s}),
            text("cli.heat.length", {"length_mm": sector.tissue_over_bone_mm}),
        )
    return table


def _organs(planned: RoundDocument, number: int) -> Table:
    table = _table(("organ", "low", "middle", "high", "at"))
    for organ in planned.organs:
        shares = [_percent(share) for share in (organ.low, organ.middle, organ.high)]
        table.add_row(
            text(f"cli.heat.organ.{organ.organ}"),
            *shares,
            text("cli.heat.at", {"worst_deg": organ.worst_deg, "worst_s": f"{organ.worst_s:.1f}"}, number),
        )
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
    return new_table(
        columns, lambda name: text(f"cli.heat.column.{name}"), also_left=("place", "form", "organ", "worst", "direction", "at")
    )


def _seconds(time_s: float) -> str:
    return text("cli.heat.seconds", {"time_s": f"{time_s:.1f}"})


def _percent(share: float) -> str:
    return text("cli.heat.percent", {"percent": percent(share)})
