"""A practice of its own for each test that judges one."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.app.practice import Practice, open_practice
from tests.making.environment import FixedEnvironment


@pytest.fixture
def environment(tmp_path: Path) -> FixedEnvironment:
    return FixedEnvironment(data_directory=tmp_path)


@pytest.fixture
def practice(environment: FixedEnvironment) -> Iterator[Practice]:
    with open_practice(environment) as opened:
        yield opened
