"""The pages speak of what is there: tests they name exist, links lead somewhere, invariants have a test, keys are explained."""

import ast
import re
from functools import cache
from pathlib import Path

from tests.contracts.tracked import ROOT, tracked_files

NAMED_TEST = re.compile(r"(tests/[\w/]+\.py)(?:::(\w+))?")
LINK = re.compile(r"\]\(([^)#\s]+)(?:#[^)]*)?\)")
INVARIANT = re.compile(r"^(\d+)\. \*\*", re.MULTILINE)


def test_every_test_a_page_names_exists() -> None:
    missing = {
        f"{page.relative_to(ROOT)}: {found.group()}"
        for page in _pages()
        for found in NAMED_TEST.finditer(_text(page))
        if not _exists(found)
    }
    assert sorted(missing) == []


def test_a_page_that_names_a_test_that_is_not_there_is_noticed() -> None:
    for text in ("tests/contracts/test_pages.py::test_that_is_not_there", "tests/nowhere/test_x.py"):
        found = NAMED_TEST.search(text)
        assert found is not None and not _exists(found)


def test_every_relative_link_leads_to_a_file() -> None:
    links = [(page, link) for page in _pages() for link in LINK.findall(_text(page)) if "://" not in link]
    assert links
    assert [f"{page.relative_to(ROOT)}: {link}" for page, link in links if not (page.parent / link).exists()] == []


def test_every_invariant_of_the_architecture_is_numbered_in_order_and_names_its_test() -> None:
    parts = INVARIANT.split((ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8"))
    numbers, texts = parts[1::2], parts[2::2]
    assert [int(number) for number in numbers] == list(range(1, len(numbers) + 1))
    assert len(numbers) >= 10
    assert [number for number, text in zip(numbers, texts, strict=True) if not NAMED_TEST.search(text)] == []


def test_every_package_of_the_program_stands_in_the_architecture() -> None:
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    packages = {path.parent.name for path in (ROOT / "src/collum").glob("*/__init__.py")}
    assert sorted(name for name in packages if f"{name}/" not in text) == []


def test_every_decision_has_its_four_parts_and_its_number() -> None:
    """No number is given twice; one may be missing, where it was reserved for work that took another way."""
    decisions = sorted((ROOT / "docs/decisions").glob("[0-9]*.md"))
    numbers = [int(path.name[:4]) for path in decisions]
    assert len(set(numbers)) == len(numbers)
    for number, path in zip(numbers, decisions, strict=True):
        text = path.read_text(encoding="utf-8")
        assert path.name[4] == "-" and text.startswith(f"# {number}. "), path.name
        for part in ("**Context.**", "**Choice.**", "**Considered.**", "**Consequences.**"):
            assert part in text, f"{path.name}: {part}"


def _exists(found: re.Match[str]) -> bool:
    path, test = ROOT / found[1], found[2]
    return path.is_file() and (test is None or test in _tests_of(path))


@cache
def _tests_of(path: Path) -> frozenset[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def _pages() -> list[Path]:
    return [path for path in tracked_files() if path.suffix == ".md"]


def _text(page: Path) -> str:
    return page.read_text(encoding="utf-8")
