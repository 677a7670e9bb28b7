"""The small twins of the hunts of `make fuzz`: a few seconds each, the same code, other inputs than nobody ever met."""

from pathlib import Path
from unittest.mock import patch

import pytest

from collum.app.chair import kept_heat as chair
from tests.fuzz.case_files import hunt_case_files
from tests.fuzz.hostile import Hunt
from tests.fuzz.meshes import hunt_meshes
from tests.fuzz.operations import hunt_operations
from tests.fuzz.server import demo_documents, server
from tests.measuring.heat import heat_by_hand

SEED = 7


@pytest.mark.slow
def test_mutated_case_files_are_refused_or_come_back_as_they_were() -> None:
    found = hunt_case_files(800, SEED)
    assert found.found == []
    assert min(found.counts[name] for name in ("refused", "accepted", "planned")) > 0


@pytest.mark.slow
def test_hostile_meshes_are_refused_or_judged() -> None:
    found = hunt_meshes(80, SEED)
    assert found.found == []
    assert found.counts["judged"] > 0 and len(found.counts) > 3


@pytest.mark.slow
@pytest.mark.parametrize("sealed", [False, True])
def test_no_request_to_any_operation_ends_in_a_fault_of_our_own(tmp_path: Path, sealed: bool) -> None:
    with patch.object(chair, "heat_of_plan", heat_by_hand), server(tmp_path, sealed=sealed) as running:
        found = hunt_operations(250, SEED, running, demo_documents())
    assert found.found == []
    assert {"200", "201", "404", "422"} <= set(found.counts)


def test_a_hunt_tells_what_it_found() -> None:
    hunt = Hunt(what="made", seed=1)
    hunt.count("refused")
    hunt.found.append("one")
    assert hunt.as_json() == {"tried": 0, "seed": 1, "endings": {"refused": 1}, "found": ["one"]}
