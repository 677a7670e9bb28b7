"""The only module of the golden answers that knows where things are in the program; moves and renames are followed here alone.

Everything is asked at the outermost door at which it can be seen. What the doors round (levels, lines, reserves, chances) is
read from the records of the plan, by names that belong to the golden answers and stay when fields are renamed.
"""

import io
import json
import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any
from unittest.mock import patch

import collum
from collum.app.environment import SystemEnvironment
from collum.app.plans import planning
from collum.app.plans.answers import answer_on
from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.heat import NoSection, heat_of_plan, heat_section
from collum.app.plans.papers import loose_checklist, loose_letter
from collum.app.plans.planning import Hold, PlannedCase, Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.app.safety.gate import NotCleared, assess, opening_for
from collum.app.speaking import fault_document
from collum.case import Case, CaseFaults, canonical_json, from_document, parse, to_document
from collum.cli import ending
from collum.cli.main import main
from collum.core.draws import arrays_of
from collum.evidence import all_constants
from collum.papers import PaperHead, PaperRefused, operating_paper, paper
from collum.plan import ToothPlan, plan_tooth
from collum.plan.heat import HeatWishes
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.route import Route
from collum.wire.heat.document import HeatDocument
from collum.wire.plan.document import PlanDocument
from tests.making.answers import in_layers

Json = dict[str, Any]
NOW = datetime(2026, 11, 25, 9, 30, 12, tzinfo=UTC)
PROCEDURES = ("current", "bone", "movement")
VERSION = collum.__version__
_HEAD = PaperHead(plan_id="golden", made_at=NOW.isoformat(), result_sha256="ab" * 32)


class Asked:
    """One case, planned once with a seed and a number of draws; everything else is asked of it."""

    def __init__(self, document: Mapping[str, Any], seed: int, draws: int) -> None:
        self._case: Case = from_document(dict(document))
        self._seed = seed
        self._planner = Planner(draws)
        self._teeth: list[ToothPlan] = []
        with patch.object(planning, "plan_tooth", self._planned):
            self._made: PlannedCase = self._planner.planned(self._case, seed=seed)
        self._plan: PlanDocument = self._made.document

    @property
    def positions(self) -> list[int]:
        """Positions in the case of the teeth that are planned, in the order of the plan."""
        return [position for position, tooth in enumerate(self._case.teeth) if tooth.role != "neighbour"]

    def plan(self) -> Json:
        return self._plan.model_dump(mode="json")

    def arrays(self) -> Iterator[tuple[str, Any]]:
        """Yield what a plan is made of, before anything is rounded: arrays, numbers or words by name."""
        for position, tooth in zip(self.positions, self._teeth, strict=True):
            for name, found in _of_neck(tooth.prepared):
                yield f"tooth {position}.{name}", found
            for route in tooth.routes:
                for name, found in _of_route(route):
                    yield f"tooth {position}.{route.name}.{name}", found

    def judged(self, position: int, lines: Json) -> Json:
        """Return the route for lines that were moved by hand. `hold`: (line, station, height)."""
        hold = lines.get("hold")
        made = None if hold is None else Hold(line=hold[0], station_deg=hold[1], height_mm=hold[2])
        asked = {**lines, "hold": made, "tooth": position, "seed": self._seed}
        return self._planner.judge(self._case, **asked).model_dump(mode="json")

    def restorations(self) -> Json:
        return restorations_of_plan(self._case, self._made).model_dump(mode="json")

    def bridges(self) -> Json | None:
        return bridges_of_plan(self._case, self._made).model_dump(mode="json") if self._case.bridges else None

    def heat(self) -> Json:
        return self._heat.model_dump(mode="json")

    def section(self) -> Json | None:
        """Return the first section of the first tooth that is kept, None where no round is offered."""
        number = self._plan.teeth[0].number
        try:
            found = heat_section(self._heat, number, 0, "high")
        except NoSection as others:
            found = heat_section(self._heat, number, others.stations_deg[0], "high")
        return None if found is None else found.model_dump(mode="json")

    def _planned(self, *asked: Any) -> ToothPlan:
        """Plan a tooth as the planner does, and keep the plan before it is rounded."""
        made = plan_tooth(*asked)
        self._teeth.append(made)
        return made

    @cached_property
    def _printed(self) -> PlanDocument:
        """The plan as papers show it, whatever version the program has."""
        return self._plan.model_copy(update={"program_version": "golden"})

    @cached_property
    def _of_today(self) -> Case:
        """The case with its visit as it would be taken today: frozen visits know no layers and no time-out by name."""
        return from_document(in_layers(to_document(self._case)))

    @cached_property
    def _heat(self) -> HeatDocument:
        return heat_of_plan(self._made, HeatWishes())

    def screening(self, procedure: Any) -> Json:
        return assess(self._case, procedure, NOW).model_dump(mode="json")

    def opening(self, procedure: Any) -> list[dict[str, str | None]] | None:
        """Return what keeps the paper of the first tooth closed; None where it is opened."""
        try:
            opening_for(self._of_today, procedure, self._plan.model_dump_json(), 0, NOW)
        except NotCleared as closed:
            return closed.faults
        return None

    def paper(self, kind: Any) -> bytes | str:
        """Return a paper of the first tooth that leads to no operation, or the checklist or letter; or why there is none."""
        try:
            if kind in ("checklist", "letter"):
                return (loose_checklist if kind == "checklist" else loose_letter)(_Bench(), self._case)
            answer = answer_on(kind, self._case, self._plan.teeth[0].number, self._of_tooth)
            printed, case = self._printed.model_dump(mode="json"), to_document(self._case)
            return paper(kind, printed, tooth=0, head=_HEAD, case=case, answer=answer)
        except PaperRefused as refused:
            return str(refused)

    def _of_tooth(self, only: int | None) -> PlannedCase:
        return self._made if only is None else self._made.of_tooth(only)

    def operating_paper(self, procedure: Any) -> bytes:
        """Return the paper of an operation that is open. Raises NotCleared."""
        opening = opening_for(self._of_today, procedure, self._printed.model_dump_json(), 0, NOW)
        heat = self._heat.teeth[0].model_dump() if procedure == "current" else None
        return operating_paper(opening, head=_HEAD, case=to_document(self._case), heat=heat)


def answer_to_file(data: bytes, kind: Any) -> bytes | list[dict[str, str | None]]:
    """Return the canonical form of a case file that is accepted, or every fault with its place."""
    try:
        return canonical_json(to_document(from_document(parse(data, kind=kind))))
    except CaseFaults as refused:
        return [fault_document(fault) for fault in refused.faults]


def as_file(document: Mapping[str, Any]) -> bytes:
    return json.dumps(document).encode()


def constants() -> dict[str, float]:
    return {constant.key: constant.value for constant in all_constants()}


def ran(folder: Path, *arguments: str, stdin: bytes = b"") -> tuple[int, str, str]:
    """Run a command line in this process, at a fixed moment; return its status and what it printed to each stream."""
    out, err = io.StringIO(), io.StringIO()
    asked = {"COLLUM_DATA": str(folder), "COLUMNS": "100"}
    with (
        patch.dict(os.environ, asked),
        patch.object(SystemEnvironment, "now", lambda _: NOW),
        patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin))),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        ending.print_faults_as("text")
        status = main(arguments)
    return status, out.getvalue(), err.getvalue()


class _Bench(SystemEnvironment):
    """The environment of papers that are not kept: a clock that stands still."""

    def __init__(self) -> None:
        super().__init__(data_directory=Path())

    def now(self) -> datetime:
        return NOW


def _of_neck(prepared: Prepared) -> Iterator[tuple[str, Any]]:
    yield from arrays_of(prepared)
    for name, level in prepared.levels.items():
        for figure in ("mean", "sd", "p05", "p95"):
            yield f"level.{name}.{figure}", getattr(level, figure)
    for name in ("margin_mm", "far_off", "clamped_share", "dropped_mass"):
        yield name, getattr(prepared, name)


def _of_route(route: Route) -> Iterator[tuple[str, Any]]:
    yield "verdict", route.verdict
    plan, forecast = route.plan, route.forecast
    if plan is None or forecast is None:
        return
    yield "cut_mm", plan.cut_mm
    yield "finish_mm", plan.finish_mm
    yield "bone_mm", plan.treatment.bone_mm
    yield "extruded_mm", plan.treatment.extruded_mm
    if plan.lines is not None:
        yield "solved_cut_mm", plan.lines.cut_mm
        yield "solved_finish_mm", plan.lines.finish_mm
        yield "reserve_share", plan.lines.reserve_share
    yield "settled_mm", plan.assessment.settled_mm
    yield "settled_full_mm", plan.assessment.settled_full_mm
    yield "joint_probability", plan.assessment.joint_probability
    yield "rest.median", forecast.settled_mm
    yield "rest.p05", forecast.settled_low_mm
    yield "rest.p95", forecast.settled_high_mm
    yield "lasting_gain_mm", forecast.lasting_gain_mm
    for name, graded in plan.assessment.graded.items():
        if graded is None:
            continue
        yield f"{name}.least", graded.least
        for figure in ("verdict", "probability", "value", "limit", "worst_station", "worst_probability", "short_by"):
            yield f"{name}.{figure}", getattr(graded, figure)
