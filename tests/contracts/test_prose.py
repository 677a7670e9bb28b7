"""The counts of what makes the code harder to read may only fall; the examples of `core/` are run."""

import doctest
import importlib
import json
import pkgutil
from types import ModuleType

import pytest

import collum.core
from tools import prose


def test_no_count_rises() -> None:
    risen = list(prose.rises(prose.counted(), json.loads(prose.KEPT.read_text(encoding="utf-8"))))
    assert not risen, risen


def test_a_planted_phrase_function_and_fragment_are_counted() -> None:
    assert prose.MANNERED.findall("What stands here is told to nobody.") == ["stands", "is told", "nobody"]
    assert prose.undocumented('def half(x):\n    """Return half."""\n') == ["half"]
    sections = "".join(f"\n    {section}    -\n    One.\n" for section in prose.SECTIONS)
    whole = f'def half(x):\n    """Return half.\n{sections}\n    >>> half(2)\n    1.0\n    """\n'
    assert prose.undocumented(whole) == []
    assert list(prose.rises({"fragments": {"core": 2, "plan": 1}}, {"fragments": {"core": 2}})) == [
        "fragments in plan: 1, kept 0"
    ]


@pytest.mark.parametrize("module", [found.name for found in pkgutil.walk_packages(collum.core.__path__, "collum.core.")])
def test_examples_give_what_they_say(module: str) -> None:
    found: ModuleType = importlib.import_module(module)
    assert doctest.testmod(found).failed == 0
