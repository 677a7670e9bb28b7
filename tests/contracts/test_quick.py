"""What changed is tested by the tests whose names mirror it, within the time of `make quick`."""

from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT
from tools import quick

pytest_plugins = ["pytester"]


@pytest.mark.parametrize(
    ("changed", "tests"),
    [
        ("src/collum/plan/lengthening/wishes.py", "tests/plan/lengthening/test_wishes.py"),
        ("src/collum/wire/plan/to_document.py", "tests/wire/plan"),
        ("src/collum/core/neck/__init__.py", "tests/core/neck"),
        ("src/collum/papers/templates/card.typ", "tests/papers/test_card.py"),
        ("src/collum/demo_practice/AQ-07.toml", "tests/demo"),
        ("src/collum/__main__.py", "tests/contracts"),
        ("tests/plan/lengthening/test_wishes.py", "tests/plan/lengthening/test_wishes.py"),
        ("tests/plan/test_removed.py", None),
        ("tests/making/teeth.py", None),
        ("tools/audit.py", "tests/contracts/test_audit.py"),
        ("README.md", "tests/contracts"),
        ("frontend/src/main.ts", None),
    ],
)
def test_a_path_is_tested_by_its_mirror_or_by_the_nearest_folder(changed: str, tests: str | None) -> None:
    assert quick.tests_of(changed, lambda path: (ROOT / path).exists()) == tests


@pytest.mark.parametrize(
    ("changed", "linted"),
    [
        (["frontend/src/views/chair/Ask.svelte", "src/collum/wording/en/plan.toml"], ["src/views/chair/Ask.svelte"]),
        (["frontend/src/removed.ts", "frontend/src/style/answer.css", "src/collum/wording/en/plan.toml"], []),
        (["frontend/src/views/chair/Ask.svelte", "frontend/eslint.config.js"], None),
        (["frontend/package.json"], None),
    ],
)
def test_the_files_that_changed_are_linted_and_all_where_the_rules_did(changed: list[str], linted: list[str] | None) -> None:
    assert quick.linted_of(changed, lambda path: (ROOT / path).exists()) == linted


def test_single_files_come_before_folders_in_the_order_of_what_changed_and_each_once() -> None:
    changed = [
        "src/collum/wire/plan/to_document.py",
        "src/collum/plan/lengthening/wishes.py",
        "docs/audit.md",
        "src/collum/wire/plan/summary.py",
    ]
    found = quick.tests_of_all(changed, lambda path: (ROOT / path).exists())
    assert found == ["tests/plan/lengthening/test_wishes.py", "tests/contracts/test_audit.py", "tests/wire/plan"]


def test_what_differs_from_main_is_found_and_what_is_not_committed_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(quick, "ROOT", tmp_path)
    for arguments in (("init", "-q", "-b", "main"), ("config", "user.email", "a@b.c"), ("config", "user.name", "A")):
        quick.git(*arguments)
    for name in ("kept", "committed", "edited"):
        (tmp_path / name).write_text("one", encoding="utf-8")
    quick.git("add", ".")
    quick.git("commit", "-q", "-m", "one")
    quick.git("checkout", "-q", "-b", "other")
    (tmp_path / "committed").write_text("two", encoding="utf-8")
    quick.git("commit", "-q", "-a", "-m", "two")
    (tmp_path / "edited").write_text("two", encoding="utf-8")
    (tmp_path / "new").write_text("one", encoding="utf-8")
    assert quick.changed_files() == ["edited", "new", "committed"]


def test_a_run_ends_when_its_time_is_used_up_and_says_how_many_are_left(pytester: pytest.Pytester) -> None:
    pytester.makepyfile("def test_a(): pass\ndef test_b(): pass\ndef test_c(): pass")
    budget = quick.Budget(0)
    assert pytester.inline_run("-p", "no:cacheprovider", plugins=[budget]).ret == pytest.ExitCode.INTERRUPTED
    assert (budget.used_up, budget.left) == (True, 2)
    whole = quick.Budget(600)
    assert pytester.inline_run("-p", "no:cacheprovider", plugins=[whole]).ret == pytest.ExitCode.OK
    assert (whole.used_up, whole.left) == (False, 0)
