"""What the program needs is a short list that changes on purpose, and each entry has its paragraph."""

import re
import tomllib

from tests.contracts.tracked import ROOT

NEEDED = [
    *("alembic", "clarabel", "cryptography", "fastapi", "numpy", "platformdirs", "pydantic", "rich", "scipy", "sqlalchemy"),
    *("sqlcipher3", "structlog", "typer", "typst", "uvicorn"),
]
LARGEST_RUN_LOCK = 40
PAGE = ROOT / "docs/decisions/dependencies.md"


def test_the_program_needs_exactly_these_packages() -> None:
    assert _names(_project()["dependencies"]) == NEEDED


def test_each_package_we_need_has_a_paragraph_that_says_why() -> None:
    explained = re.findall(r"^\*\*([a-z0-9-]+)\*\*", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert sorted(explained) == sorted(set(explained))
    assert set(NEEDED) - set(explained) == set()


def test_the_run_lock_holds_what_is_needed_and_stays_small() -> None:
    locked = set(
        re.findall(r"^([a-z0-9._-]+)==", (ROOT / "requirements/run.lock").read_text(encoding="utf-8"), flags=re.MULTILINE)
    )
    assert set(NEEDED) <= locked
    assert len(locked) <= LARGEST_RUN_LOCK


def test_every_further_lock_holds_the_versions_of_the_run_lock() -> None:
    run = _pins("run")
    for name in ("test", "bench"):
        assert run.items() <= _pins(name).items()


def test_the_version_is_written_once_in_the_package_and_once_in_its_description() -> None:
    import collum

    assert collum.__version__ == _project()["version"]


def _project() -> dict[str, list[str]]:
    project: dict[str, list[str]] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return project


def _names(requirements: list[str]) -> list[str]:
    return [re.split(r"[<>=!~ \[;]", entry)[0] for entry in requirements]


def _pins(name: str) -> dict[str, frozenset[str]]:
    pins: dict[str, set[str]] = {}
    for line in (ROOT / f"requirements/{name}.lock").read_text(encoding="utf-8").splitlines():
        if found := re.match(r"([a-z0-9._-]+)==([^ ;\\]+)", line):
            pins.setdefault(found[1], set()).add(found[2])
    return {name: frozenset(versions) for name, versions in pins.items()}
