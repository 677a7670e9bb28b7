"""The tree holds nothing of the machine it was written on, no address of a package index, and no overgrown file."""

import re
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT, text_of, tracked_files

# Written in pieces, so that this file does not hold what it looks for.
INDEXES = (
    "pypi" + ".org",
    "python" + "hosted.org",
    "npm" + "js.org",
    "npm" + "js.com",
    "yarn" + "pkg.com",
    "npm" + "mirror.com",
)
INDEX = re.compile("|".join(re.escape(host) for host in INDEXES))
INDEX_OPTION = re.compile(r"--(?:extra-)?index" + r"-url[ =]\S+:|find" + r"-links[ =]\S*/|" + "file" + ":///")
MACHINE_PATH = re.compile(r"(?<![\w.~/}])/(?:" + "work|tmp|root|home" + r")/[\w.-]")
LOCKS = ("run", "build", "test", "bench", "upkeep")
# These grow with every route and every constant.
MADE_FROM_THE_PROGRAM = ("openapi.json", "docs/constants.md")
LARGEST_FILE_BYTES = 200_000
LARGEST_TOGETHER_BYTES = 2_000_000
GOLDEN, LARGEST_GOLDEN_BYTES = "tests/golden/", 6_000_000  # answers are compared by programs; a renewal writes them all
LONGEST_MODULE_LINES = 500
LISTED_MODULE_LINES = 300


def leftovers(text: str) -> list[str]:
    """Return what in a text belongs to one machine or to one package index."""
    return [found.group() for pattern in (INDEX, INDEX_OPTION, MACHINE_PATH) for found in pattern.finditer(text)]


def test_no_tracked_file_names_a_package_index_or_a_place_of_one_machine() -> None:
    texts = {path.relative_to(ROOT).as_posix(): text_of(path) for path in tracked_files()}
    assert {name: found for name, text in texts.items() if text and (found := leftovers(text))} == {}


@pytest.mark.parametrize(
    "planted",
    [
        "see /" + "work/main",
        "cp x /" + "tmp/y",
        "open('/" + "home/me/case.toml')",
        "https://" + INDEXES[0] + "/simple",
        "file" + ":///opt",
    ],
)
def test_the_search_for_leftovers_finds_a_planted_one(planted: str) -> None:
    assert leftovers(planted)


@pytest.mark.parametrize("harmless", ["docs/work/page.md", "src/tmp", "a home/garden", "{folder}/tmp/x"])
def test_the_search_for_leftovers_passes_what_only_looks_like_one(harmless: str) -> None:
    assert not leftovers(harmless)


@pytest.mark.parametrize("name", LOCKS)
def test_every_locked_package_has_a_version_and_hashes(name: str) -> None:
    entries = locked_entries((ROOT / f"requirements/{name}.lock").read_text(encoding="utf-8"))
    assert entries
    assert [entry for entry in entries if not entry_is_whole(entry)] == []


@pytest.mark.parametrize(
    "entry", ["numpy==2.4.6", "numpy>=2 --hash=sha256:" + 64 * "a", "torch==2.1+cpu --hash=sha256:" + 64 * "a"]
)
def test_a_locked_package_without_hash_exact_version_or_with_a_local_one_is_refused(entry: str) -> None:
    assert not entry_is_whole(entry)


def test_no_tracked_file_is_overgrown() -> None:
    sizes = {path.relative_to(ROOT).as_posix(): path.stat().st_size for path in tracked_files() if "lock" not in path.name}
    made_from_the_program = [sizes.pop(name) for name in MADE_FROM_THE_PROGRAM]
    assert max(made_from_the_program) < 2 * LARGEST_FILE_BYTES
    golden = {name: size for name, size in sizes.items() if name.startswith(GOLDEN) and name.endswith(".xz")}
    assert sum(golden.values()) <= LARGEST_GOLDEN_BYTES
    sizes = {name: size for name, size in sizes.items() if name not in golden}
    assert {name: size for name, size in sizes.items() if size > LARGEST_FILE_BYTES} == {}
    made = sum(size for name, size in sizes.items() if name.startswith(("tests/", "examples/")) and not name.endswith(".py"))
    assert made <= LARGEST_TOGETHER_BYTES


def test_no_module_is_longer_than_a_reader_can_hold() -> None:
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in _modules()}
    for path, length in sorted(lengths.items(), key=lambda item: -item[1]):
        if length > LISTED_MODULE_LINES:
            print(f"long module: {path.relative_to(ROOT)} {length} lines")
    assert [path for path, length in lengths.items() if length > LONGEST_MODULE_LINES] == []


def locked_entries(lock: str) -> list[str]:
    """Return the entries of a lock file, each on one line, comments left out."""
    joined = lock.replace("\\\n", " ")
    return [line for line in joined.splitlines() if line.strip() and not line.lstrip().startswith("#")]


def entry_is_whole(entry: str) -> bool:
    """Say whether an entry names an exact public version and at least one SHA-256."""
    exact = re.match(r"[a-z0-9][a-z0-9._-]*==[0-9][0-9a-z.]*(?=[ ;])", entry)
    return exact is not None and re.search(r"--hash=sha256:[0-9a-f]{64}", entry) is not None


def _modules() -> list[Path]:
    endings = (".py", ".ts", ".svelte", ".css")
    return [path for path in tracked_files() if path.suffix in endings and path.name != "case.ts"]
