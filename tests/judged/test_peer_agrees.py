"""The plan against the same plan written a second time from the theory pages (benchmarks/peer)."""

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.peer import levels, route, rules, solvers
from collum.case import from_document
from collum.core.neck import neck_posterior, neck_prior
from collum.core.ring import STATIONS_DEG
from collum.plan import Prepared, ToothPlan, plan_tooth
from collum.plan.lengthening.levels.inputs import inputs_of
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import solve
from collum.vocabulary import RouteName
from tests.making.mouths import Mouth, make_mouths
from tests.measuring.as_peer import STATED, asked_by, done_by, draws_of, route_plan
from tests.measuring.necks import EVIDENCE, PRIORS, drawn_neck

DRAWS = 3_000


def mouths() -> list[Mouth]:
    rng = np.random.default_rng(411)
    made = [m for overgrown in (False, True) for m in make_mouths("charts", 6, rng, overgrown=overgrown) if m.plausible]
    far = [m for m in make_mouths("wrong", 12, rng) if m.plausible and m.far_off.any()]
    return [*made, *far[:3]]


@pytest.fixture(scope="module", params=mouths(), ids=lambda m: m.document["teeth"][0]["number"])
def mouth(request: pytest.FixtureRequest) -> Mouth:
    return request.param  # type: ignore[no-any-return]  # pytest types no parameters


@pytest.fixture(scope="module")
def tooth(mouth: Mouth) -> levels.Tooth:
    return levels.read(mouth.document)


@pytest.fixture(scope="module")
def prepared(mouth: Mouth) -> Prepared:
    return drawn_neck(from_document(mouth.document), DRAWS)


@pytest.fixture(scope="module")
def plan(mouth: Mouth, prepared: Prepared) -> ToothPlan:
    return plan_tooth(from_document(mouth.document), 0, prepared)


@pytest.fixture(scope="module")
def same_draws(prepared: Prepared) -> rules.Draws:
    """The draws of the program, handed to the peer."""
    return draws_of(prepared)


@pytest.mark.slow
def test_levels_equal_enumeration_of_all_explanations(mouth: Mouth, tooth: levels.Tooth) -> None:
    """Exact against exact: means within 0.02 mm, SD within 3 %."""
    inputs = inputs_of(from_document(mouth.document), 0, EVIDENCE).levels
    posterior = neck_posterior(inputs.probing, inputs.soundings, inputs.state, PRIORS)
    mean, variance = posterior.crest_depth_moments(neck_prior(STATIONS_DEG, inputs.state, PRIORS))
    peer_mean, peer_sd = levels.crest_moments(tooth)
    assert mean == pytest.approx(peer_mean, abs=0.02)
    assert np.sqrt(variance) == pytest.approx(peer_sd, rel=0.03)


@pytest.mark.parametrize("name", STATED)
def test_chances_and_verdicts_are_the_peers_for_the_same_lines_and_draws(
    tooth: levels.Tooth, plan: ToothPlan, prepared: Prepared, same_draws: rules.Draws, name: RouteName
) -> None:
    """Every route is made, whether or not a lesser one would do."""
    made = route_plan(name, prepared, plan.wishes, plan.perimeter_mm)
    assert_the_peers(made, asked_by(tooth, made), same_draws)


@pytest.mark.parametrize("name", STATED)
@pytest.mark.parametrize("core", [None, {"planned": True}])
def test_other_wishes_ask_the_same_of_both(
    mouth: Mouth, prepared: Prepared, same_draws: rules.Draws, name: RouteName, core: object
) -> None:
    """A root-filled tooth, or a vital one with a core, whose line is to lie in the sulcus: readings and draws stay."""
    plain = mouth.document["teeth"][0]
    finish = {"finish": {"position": "in the sulcus", "mm": 0.5}, "occlusal_reduction_mm": 1.0}
    document = {**mouth.document, "teeth": [{**plain, "vital": core is not None, "restoration": finish, "core": core or {}}]}
    other = plan_tooth(from_document(document), 0, prepared)
    assert other.wishes.rule("ferrule").limit == 2.0
    made = route_plan(name, prepared, other.wishes, other.perimeter_mm)
    assert_the_peers(made, asked_by(levels.read(document), made), same_draws)


def assert_the_peers(made: RoutePlan, asked: levels.Tooth, draws: rules.Draws) -> None:
    done = done_by(made)
    least = rules.least_reserves(asked, draws, made.cut_mm, made.finish_mm, done)
    graded = {requirement: g for requirement, g in made.assessment.graded.items() if g is not None}
    assert set(least) == set(graded)
    for requirement, reserve in least.items():
        found, chance = graded[requirement], float(np.mean(reserve >= 0))
        assert found.least == pytest.approx(reserve, abs=1e-9), requirement
        said = rules.verdict_of(requirement, chance, route.confidence(requirement))
        assert found.verdict == said, requirement


def test_one_draw_after_the_other_gives_what_all_at_once_give(
    tooth: levels.Tooth, plan: ToothPlan, same_draws: rules.Draws
) -> None:
    made = plan.route("soft tissue only").plan
    assert made is not None
    few = same_draws.each(lambda x: x[..., :40])
    looped, at_once = (
        f(tooth, few, made.cut_mm, made.finish_mm) for f in (route.simulate_in_a_loop, route.simulate_vectorised)
    )
    assert set(looped) == set(at_once)
    for name, reserve in at_once.items():
        assert looped[name] == pytest.approx(reserve, abs=1e-12), name


def test_lines_of_the_programme_cost_what_a_general_optimiser_finds(
    tooth: levels.Tooth, plan: ToothPlan, prepared: Prepared, same_draws: rules.Draws
) -> None:
    """Rows, bounds and cost are the peer's own; only the draws are shared. Nothing the optimiser finds is cheaper by 0.1 %.

    Lines of any shape: what a hand can make of them is held by properties of its own.
    """
    stated = route.statement(tooth, same_draws, {}, margin=prepared.margin_mm, arc_mm=route.perimeter_mm(tooth) / 36)
    treatment = Treatment(procedure=procedure_of("soft tissue only"))
    bounds = bounds_of(prepared, plan.wishes, treatment)
    programme = programme_of(prepared, plan.wishes, bounds, {}, treatment, arc_mm=plan.perimeter_mm / 36)
    lines = solve(replace(programme, shape=None))
    cut, finish = solvers.with_scipy(stated)
    assert lines.cost == pytest.approx(solvers.cost(stated, lines.cut_mm, lines.finish_mm), rel=1e-9)
    assert lines.cost == pytest.approx(solvers.cost(stated, cut, finish), rel=1e-3)
    assert lines.cut_mm == pytest.approx(cut, abs=0.01)
    slack = 2e-5  # the room the program leaves its rows
    assert np.all(lines.cut_mm >= stated.cut_low - slack)
    assert np.all(lines.cut_mm <= stated.cut_high + slack)
    assert np.all(lines.finish_mm >= stated.finish_low - slack)
    assert np.all(lines.finish_mm <= stated.finish_high + slack)
    assert np.all(lines.finish_mm - lines.cut_mm >= stated.gap - slack)


def test_the_drawn_margin_follows_the_crown_heights_in_both(tooth: levels.Tooth, prepared: Prepared) -> None:
    """The program writes the kernel as six harmonics, the peer whole: they differ by less than 0.01 mm."""
    assert prepared.margin_mm == pytest.approx(route.margin_mm(tooth), abs=0.01)
