"""A scanned preparation, for reading in a terminal."""

from collections.abc import Iterator

from rich.table import Table

from collum.cli.figures import mm, percent, retention_row
from collum.cli.page import Page, new_table, print_page
from collum.wire.preparation.document import PreparationDocument
from collum.wording import text

_EVERY = 3  # of the 36 directions: every 30 degrees


def print_preparation(found: PreparationDocument) -> None:
    """Print the answer to the standard output."""
    print_page(lambda page: _print(page, found))


def _print(page: Page, found: PreparationDocument) -> None:
    took = 0.0 if found.took is None else found.took.reading_s + found.took.judging_s
    named: dict[str, str | float] = {"format": found.file.format, "facets": found.file.facets, "seconds": round(took, 2)}
    page.line(text("cli.scan.head", named), style="bold")
    for sentence in found.answer:
        page.line(sentence.text)
    if found.beside_plan is not None:
        beside = found.beside_plan
        title = text("cli.scan.title.beside", {"reference": beside.case_reference, "route": beside.route})
        page.listed(title, [sentence.text for sentence in beside.said])
    page.table(_parts(found), text("cli.scan.title.parts"))
    page.title(text("cli.scan.title.measures"))
    page.pairs((f"  {name}", words) for name, words in _measures(found))
    page.table(_ring(found), text("cli.scan.title.ring"))
    page.table(_changes(found), text("cli.scan.title.changes"))
    page.table(_retention(found), text("cli.scan.title.retention"))
    page.listed(text("cli.scan.title.repairs"), [repair.said.text for repair in found.repairs])
    page.listed(text("cli.scan.title.assumed"), [sentence.text for sentence in found.assumed])
    page.listed(text("cli.scan.title.limits"), [sentence.text for sentence in found.limits])


def _parts(found: PreparationDocument) -> Table:
    table = _table(("question", "verdict", "because"), left=3)
    for part in found.parts:
        table.add_row(
            text(f"preparation.question.{part.id}"),
            text(f"restoration.verdict.{part.verdict.replace(' ', '_')}"),
            " ".join(sentence.text for sentence in part.said),
        )
    return table


def _measures(found: PreparationDocument) -> Iterator[tuple[str, str]]:
    heights = {"first": found.height_mean_mm, "second": found.height_least_mm}
    angles = {
        "first": found.convergence_mean_deg,
        "second": found.convergence_least_deg,
        "third": found.convergence_most_deg,
    }
    line = {"first": found.finish_line.length_mm, "second": found.finish_line.range_mm}
    rows = {
        "height": text("cli.scan.value.two_mm", heights),
        "convergence": text("cli.scan.value.three_deg", angles),
        "width": text("cli.scan.value.two_mm", {"first": min(found.width_mm), "second": max(found.width_mm)}),
        "wall": text("cli.scan.value.area", {"area": found.wall_mm2}),
        "top": text("cli.scan.value.area", {"area": found.top_mm2}),
        "volume": text("cli.scan.value.volume", {"volume": found.volume_mm3}),
        "line": text("cli.scan.value.two_mm", line),
        "resisting": text("cli.scan.value.area", {"area": found.resisting_mm2[found.stations_deg.index(found.weakest_deg)]}),
        "undercut": text("cli.scan.value.area", {"area": found.undercut.area_mm2}),
        "path": text(
            "cli.scan.value.path", {axis: round(part, 2) + 0.0 for axis, part in zip("xyz", found.frame.path, strict=True)}
        ),
    }
    for name, words in rows.items():
        yield text(f"cli.scan.measure.{name}"), words


def _ring(found: PreparationDocument) -> Table:
    table = _table(("at", "height", "taper", "convergence", "width", "share", "resisting"), left=0)
    for i in range(0, len(found.stations_deg), _EVERY):
        table.add_row(
            text("cli.scan.at", {"at_deg": found.stations_deg[i]}, found.frame.tooth if found.frame.facial_known else None),
            mm(found.height_mm[i]),
            mm(found.taper_deg[i]),
            mm(found.convergence_deg[i]),
            mm(found.width_mm[i]),
            percent(found.resisting_share[i]),
            mm(found.resisting_mm2[i]),
        )
    return table


def _changes(found: PreparationDocument) -> Table:
    table = _table(("change", "more", "costs"), left=1)
    for change in found.changes:
        table.add_row(change.said.text, mm(change.gained_mm2), mm(change.removed_mm3))
    return table


def _retention(found: PreparationDocument) -> Table:
    table = _table(("cement", "force", "known"), left=1)
    for one in found.retention:
        table.add_row(*retention_row(one))
    return table


def _table(columns: tuple[str, ...], *, left: int) -> Table:
    return new_table(columns, lambda name: text(f"cli.scan.column.{name}"), left=left, also_left=("known",))
