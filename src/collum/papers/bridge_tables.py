"""The tables of the bridge sheet: connectors, units, roots, rules, abutments, and the numbers behind them."""

from collections.abc import Iterable, Sequence

from collum.papers.answer import Answer, number_line
from collum.papers.head import Content, mm, ratio
from collum.wire.bridge.document import BridgeDocument
from collum.wording import route_name, text

_COLUMNS = {
    "units": ("tooth", "part", "attached", "share", "sinks", "lever"),
    "connectors": ("between", "size", "needs", "verdict", "stress"),
    "rules": ("rule", "found", "limit", "verdict"),
    "abutments": ("tooth", "route", "verdict", "weeks", "path", "because"),
}
_PERCENT, _MICRO = 100, 1000


def bridge_tables(found: BridgeDocument, answer: Answer) -> Content:
    """Return columns and rows of every table, and the numbers they rest on."""
    rows = {"units": _units(found), "connectors": _connectors(found), "rules": _rules(found), "abutments": _abutments(found)}
    tables = {
        name: {"columns": [text(f"cli.bridge.column.{column}") for column in columns], "rows": rows[name]}
        for name, columns in _COLUMNS.items()
    }
    numbers = [number_line(answer.constant(key)) for key in dict.fromkeys(_keys(found))]
    return {"tables": {**tables, "roots": _roots(found)}, "numbers": numbers}


def share_words(shares: Sequence[float]) -> str:
    """Return a share over what is published of the stiffness, in per cent."""
    return text("paper.bridge.percent", {"share": _range(shares, _PERCENT)})


def _units(found: BridgeDocument) -> list[list[str]]:
    none = text("paper.none")
    return [
        [
            f"{unit.number} {unit.name.text} ({unit.universal})",
            text("cli.bridge.abutment" if unit.carries else "cli.bridge.pontic"),
            none if unit.attached_share is None else f"{_PERCENT * unit.attached_share:.0f}",
            none if unit.chewing_share is None else _range(unit.chewing_share, _PERCENT),
            _range(unit.deflection_mm, _MICRO),
            mm(unit.lever_mm),
        ]
        for unit in found.units
    ]


def _connectors(found: BridgeDocument) -> list[list[str]]:
    return [
        [
            text("cli.bridge.between", {"one": one.between[0], "two": one.between[1]}),
            text("cli.bridge.size", {"height_mm": one.height_mm, "width_mm": one.width_mm}),
            text("cli.bridge.needs", {"height_mm": one.needed_height_mm, "area_mm2": one.needed_area_mm2}),
            text(f"bridge.verdict.{one.verdict}"),
            _range(one.worst_stress_mpa, 1),
        ]
        for one in found.connectors
    ]


def _rules(found: BridgeDocument) -> list[list[str]]:
    return [
        [
            text(f"bridge.rule.{rule.id}"),
            text("paper.none") if rule.found is None else ratio(rule.found),
            f"{rule.limit:g}",
            text(f"bridge.verdict.{rule.verdict}"),
        ]
        for rule in found.rules
    ]


def _abutments(found: BridgeDocument) -> list[list[str]]:
    none = text("paper.none")
    reserve = {one.number: one.reserve_deg for one in found.path}
    return [
        [
            str(one.number),
            none if one.route is None else route_name(one.route),
            one.verdict or none,
            none if one.earliest_final_weeks is None else f"{one.earliest_final_weeks:.0f}",
            mm(reserve.get(one.number)),
            one.reason.text,
        ]
        for one in found.abutments
    ]


def _roots(found: BridgeDocument) -> Content:
    """Return the areas table by table, one column for each, and the ratio at the foot."""
    none, tables = text("paper.none"), [one.table for one in found.ratios]
    rows = []
    for unit in found.units:
        areas = {root.table: root for root in unit.roots}
        cells = []
        for table in tables:
            root = areas[table]
            held = none if root.attached_mm2 is None else mm(root.attached_mm2)
            of = {"attached": held, "area": f"{root.area_mm2:.0f}"}
            cells.append(text("paper.bridge.area_of", of) if unit.carries else f"{root.area_mm2:.0f}")
        rows.append([f"{unit.number} {text('cli.bridge.abutment' if unit.carries else 'cli.bridge.pontic')}", *cells])
    rows.append([text("paper.bridge.ratio"), *(none if one.ratio is None else ratio(one.ratio) for one in found.ratios)])
    if any(one.after_ratio is not None for one in found.ratios):
        rows.append(
            [text("paper.bridge.after"), *(none if one.after_ratio is None else ratio(one.after_ratio) for one in found.ratios)]
        )
    names = [
        text("paper.bridge.table", {"table": text(f"bridge.table.{one.table}"), "status": text(f"bridge.status.{one.status}")})
        for one in found.ratios
    ]
    return {"columns": [text("cli.bridge.column.tooth"), *names], "rows": rows}


def _keys(found: BridgeDocument) -> Iterable[str]:
    """Give the constants that stand behind verdicts and loads; areas of roots stand in their table."""
    for connector in found.connectors:
        yield from connector.evidence
    yield from (rule.evidence for rule in found.rules)
    if found.room is not None:
        yield found.room.evidence
    yield from ("pontic.bed.tissue_left_mm", "pontic.bed.concavity_mm", "neck.error.sounding_mm", "bridge.area_ratio_least")
    yield from ("bridge.bite.chewing_n", "bridge.bite.largest_n", "bridge.ligament.modulus_mpa", "bridge.ligament.thickness_mm")
    yield f"bridge.modulus.{found.material}_mpa"


def _range(values: Sequence[float], times: float) -> str:
    """Return least and greatest of the three, once where they print the same."""
    low, high = (f"{times * end:.0f}".replace("-", "\N{MINUS SIGN}") for end in (min(values), max(values)))
    return low if low == high else text("cli.bridge.range", {"low": low, "high": high})
