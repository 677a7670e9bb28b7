"""The plan of a case for reading in a terminal."""

from collections.abc import Iterable, Sequence

from rich.table import Table

from collum.cli.figures import head_of, mm, print_head
from collum.cli.page import Page, new_table, print_page
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.table import AT_MOST
from collum.vocabulary import RouteName
from collum.wire.form import SentenceDocument
from collum.wire.plan.document import PlanDocument, RequirementDocument, RouteDocument, SiteDocument, ToothDocument
from collum.wording import route_name, text


def print_plan(plan: PlanDocument, route: RouteName | None) -> None:
    """Print a plan to the standard output.

    All routes stand side by side; whole is printed `route`, else the one recommended, else the first that offers lines.
    """
    print_page(lambda page: _print(page, plan, route))


def _print(page: Page, plan: PlanDocument, route: RouteName | None) -> None:
    for tooth in plan.teeth:
        _print_tooth(page, plan, tooth, route)
    page.listed(text("cli.plan.cautions"), [caution.text for caution in plan.cautions])
    page.gap()
    page.line(plan.safety_reason.text, style="bold" if plan.safety_cleared else "bold reverse")
    page.line(text("cli.plan.seed", {"seed": plan.seed, "draws": plan.draws, "version": plan.program_version}))


def _print_tooth(page: Page, plan: PlanDocument, tooth: ToothDocument, route: RouteName | None) -> None:
    role = text(f"cli.role.{tooth.role}")
    print_head(page, text("cli.plan.head", {**head_of(plan, tooth), "role": role}), plan)
    page.gap()
    page.table(_routes(tooth.routes))
    page.gap()
    decided = _decided(tooth.routes)
    if decided:
        page.pairs(decided)
        page.gap()
    page.pairs(_recommended(tooth))
    _print_route(page, _told(tooth, route), tooth.number)
    doubts = [*(odd.reason.text for odd in tooth.odd_readings), *(question.text for question in tooth.questions)]
    page.listed(text("cli.plan.doubts"), doubts)
    page.listed(text("cli.plan.readings"), [f"{one.why.text} {one.said.text}" for one in tooth.readings])
    page.listed(text("cli.plan.reasons"), [reason.text for reason in tooth.reasons])


def _told(tooth: ToothDocument, asked: RouteName | None) -> RouteDocument:
    """Return the route that is printed whole."""
    wanted = asked or tooth.recommended_route
    named = [route for route in tooth.routes if route.name == wanted]
    with_lines = [route for route in tooth.routes if route.cut_line_height_mm is not None]
    return next(iter([*named, *with_lines]), tooth.routes[0])


def _print_route(page: Page, route: RouteDocument, number: int) -> None:
    page.title(text(f"cli.plan.whole.{route.name.replace(' ', '_')}"))
    page.pairs(_answer(route, number), strong=text("cli.plan.verdict"))
    for title, sentences in (
        ("means", route.means),
        ("patient", [sentence for one in route.cautions for sentence in (one.why, one.said)]),
        ("why", route.explanation),
        ("steps", route.staged),
        ("timing", [time.reason for time in route.timing]),
        ("provisional", route.provisional),
        ("trough", route.trough),
    ):
        page.listed(text(f"cli.plan.{title}"), [sentence.text for sentence in sentences])
    asked = [row for row in route.requirements if row.verdict != "not needed"]
    page.table(_requirements(asked, number), text("cli.plan.requirements"))
    if any(row.short_by for row in asked):
        page.line(text("cli.plan.short_by"))
    page.table(_sites(route, number), text("cli.plan.sites"))
    if route.sites and not all(row.bone_read for row in route.sites):
        nowhere = all(row.bone_below_margin_mm is None for row in route.sites)
        page.line(text("paper.no_bone" if nowhere else "paper.estimated_means"))
    if route.finish_line_height_mm is not None and route.earliest_final_weeks:
        page.gap()
        page.line(text("cli.plan.finish", {"weeks": route.earliest_final_weeks}))


def _routes(routes: Iterable[RouteDocument]) -> Table:
    """Return all routes side by side, a line each."""
    table = _table(("route", "verdict", "chance_all", "bone_taken", "raised", "weeks"), numbers_from=2)
    for route in routes:
        table.add_row(
            route_name(route.name),
            _verdict(route),
            _filled("chance", share=route.joint_probability),
            _filled("mm", mm=route.summary.bone_most_mm or None),
            _filled("mm", mm=route.summary.extrusion_mm or None),
            _filled("weeks", weeks=route.summary.earliest_final_weeks),
        )
    return table


def _decided(routes: Iterable[RouteDocument]) -> list[tuple[str, str]]:
    """Return for each route that offers no way, or one that is short or unlikely, the fact that decides."""
    told: list[tuple[str, str]] = []
    for route in routes:
        if route.closed_by is not None:
            told.append((route_name(route.name), route.closed_by.reason.text))
        elif route.cut_line_height_mm is None and route.explanation:
            told.append((route_name(route.name), route.explanation[0].text))
        elif route.verdict == "in doubt":
            told += [(route_name(route.name), sentence.text) for sentence in _only_doubts(route)]
    return told


def _only_doubts(route: RouteDocument) -> list[SentenceDocument]:
    """Return the findings that leave a route in doubt, where every rule by itself is kept."""
    if any(row.verdict not in ("kept", "not needed") for row in route.requirements if row.required):
        return []
    return route.doubts


def _recommended(tooth: ToothDocument) -> list[tuple[str, str]]:
    because = tooth.recommended_because.text
    if tooth.recommended_route is not None:
        because = text("cli.plan.recommended_route", {"route": tooth.recommended_route, "because": because})
    shared = [] if tooth.closed_alike is None else [tooth.closed_alike]  # else what closes each route is told above
    remains = [(text("cli.plan.last_resort"), sentence.text) for sentence in (*shared, *tooth.remains)]
    conditions = [(text("cli.plan.recommended_if"), sentence.text) for sentence in tooth.recommended_if]
    return [(text("cli.plan.recommended"), because), *conditions, *remains]


def _answer(route: RouteDocument, number: int) -> list[tuple[str, str]]:
    """Return what the dentist asks of a route first: its verdict and what decides it."""
    verdict = _verdict(route).upper()
    if route.joint_probability is not None:
        verdict = text("cli.plan.verdict_with_chance", {"verdict": verdict, "probability": route.joint_probability})
    rows = [(text("cli.plan.verdict"), verdict), *_weakest(route, number)]
    if route.closed_by is not None:
        rows.append((text("cli.plan.closed_by"), route.closed_by.reason.text))
        if route.closed_by.least_change is not None:
            rows.append((text("cli.plan.least_change"), route.closed_by.least_change.text))
    return rows


def _verdict(judged: RouteDocument | RequirementDocument) -> str:
    """Return a verdict in words; in doubt by its chance."""
    return text(f"paper.verdict.{(judged.likelihood or judged.verdict).replace(' ', '_')}")


def _weakest(route: RouteDocument, number: int) -> list[tuple[str, str]]:
    """Return the requirement that holds least often with its place: its chance is not that of all."""
    weakest = route.weakest
    if weakest is None:
        return []
    known: dict[str, str | float] = {"requirement": text(f"paper.requirement.{weakest.id}"), "probability": weakest.probability}
    if weakest.station_deg is None:
        return [(text("cli.plan.weakest"), text("cli.plan.weakest_of", known))]
    return [(text("cli.plan.weakest"), text("cli.plan.weakest_at", {**known, "station_deg": weakest.station_deg}, number))]


def _requirements(requirements: Iterable[RequirementDocument], number: int) -> Table:
    table = _table(("requirement", "verdict", "value", "limit", "at", "chance", "short_by"), numbers_from=2)
    for row in requirements:
        table.add_row(
            text(f"paper.requirement.{row.id}"),
            _verdict(row),
            _amount(row.value, row.unit),
            _bound(row),
            _filled("at", number, station_deg=row.worst_station_deg),
            _filled("chance", share=row.probability),
            _amount(row.short_by, row.unit),
        )
    return table


def _sites(route: RouteDocument, number: int) -> Table:
    flap = procedure_of(route.name).takes_bone
    first = ("sutured", "bone_taken") if flap else ("cut",)
    columns = ("site", *first, "lasting", "finish", "bone", "bone_nearest", "remark")
    table = _table(columns, numbers_from=1, words_last=True)
    for row in route.sites:
        done = (mm(row.stop_below_margin_mm), mm(row.bone_reduction_mm)) if flap else (_cut(row),)
        table.add_row(
            _filled("site", number, site=row.site),
            *done,
            mm(row.lasting_gain_mm),
            mm(row.finish_above_settled_margin_mm),
            _bone(row, row.bone_below_margin_mm),
            _bone(row, row.bone_nearest_below_margin_mm),
            _remark(row, flap=flap),
        )
    return table


def _cut(row: SiteDocument) -> str:
    return mm(row.stop_below_margin_mm) if row.cut else text("cli.plan.none")


def _bone(row: SiteDocument, depth_mm: float | None) -> str:
    """Return a depth of bone, with the mark of an estimate where no bone was read at the site."""
    return mm(depth_mm) if row.bone_read or depth_mm is None else _filled("estimated", mm=depth_mm)


def _remark(row: SiteDocument, *, flap: bool) -> str:
    if row.only_to_see:
        return text("cli.plan.remark.only_to_see")
    if row.will_not_last:
        return text("cli.plan.remark.will_not_last")
    if row.cut or flap:
        return ""
    return text(f"cli.plan.remark.{'run_out' if row.run_out else 'no_cut'}")


def _table(columns: Sequence[str], *, numbers_from: int, words_last: bool = False) -> Table:
    ends = (columns[0], columns[-1])
    also = ends[1:] if words_last else ()
    return new_table(columns, lambda name: text(f"cli.plan.column.{name}"), left=numbers_from, also_left=also, whole=ends)


def _bound(row: RequirementDocument) -> str:
    if row.limit is None:
        return text("cli.plan.none")
    return text("cli.plan.at_most" if row.id in AT_MOST else "cli.plan.at_least", {"limit": _amount(row.limit, row.unit)})


def _amount(amount: float | None, unit: str) -> str:
    return mm(amount) if unit == "mm" else _filled("ratio", ratio=amount)


def _filled(key: str, number: int | None = None, /, **parameter: float | str | None) -> str:
    """Return a value in the words of `cli.plan.<key>`, a dash where it is unknown."""
    given = {name: value for name, value in parameter.items() if value is not None}
    return text(f"cli.plan.{key}", given, number) if given else text("cli.plan.none")
