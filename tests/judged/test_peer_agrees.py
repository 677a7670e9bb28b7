"""The plan against the same plan written a second time from the theory pages (benchmarks/peer)."""

import numpy as np
import pytest

from benchmarks.peer import levels, route, solvers
from collum.case import from_document
from collum.core.neck import neck_posterior, neck_prior
from collum.core.ring import STATIONS_DEG
from collum.plan import Prepared, ToothPlan, plan_tooth, prepare
from collum.plan.bounds import bounds_of, programme_of
from collum.plan.inputs import inputs_of
from collum.plan.programme import solve
from tests.making.mouths import Mouth, make_mouths
from tests.making.teeth import generator_of

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
    return prepare(from_document(mouth.document), 0, generator_of(), DRAWS)


@pytest.fixture(scope="module")
def plan(mouth: Mouth, prepared: Prepared) -> ToothPlan:
    return plan_tooth(from_document(mouth.document), 0, prepared)


@pytest.fixture(scope="module")
def same_draws(prepared: Prepared) -> route.Draws:
    """The draws of the program, handed to the peer."""
    edge, sound, junction = prepared.occlusal_edge_mm, prepared.sound_edge_mm, prepared.mucogingival_mm
    assert edge is not None and sound is not None and junction is not None
    return route.Draws(
        sulcus=prepared.sulcus_mm,
        attachment=prepared.attachment_mm,
        own_height=prepared.own_height_mm,
        share=prepared.regrowth.return_share,
        noise=prepared.regrowth.noise,
        edge=edge,
        sound=sound,
        junction=junction,
    )


@pytest.mark.slow
def test_levels_equal_enumeration_of_all_explanations(mouth: Mouth, tooth: levels.Tooth) -> None:
    """Exact against exact: means within 0.02 mm, SD within 3 %."""
    inputs = inputs_of(from_document(mouth.document), 0)
    posterior = neck_posterior(inputs.probing, inputs.soundings, inputs.state)
    mean, variance = posterior.crest_depth_moments(neck_prior(STATIONS_DEG, inputs.state))
    peer_mean, peer_sd = levels.crest_moments(tooth)
    assert mean == pytest.approx(peer_mean, abs=0.02)
    assert np.sqrt(variance) == pytest.approx(peer_sd, rel=0.03)


def test_chances_and_verdicts_are_the_peers_for_the_same_lines_and_draws(
    tooth: levels.Tooth, plan: ToothPlan, same_draws: route.Draws
) -> None:
    made = plan.routes[0].plan
    assert made is not None
    least = route.simulate_vectorised(tooth, same_draws, made.cut_mm, made.finish_mm)
    graded = {name: g for name, g in made.assessment.graded.items() if g is not None}
    assert set(least) == set(graded)
    for name, reserve in least.items():
        assert graded[name].least == pytest.approx(reserve, abs=1e-9), name
        assert graded[name].verdict == route.verdict_of(float(np.mean(reserve >= 0)), reserve, route.confidence(name)), name


def test_lines_of_the_programme_cost_what_a_general_optimiser_finds(
    tooth: levels.Tooth, plan: ToothPlan, prepared: Prepared, same_draws: route.Draws
) -> None:
    """Rows, bounds and cost are the peer's own; only the draws are shared. Nothing the optimiser finds is cheaper by 0.1 %."""
    stated = route.statement(tooth, same_draws, {}, margin=prepared.margin_mm, arc_mm=route.perimeter_mm(tooth) / 36)
    bounds = bounds_of(prepared, plan.wishes, returns_whole=False)
    lines = solve(programme_of(prepared, plan.wishes, bounds, {}, arc_mm=plan.perimeter_mm / 36))
    cut, finish = solvers.with_scipy(stated)
    assert lines.cost == pytest.approx(solvers.cost(stated, lines.cut_mm, lines.finish_mm), rel=1e-9)
    assert lines.cost == pytest.approx(solvers.cost(stated, cut, finish), rel=1e-3)
    assert lines.cut_mm == pytest.approx(cut, abs=0.01)
    slack = 2e-5  # the room the program leaves its rows
    assert np.all(lines.cut_mm >= stated.cut_low - slack)
    assert np.all(lines.finish_mm >= stated.finish_low - slack)
    assert np.all(lines.finish_mm <= stated.finish_high + slack)
    assert np.all(lines.finish_mm - lines.cut_mm >= stated.gap - slack)


def test_the_drawn_margin_follows_the_crown_heights_in_both(tooth: levels.Tooth, prepared: Prepared) -> None:
    """The program writes the kernel as six harmonics, the peer whole: they differ by less than 0.01 mm."""
    assert prepared.margin_mm == pytest.approx(route.margin_mm(tooth), abs=0.01)
