"""The neck of a tooth as a body: where each tissue lies, where the wire passes, what is watched."""

import numpy as np
import pytest

from collum.core.heat.body import Body
from collum.core.heat.neck_body import NeckShape, Sector, neck_body, sector_stroke, watched_points
from collum.evidence import value
from tests.making.necks import neck_curves

SECTOR = Sector(from_deg=-30, to_deg=30, speed_mm_s=7)


def a_shape(**changes: object) -> NeckShape:
    return NeckShape(**{**neck_curves(), **changes})


def a_body(shape: NeckShape, *, carved: bool = False, perfusion_share: float = 0) -> Body:
    return neck_body(shape, SECTOR, step_mm=0.2, perfusion_share=perfusion_share, carved=carved)


def tissue_at(body: Body, x: float, y: float, z: float) -> str:
    grid = body.grid
    cell = tuple(int(np.abs(grid.centres_mm(axis) - at).argmin()) for axis, at in enumerate((x, y, z)))
    if not body.solid[cell]:
        return "air"
    names = ("gingiva", "bone", "dentine", "enamel")
    (name,) = [n for n in names if value(f"heat.{n}.conductivity") == body.conductivity[cell]]
    return name


def test_tissues_lie_where_the_curves_say() -> None:
    body = a_body(a_shape())
    assert tissue_at(body, 0, 0, 0) == "dentine"
    assert tissue_at(body, 0, 0, -4) == "dentine"
    assert tissue_at(body, 4.2, 0, -1) == "gingiva"
    assert tissue_at(body, 4.2, 0, -3) == "air"
    assert tissue_at(body, 5.5, 0, 0) == "air"
    assert tissue_at(body, 4.0, 0, 4) == "bone"
    assert tissue_at(body, 5.2, 0, 4) == "gingiva"
    assert tissue_at(body, 7.5, 0, 4) == "air"
    assert tissue_at(body, 4.0, 0, 2) == "gingiva"


def test_enamel_is_a_shell_above_its_junction_only_where_there_is_one() -> None:
    body = a_body(a_shape(enamel_mm=0.8))
    assert tissue_at(body, 3.3, 0, -1.5) == "enamel"
    assert tissue_at(body, 2.0, 0, -1.5) == "dentine"
    assert tissue_at(body, 3.3, 0, 0.5) == "dentine"


def test_carving_takes_the_gum_above_the_cut_and_nothing_else() -> None:
    standing, carved = a_body(a_shape()), a_body(a_shape(), carved=True)
    gone = standing.solid & ~carved.solid
    assert tissue_at(carved, 4.2, 0, -1) == "air" and tissue_at(carved, 4.2, 0, 1.2) == "gingiva"
    z, out = standing.grid.mesh_mm()[2], np.hypot(*standing.grid.mesh_mm()[:2])
    assert gone.sum() > 100
    # The root is 3 to 3.6 mm wide and the cut runs out at 45 degrees, so nothing deeper than this goes.
    assert np.all(np.broadcast_to(z - (out - 3.0), gone.shape)[gone] < 0)
    assert not (carved.solid & ~standing.solid).any()


def test_only_gum_is_cooled_by_blood() -> None:
    body = a_body(a_shape(), perfusion_share=0.5)
    perfused = body.perfusion > 0
    assert set(np.unique(body.conductivity[perfused])) == {value("heat.gingiva.conductivity")}
    assert body.perfusion.max() == pytest.approx(value("heat.gingiva.perfusion") / 2)
    assert not (a_body(a_shape()).perfusion > 0).any()


def test_the_wire_runs_from_the_gum_s_outside_to_the_inner_end_lower_outside_by_the_bevel() -> None:
    shape = a_shape(bevel_deg=60 * np.ones(36))
    entry, tip = shape.wire_ends_mm(np.array([0.0, 90.0, 360.0]))
    assert np.hypot(tip[:, 0], tip[:, 1]) == pytest.approx([3.6, 3.0, 3.6])
    assert np.hypot(entry[:, 0], entry[:, 1]) == pytest.approx([4.8, 4.2, 4.8])
    assert entry[:, 2] - tip[:, 2] == pytest.approx(1.2 / np.tan(np.pi / 3))


def test_a_stroke_takes_its_length_at_its_speed_and_leaves_unit_heat_on_its_face() -> None:
    shape = a_shape()
    stroke, quick = sector_stroke(shape, SECTOR), sector_stroke(shape, Sector(from_deg=-30, to_deg=30, speed_mm_s=10))
    # An arc of 60 degrees at about 3.5 + 0.6 mm.
    assert stroke.duration_s * 7 == pytest.approx(np.pi / 3 * 4.12, rel=0.02)
    assert quick.duration_s == pytest.approx(stroke.duration_s * 0.7)
    width = 1.2 * np.sqrt(2)
    assert stroke.energy_mJ() == pytest.approx(65.61 * width * np.pi / 3 * 4.12, rel=0.02)
    # Its bottom runs at the root, a seventh further in than the middle of its sides.
    looped = sector_stroke(shape, Sector(from_deg=-30, to_deg=30, speed_mm_s=7, loop_mm=2.0))
    assert looped.energy_mJ() / stroke.energy_mJ() == pytest.approx((2 * width + 2) / width, rel=0.07)


def test_a_sector_over_the_seam_is_the_same_as_one_beside_it() -> None:
    shape = a_shape()
    over = sector_stroke(shape, Sector(from_deg=330, to_deg=390, speed_mm_s=7))
    assert over.energy_mJ() == pytest.approx(sector_stroke(shape, SECTOR).energy_mJ())


def test_watched_points_lie_in_their_organs_all_round() -> None:
    shape = a_shape()
    points, organs = watched_points(shape, 30)
    assert points.shape == (60, 3) and organs.count("bone") == 24 and set(organs) == {"bone", "ligament", "pulp", "soft_tissue"}
    body = neck_body(shape, Sector(from_deg=0, to_deg=360, speed_mm_s=7), step_mm=0.2, perfusion_share=0, carved=False)
    found: dict[str, set[str]] = {organ: set() for organ in organs}
    for point, organ in zip(points, organs, strict=True):
        found[organ].add(tissue_at(body, *point))
    assert found["bone"] == {"bone"} and found["pulp"] == {"dentine"}
    assert found["soft_tissue"] <= {"gingiva", "bone"} and found["ligament"] <= {"bone", "dentine"}


def test_the_watched_gum_lies_its_distance_from_the_face_of_the_cut() -> None:
    shape = a_shape(bevel_deg=50 * np.ones(36))
    points, organs = watched_points(shape, 30)
    point = points[organs.index("soft_tissue")]
    entry, tip = (ends[0] for ends in shape.wire_ends_mm(np.array([0.0])))
    along = (entry - tip) / np.linalg.norm(entry - tip)
    off = point - tip
    assert np.linalg.norm(off - off @ along * along) == pytest.approx(value("heat.watch.gum_mm"))


def test_the_far_field_is_as_far_as_heat_spreads_in_a_round() -> None:
    body = a_body(a_shape())
    spread = np.sqrt(4 * 0.1323 * value("heat.response.length_s"))
    for axis in range(2):
        edges = body.grid.edges_mm[axis]
        assert min(-edges[0], edges[-1]) > spread
    assert body.grid.z_mm[-1] - 3 > spread


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"gum_mm": np.ones(4)}, "one value for each angle"),
        ({"cut_mm": np.full(36, -3.0)}, "apical of the margin"),
        ({"crest_mm": np.full(36, -0.5)}, "coronal of the crest"),
    ],
)
def test_a_neck_that_cannot_be_is_refused(changes: dict[str, np.ndarray], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        a_shape(**changes)


def test_a_sector_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="smaller to a greater"):
        sector_stroke(a_shape(), Sector(from_deg=30, to_deg=30, speed_mm_s=7))
