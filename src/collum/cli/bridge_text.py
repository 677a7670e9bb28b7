"""The bridges of a case for reading in a terminal."""

from collections.abc import Iterable, Sequence

from rich.table import Table

from collum.cli.figures import mm, percent, print_head
from collum.cli.page import Page, new_table, print_page
from collum.wire.bridge.document import BridgeDocument, BridgesDocument
from collum.wording import route_name, side_name, text


def print_bridges(found: BridgesDocument) -> None:
    """Print the bridges to the standard output."""
    print_page(lambda page: _print(page, found))


def _print(page: Page, found: BridgesDocument) -> None:
    for one in found.bridges:
        _print_bridge(page, found, one)
    page.gap()
    page.line(found.safety_reason.text)


def _print_bridge(page: Page, found: BridgesDocument, bridge: BridgeDocument) -> None:
    material = text(f"bridge.material.{bridge.material}")
    print_head(page, text("cli.bridge.head", {"reference": found.case_reference, "material": material}), found)
    if bridge.fault is not None:
        page.line(bridge.fault.text)
        return
    for sentence in bridge.answer:
        page.line(sentence.text)
    _print_list(page, "lacks", [sentence.text for sentence in bridge.lacks])
    _print_list(page, "weigh", [sentence.text for sentence in bridge.to_weigh])
    _print_list(page, "help", [sentence.text for sentence in bridge.what_would_help])
    _print_table(page, "units", _units(bridge))
    _print_table(page, "connectors", _connectors(bridge))
    _print_list(page, "roots", _roots(bridge))
    _print_list(page, "rules", _rules(bridge))
    _print_list(page, "pontics", _pontics(bridge))
    _print_table(page, "abutments", _abutments(bridge))
    _print_list(page, "not_assessed", [sentence.text for sentence in bridge.not_assessed])
    _print_list(page, "assumed", [sentence.text for sentence in bridge.assumed])


def _units(bridge: BridgeDocument) -> Table:
    table = _table(("tooth", "part", "attached", "share", "sinks", "lever"), words=2)
    for unit in bridge.units:
        table.add_row(
            text("cli.bridge.tooth", {"number": unit.number, "name": unit.name.text}),
            text("cli.bridge.abutment" if unit.carries else "cli.bridge.pontic"),
            percent(unit.attached_share),
            text("cli.plan.none") if unit.chewing_share is None else _percent_range(unit.chewing_share),
            _range(unit.deflection_mm, 1000),
            mm(unit.lever_mm),
        )
    return table


def _connectors(bridge: BridgeDocument) -> Table:
    table = _table(("between", "size", "needs", "verdict", "stress"), words=1)
    for one in bridge.connectors:
        table.add_row(
            text("cli.bridge.between", {"one": one.between[0], "two": one.between[1]}),
            text("cli.bridge.size", {"height_mm": one.height_mm, "width_mm": one.width_mm}),
            text("cli.bridge.needs", {"height_mm": one.needed_height_mm, "area_mm2": one.needed_area_mm2}),
            text(f"bridge.verdict.{one.verdict}"),
            _range(one.worst_stress_mpa, 1),
        )
    return table


def _abutments(bridge: BridgeDocument) -> Table:
    table = _table(("tooth", "route", "verdict", "weeks", "because"), words=3)
    for one in bridge.abutments:
        table.add_row(
            str(one.number),
            text("cli.plan.none") if one.route is None else route_name(one.route),
            one.verdict or text("cli.plan.none"),
            text("cli.plan.none") if one.earliest_final_weeks is None else f"{one.earliest_final_weeks:.0f}",
            one.reason.text,
        )
    return table


def _roots(bridge: BridgeDocument) -> list[str]:
    lines = [text(f"bridge.area.{bridge.area_verdict}")]
    for one in bridge.ratios:
        names: dict[str, str | float] = {
            "table": text(f"bridge.table.{one.table}"),
            "status": text(f"bridge.status.{one.status}"),
            "if_whole": one.if_whole_ratio,
        }
        if one.ratio is None:
            lines.append(text("cli.bridge.ratio_not_known", names))
        elif one.after_ratio is None:
            lines.append(text("cli.bridge.ratio", {**names, "ratio": one.ratio}))
        else:
            lines.append(text("cli.bridge.ratio_after", {**names, "ratio": one.ratio, "after": one.after_ratio}))
    if bridge.bending_factor is not None and bridge.bending_factor > 1:
        lines.append(text("cli.bridge.bends", {"factor": bridge.bending_factor}))
    return lines


def _rules(bridge: BridgeDocument) -> list[str]:
    lines = []
    for rule in bridge.rules:
        told: dict[str, str | float] = {
            "rule": text(f"bridge.rule.{rule.id}"),
            "limit": rule.limit,
            "verdict": text(f"bridge.verdict.{rule.verdict}"),
            "status": text(f"bridge.status.{rule.status}"),
        }
        if rule.found is None:
            lines.append(text("cli.bridge.rule_not_known", told))
        else:
            lines.append(text("cli.bridge.rule", {**told, "found": round(rule.found, 2)}))
    if bridge.room is not None:
        lines.append(
            text(f"bridge.room.{bridge.room.verdict}", {"least_mm": bridge.room.least_mm, "wanted_mm": bridge.room.wanted_mm})
        )
    if bridge.earliest is not None:
        lines.append(bridge.earliest.text)
    return lines


def _point(point: str, number: int) -> str:
    return text("bridge.point.middle") if point == "middle" else side_name(point, number)


def _pontics(bridge: BridgeDocument) -> list[str]:
    lines = []
    for one in bridge.pontics:
        lines.append(one.answer.text)
        if one.ridge is not None:
            lines.append(one.ridge_is.text)
        if one.depth_mm is not None:
            depths = ", ".join(
                text(
                    "cli.bridge.depth",
                    {"point": _point(point, one.number), "depth": mm(depth)},
                )
                for point, depth in zip(one.points, one.depth_mm, strict=True)
            )
            lines.append(
                text("cli.bridge.depths", {"number": one.number, "depths": depths, "volume_mm3": one.volume_mm3 or 0.0})
            )
        if one.ways_out:
            ways = "; ".join(sentence.text for sentence in one.ways_out)
            lines.append(text("cli.bridge.ways_out", {"number": one.number, "ways": ways}))
    return lines


def _table(columns: Sequence[str], *, words: int) -> Table:
    return new_table(columns, lambda name: text(f"cli.bridge.column.{name}"), left=words, also_left=("because",))


def _print_table(page: Page, title: str, table: Table) -> None:
    page.table(table, text(f"cli.bridge.title.{title}"))


def _print_list(page: Page, title: str, lines: Iterable[str]) -> None:
    page.listed(text(f"cli.bridge.title.{title}"), lines)


def _percent_range(shares: Sequence[float]) -> str:
    return _range(shares, 100)


def _range(values: Sequence[float], times: float) -> str:
    """Return least and greatest of the three, times a factor, once where they print the same."""
    low, high = (f"{times * end:.0f}".replace("-", "\N{MINUS SIGN}") for end in (min(values), max(values)))
    return low if low == high else text("cli.bridge.range", {"low": low, "high": high})
