"""A store in a folder of its own, and stamps with ids and times by number."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.records import Store


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


@pytest.fixture
def store(folder: Path) -> Iterator[Store]:
    opened = Store.open(folder)
    yield opened
    opened.close()
