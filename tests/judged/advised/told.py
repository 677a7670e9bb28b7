"""Every sentence of advice that the plan of a case gives, with what it rests on."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from collum.case.model import Case, Tooth
from collum.core.ring import STATIONS
from collum.core.tooth import perimeter_mm
from collum.plan import plan_tooth
from collum.plan.lengthening.choice.choice import Recommendation, nothing_left, recommendation
from collum.plan.lengthening.choice.remains import what_remains
from collum.plan.lengthening.findings import findings_of
from collum.plan.lengthening.grounds import Doubt, LeastChange, Question, Remaining
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.route import Route, closed_route, route_of
from collum.plan.lengthening.sounded import soundings_asked
from collum.plan.lengthening.tooth_plan import ToothPlan, deep_sulcus, patient_of
from collum.plan.sentence import Sentence
from collum.vocabulary import RouteName
from collum.wire.plan.choice_sentences import because, conditions_said, remaining_said
from collum.wire.plan.route_sentences import change_said, doubt_said
from collum.wording.catalogue import keys as known
from collum.wording.catalogue import text
from tests.measuring.necks import drawn_neck

DRAWS, SEED = 300, 3
FAMILIES = ("least_change", "remains", "question", "doubt", "recommended", "recommended_if")  # of the catalogue, under plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One sentence of advice. `kind`: its key in the catalogue after "plan."; the rest as far as it belongs to the sentence."""

    kind: str
    text: str
    case: Case
    plan: ToothPlan
    found: Recommendation
    route: Route | None = None
    change: LeastChange | None = None
    remaining: Remaining | None = None
    question: Question | None = None
    doubt: Doubt | None = None

    @property
    def tooth(self) -> Tooth:
        return self.case.teeth[0]

    @property
    def lines(self) -> RoutePlan:
        """The lines of the route that the sentence is about."""
        assert self.route is not None and self.route.plan is not None
        return self.route.plan

    @property
    def missed(self) -> str:
        """The requirement that decides against the route."""
        assert self.route is not None and self.route.closed_by is not None
        return self.route.closed_by.requirement

    @property
    def station(self) -> int:
        assert self.route is not None and self.route.closed_by is not None and self.route.closed_by.station is not None
        return self.route.closed_by.station


def plan_of(case: Case) -> ToothPlan:
    return plan_tooth(case, 0, drawn_neck(case, DRAWS, seed=SEED))


def words(sentence: Sentence) -> str:
    return text(sentence.key, sentence.parameters)


@cache
def kinds() -> frozenset[str]:
    """Every kind of advice that the catalogue has words for."""
    told_of = (key.removeprefix("plan.") for key in known() if key.startswith("plan."))
    return frozenset(kind for kind in told_of if kind.partition(".")[0] in FAMILIES)


def told(case: Case) -> Iterator[Told]:
    """Give every sentence of advice on the first tooth of a case."""
    plan = plan_of(case)
    found = recommendation(plan.routes, case.teeth[0], plan.prepared.limits)

    def tell(sentence: Sentence, **about: object) -> Told:
        kind = sentence.key.removeprefix("plan.")
        return Told(kind=kind, text=words(sentence), case=case, plan=plan, found=found, **about)  # type: ignore[arg-type]

    for route in plan.routes:
        if route.closed_by is not None and route.closed_by.least_change is not None:
            change = route.closed_by.least_change
            yield tell(change_said(change), route=route, change=change)
        if route.looks is not None and route.looks.change is not None:
            yield tell(change_said(route.looks.change), route=route, change=route.looks.change)
    if nothing_left(plan.routes, found):
        for one in what_remains(case.teeth[0], plan.findings, plan.routes):
            if one.change is None:  # a change is told with its route
                yield tell(remaining_said(one), remaining=one)
    for question in (*plan.findings.questions, *soundings_asked(plan)):
        yield tell(question.said, question=question)
    yield from (tell(doubt_said(doubt), doubt=doubt, route=route) for doubt, route in _doubts(plan))
    yield tell(because(found, plan.routes, plan.findings, case.teeth[0], words), route=found.route)
    for condition in conditions_said(found):
        yield tell(condition, route=found.route)


def _doubts(plan: ToothPlan) -> Iterator[tuple[Doubt, Route | None]]:
    """Give every doubt of the tooth, and of a route those that are its own."""
    of_tooth = plan.findings.doubts
    yield from ((doubt, None) for doubt in of_tooth)
    for route in plan.routes:
        yield from ((doubt, route) for doubt in route.doubts if doubt not in of_tooth)


def route_alone(case: Case, name: RouteName) -> Route:
    """One route of a case, planned without the others."""
    tooth, neck = case.teeth[0], drawn_neck(case, DRAWS, seed=SEED)
    findings = findings_of(tooth, patient_of(case), neck.limits)
    wishes = wishes_of(tooth, neck.inputs.thickness_mm, neck.evidence, deep_sulcus=deep_sulcus(neck))
    closing = findings.closing or findings.closed.get(name) or procedure_of(name).closed_by(neck, wishes)
    if closing is not None:
        return closed_route(name, closing)
    arc_mm = perimeter_mm(tooth.number) / STATIONS
    plan = procedure_of(name).plan(neck, wishes, returns_whole=findings.returns_whole, arc_mm=arc_mm)
    return route_of(neck, findings, plan)


def graded(route: Route, requirement: str) -> Graded | None:
    """The verdict of a requirement on a route; None where the route offers no lines or asks nothing."""
    return None if route.plan is None else route.plan.assessment.graded.get(requirement)


def lacking(found: Graded | None) -> float:
    """What a requirement lacks to the confidence asked; nothing where it is kept or asks nothing."""
    return 0 if found is None or found.verdict == "kept" else found.short_by or 0
