"""Whether restorations will hold, for reading in a terminal."""

from collections.abc import Iterable, Sequence

from rich.table import Table

from collum.cli.figures import head_of, mm, percent, print_head, retention_row
from collum.cli.page import Page, new_table, print_page
from collum.wire.form import SentenceDocument
from collum.wire.restoration.document import RestorationsDocument, RouteRestorationDocument, ToothRestorationDocument
from collum.wording import route_name, text


def print_restorations(found: RestorationsDocument) -> None:
    """Print the answers to the standard output."""
    print_page(lambda page: _print(page, found))


def _print(page: Page, found: RestorationsDocument) -> None:
    for tooth in found.teeth:
        _print_tooth(page, found, tooth)
    _print_list(page, "limits", found.limits)
    page.gap()
    page.line(found.safety_reason.text)


def _print_tooth(page: Page, found: RestorationsDocument, tooth: ToothRestorationDocument) -> None:
    print_head(page, text("cli.restoration.head", head_of(found, tooth)), found)
    page.line(tooth.because.text)
    for route in tooth.routes:
        _print_route(page, route, tooth.number)
    _print_table(page, "support", _support(tooth))
    _print_list(page, "old_crown", _old_crown(tooth))
    _print_list(page, "assumed", tooth.assumed)
    _print_list(page, "not_assessed", tooth.not_assessed)


def _print_route(page: Page, route: RouteRestorationDocument, number: int) -> None:
    _print_list(page, "answer", route.answer)
    _print_table(page, "parts", _parts(route))
    if route.stump is not None:
        _print_table(page, "changes", _changes(route))
        _print_table(page, "retention", _retention(route))
    _print_table(page, "ferrule", _ferrule(route, number))
    _print_list(page, "optimum", _optimum(route))
    _print_list(page, "posts", _posts(route))
    if route.pins:
        _print_table(page, "pins", _pins(route))
    _print_table(page, "materials", _materials(route))
    _print_list(page, "laboratory", route.laboratory)


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
        table.add_row(gain.said.text, percent(gain.weakest_share), mm(gain.gained_mm2), mm(gain.removed_mm3))
    return table


def _retention(route: RouteRestorationDocument) -> Table:
    table = _table(("cement", "force", "known"), words=1)
    for one in route.retention:
        table.add_row(*retention_row(one))
    return table


def _ferrule(route: RouteRestorationDocument, number: int) -> Table:
    table = _table(("at", "height", "wall", "counts", "load", "state"), words=1)
    for sector in route.ferrule.sectors:
        table.add_row(
            text("cli.restoration.at", {"at_deg": sector.centre_deg}, number),
            mm(sector.height_mm),
            mm(sector.wall_left_mm),
            mm(sector.counted_mm),
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
            mm(pins.in_dentine_mm),
            mm(pins.core_mm),
            text(f"restoration.enough.{_key(pins.state)}"),
        )
    return table


def _materials(route: RouteRestorationDocument) -> Table:
    table = _table(("material", "line", "axial", "occlusal", "height", "lacks", "across", "hazard"), words=1)
    for one in route.materials:
        table.add_row(
            text(f"restoration.material.{one.material}"),
            mm(one.finish_line_mm),
            mm(one.axial_mm),
            mm(one.occlusal_mm),
            mm(one.height_mm),
            mm(one.height_short_mm),
            mm(min(one.across_facial_oral_mm, one.across_mesiodistal_mm)),
            text(f"restoration.hazard.{_key(one.hazard)}"),
        )
    return table


def _support(tooth: ToothRestorationDocument) -> Table:
    table = _table(("route", "ratio", "norm", "attached", "furcation", "grade"), words=1)
    for one in tooth.support:
        rooms = [furcation.finish_mm for furcation in one.furcations]
        ratio = text("cli.plan.none")
        if one.before_ratio is not None and one.after_ratio is not None:
            ratio = text("cli.restoration.to", {"before": one.before_ratio, "after": one.after_ratio})
        table.add_row(
            route_name(one.route),
            ratio,
            text("cli.plan.none") if one.norm_ratio is None else text("cli.restoration.hundredths", {"mm": one.norm_ratio}),
            text("cli.restoration.to", {"before": one.attached_before_share, "after": one.attached_after_share}),
            mm(min(rooms, default=None)),
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
    also = ("because", "state", "known", "hazard", "grade")
    return new_table(columns, lambda name: text(f"cli.restoration.column.{name}"), left=words, also_left=also)


def _print_table(page: Page, title: str, table: Table) -> None:
    page.table(table, text(f"cli.restoration.title.{title}"))


def _print_list(page: Page, title: str, lines: Iterable[SentenceDocument | str]) -> None:
    page.listed(text(f"cli.restoration.title.{title}"), [line if isinstance(line, str) else line.text for line in lines])


def _key(word: str) -> str:
    return word.replace(",", "_").replace(" ", "_")
