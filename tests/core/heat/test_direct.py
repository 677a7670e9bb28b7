"""A round run at once: the same as superposition while tissue stands, and what holding it fixed costs when it is cut away."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from collum.core.heat import HeatCourse, NeckShape, Organ, Sector, StrokeResponse, stroke_response, superpose
from collum.core.heat.body import Body
from collum.core.heat.direct import RoundStroke, direct_course
from collum.core.heat.neck_body import carved_body, neck_body, sector_stroke, watched_points
from tests.making.necks import neck_curves

SHAPE = NeckShape(**neck_curves())
SECTORS = tuple(Sector(from_deg=60 * i, to_deg=60 * i + 60, speed_mm_s=7) for i in range(6))
# Two passes of six sectors, each neighbour apart from the other in time.
ROUND = tuple((2.0 * i, sector) for i, sector in enumerate((0, 2, 4, 1, 3, 5, 0, 2, 4, 1, 3, 5)))
POINTS, ORGANS = watched_points(SHAPE, 30)
UNTIL_S = 80.0


@cache
def standing() -> Body:
    return neck_body(SHAPE, Sector(from_deg=0, to_deg=360, speed_mm_s=7), step_mm=0.3, perfusion_share=0, carved=False)


def superposed(body: Body) -> HeatCourse:
    responses: list[StrokeResponse] = [stroke_response(body, sector_stroke(SHAPE, s), POINTS, ORGANS) for s in SECTORS]
    starts = [[at for at, which in ROUND if which == sector] for sector in range(6)]
    return superpose(responses, starts, until_s=UNTIL_S)


def at_once(*, cut_away: bool) -> HeatCourse:
    body, strokes = standing(), []
    for number, (start, which) in enumerate(ROUND):
        if cut_away and number < 6:
            body = carved_body(body, SHAPE, SECTORS[which].from_deg, SECTORS[which].to_deg)
        strokes.append(RoundStroke(start_s=start, stroke=sector_stroke(SHAPE, SECTORS[which]), body_after=body))
    return direct_course(standing(), strokes, POINTS, ORGANS, UNTIL_S)


@pytest.mark.slow
def test_what_holding_the_tissue_fixed_costs() -> None:
    held, stood, away = superposed(standing()), at_once(cut_away=False), at_once(cut_away=True)
    gone = superposed(carved_body(standing(), SHAPE, 0, 360))
    # While nothing is cut away both ways are one; steps of time differ.
    assert np.abs(held.rise_degC - stood.rise_degC).max() < 5e-3 * stood.rise_degC.max()
    ratio: dict[Organ, float] = {organ: away.peak_degC(organ) / held.peak_degC(organ) for organ in set(ORGANS)}
    # Seen: bone and ligament 1.16, gum that stays 1.3, pulp 1.01. Standing tissue is too cool by as much.
    assert 1.05 < ratio["bone"] < 1.3 and 1.05 < ratio["ligament"] < 1.3
    assert 1.1 < ratio["soft_tissue"] < 1.5 and 0.98 < ratio["pulp"] < 1.1
    # Tissue that is gone before the first stroke is the upper bound.
    for organ in set(ORGANS):
        assert away.peak_degC(organ) < gone.peak_degC(organ) < 2 * held.peak_degC(organ)


def test_tissue_that_is_gone_takes_its_heat_along() -> None:
    stroke = sector_stroke(SHAPE, SECTORS[0])
    carved = carved_body(standing(), SHAPE, 0, 60)
    kept, cut = (
        direct_course(standing(), [RoundStroke(start_s=0, stroke=stroke, body_after=after)], POINTS, ORGANS, 3.0)
        for after in (None, carved)
    )
    root = [organ == "pulp" for organ in ORGANS]
    assert kept.times_s[-1] == cut.times_s[-1] == 3
    assert 0 < cut.rise_degC[root, -1].max() < kept.rise_degC[root, -1].max()


def test_carving_one_sector_leaves_the_others() -> None:
    part, whole = carved_body(standing(), SHAPE, 330, 390), carved_body(standing(), SHAPE, 0, 360)
    gone_part, gone_whole = standing().solid & ~part.solid, standing().solid & ~whole.solid
    assert 0 < gone_part.sum() < 0.3 * gone_whole.sum() and not (gone_part & ~gone_whole).any()
    x, y, _ = standing().grid.mesh_mm()
    angle = np.broadcast_to(np.rad2deg(np.arctan2(y, x)), gone_part.shape)
    assert np.abs(angle[gone_part]).max() <= 30


def test_strokes_that_overlap_and_bodies_on_another_grid_are_refused() -> None:
    stroke = sector_stroke(SHAPE, SECTORS[0])
    with pytest.raises(ValueError, match="before the one before has ended"):
        direct_course(standing(), [RoundStroke(start_s=s, stroke=stroke) for s in (0.0, 0.2)], POINTS, ORGANS, 3.0)
    moved = replace(standing().grid, x_mm=standing().grid.x_mm + 1)
    other = RoundStroke(start_s=0, stroke=stroke, body_after=replace(standing(), grid=moved))
    with pytest.raises(ValueError, match="another grid"):
        direct_course(standing(), [other], POINTS, ORGANS, 3.0)
