"""A store in a folder of its own, on every kind of engine there is."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.records import Store
from tests.records.opening import KINDS, OpenStore


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


@pytest.fixture(params=KINDS.values(), ids=KINDS.keys())
def open_store(request: pytest.FixtureRequest) -> OpenStore:
    """Open the record of a folder as `Store.open` does, on one kind of engine."""
    found: OpenStore = request.param
    return found


@pytest.fixture
def store(folder: Path, open_store: OpenStore) -> Iterator[Store]:
    opened = open_store(folder)
    yield opened
    opened.close()
