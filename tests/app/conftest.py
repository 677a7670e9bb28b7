"""A practice in a folder of its own, with a fixed clock and fixed ids, and few draws."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.app.practice import Practice, open_practice
from tests.making.environment import FixedEnvironment


@pytest.fixture
def environment(tmp_path: Path) -> FixedEnvironment:
    return FixedEnvironment(data_directory=tmp_path / "practice")


@pytest.fixture
def practice(environment: FixedEnvironment) -> Iterator[Practice]:
    with open_practice(environment, draws=300) as opened:
        yield opened
