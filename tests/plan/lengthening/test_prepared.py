"""Draws are thinned, averaged and changed by a procedure as a whole: no array of them is left behind."""

from collections.abc import Iterator
from dataclasses import dataclass, field, fields, is_dataclass

import numpy as np
import pytest

from collum.core.draws import DEVIATE, NOT_DRAWN, arrays_of, mean_draw, thinned_draws
from collum.core.ring import STATIONS
from collum.plan.lengthening.levels.prepared import Prepared, at_means, thinned
from collum.plan.lengthening.procedures.act import Act, after
from collum.plan.lengthening.requirements.requirements import line_moves_mm
from tests.making.teeth import broken_premolar, case_of
from tests.measuring.necks import drawn_neck

DRAWS = 4_004  # a number no other axis has, and enough to be thinned
EVERY = 4
ACTS = {
    "restore without lengthening": Act(route="restore without lengthening"),
    "soft tissue only": Act(route="soft tissue only"),
    "soft tissue and bone": Act(route="soft tissue and bone", bone_mm=np.full(STATIONS, 1.2)),
    "extrusion first": Act(route="extrusion first", extruded_mm=2.0),
}


@pytest.fixture(scope="module")
def neck() -> Prepared:
    return drawn_neck(case_of(broken_premolar()), DRAWS)


def every_array(record: object, inside: str = "") -> Iterator[tuple[str, np.ndarray]]:
    """Every array of a record and of the records in it, found without the code under test."""
    for one in fields(record):  # type: ignore[arg-type]  # only records come here
        held = getattr(record, one.name)
        if isinstance(held, np.ndarray):
            yield f"{inside}{one.name}", held
        elif is_dataclass(held):
            yield from every_array(held, f"{inside}{one.name}.")


def drawn(record: object, count: int) -> dict[str, tuple[int, ...]]:
    """Names and other axes of the arrays with so many draws."""
    return {name: array.shape[:-1] for name, array in every_array(record) if array.shape[-1:] == (count,)}


def test_every_array_of_the_neck_has_the_number_of_draws(neck: Prepared) -> None:
    found = drawn(neck, DRAWS)
    assert found.keys() == dict(arrays_of(neck)).keys()
    assert {"sulcus_mm", "lowered_mm", "regrowth.noise", "regrowth.share_deviate", "root.surgery", "cej_mm"} <= found.keys()


@pytest.mark.parametrize("act", ACTS.values(), ids=ACTS)
def test_a_procedure_thinning_and_means_take_every_array(neck: Prepared, act: Act) -> None:
    treated = after(neck, act)
    assert drawn(treated, DRAWS).keys() == drawn(neck, DRAWS).keys()
    few = thinned(treated, EVERY)
    assert drawn(few, few.draws) == drawn(treated, DRAWS) and few.draws == DRAWS // EVERY
    one = at_means(treated)
    assert drawn(one, one.draws) == drawn(treated, DRAWS) and one.draws == 1
    assert not (drawn(few, DRAWS) or drawn(one, DRAWS))


@pytest.mark.parametrize("act", ACTS.values(), ids=ACTS)
def test_a_procedure_on_thinned_draws_is_the_thinned_procedure(neck: Prepared, act: Act) -> None:
    """What is planned from the means is planned from those of all draws, so that the order makes no difference."""
    before, behind = after(thinned(neck, EVERY), act), thinned(after(neck, act), EVERY)
    for (name, one), (_, other) in zip(arrays_of(before), arrays_of(behind), strict=True):
        np.testing.assert_allclose(one, other, atol=1e-12, err_msg=name)


@pytest.mark.parametrize("name", ["restore without lengthening", "soft tissue only", "soft tissue and bone"])
def test_a_line_is_placed_alike_in_a_part_of_the_draws(neck: Prepared, name: str) -> None:
    """A ferrule measured from the sound edge has no chance in it: by the mean of a part it was short in every draw."""
    treated = after(neck, ACTS[name])
    np.testing.assert_allclose(line_moves_mm(thinned(treated, EVERY)), line_moves_mm(treated)[:, ::EVERY], atol=1e-12)
    assert at_means(thinned(treated, EVERY)).whole is None


def test_thinning_keeps_one_draw_in_four_of_every_array(neck: Prepared) -> None:
    whole = dict(arrays_of(neck))
    for name, array in arrays_of(thinned(neck, EVERY)):
        np.testing.assert_array_equal(array, whole[name][..., ::EVERY], err_msg=name)


def test_too_few_draws_are_not_thinned(neck: Prepared) -> None:
    few = thinned(neck, EVERY)
    assert thinned(few, EVERY) is few


def test_the_memory_of_all_arrays_is_counted(neck: Prepared) -> None:
    assert neck.bytes == sum(array.nbytes for _, array in every_array(neck) if array.shape[-1] == DRAWS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Some:
    named: str = field(default="", metadata=NOT_DRAWN)
    level: np.ndarray
    chance: np.ndarray = field(metadata=DEVIATE)
    absent: np.ndarray | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgetful:
    levels: dict[str, np.ndarray]


def test_the_best_estimate_has_means_and_no_chance() -> None:
    mean = mean_draw(Some(level=np.array([[1.0, 3.0]]), chance=np.array([0.5, 0.7])))
    assert (mean.level.tolist(), mean.chance.tolist(), mean.absent) == ([[2.0]], [0.0], None)


def test_a_field_that_could_hide_draws_has_to_say_that_it_does_not() -> None:
    with pytest.raises(TypeError, match=r"Forgetful\.levels"):
        thinned_draws(Forgetful(levels={"crest": np.zeros(4)}), 2)
