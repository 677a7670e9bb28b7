"""A store in a folder of its own, clear and sealed."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.records import Store
from collum.records.sealing import Keys


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


@pytest.fixture(params=["clear", "sealed"])
def keys(request: pytest.FixtureRequest) -> Keys | None:
    """The keys of the record, None where it is clear: what the store promises, it promises of both."""
    return None if request.param == "clear" else Keys(bytes(range(32)))


@pytest.fixture
def store(folder: Path, keys: Keys | None) -> Iterator[Store]:
    opened = Store.open(folder, keys)
    yield opened
    opened.close()
