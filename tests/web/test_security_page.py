"""docs/security.md: each row has tests that are there, and the row without a door stays without one."""

import re

import pytest

ROW = re.compile(r"^### (S\d+)\. ", re.MULTILINE)
TEST = re.compile(r"^- `(tests/[\w/]+\.py)::(test_\w+)`$", re.MULTILINE)
OF_THIS_PART = {f"S{number}" for number in (*range(1, 16), 17, 18)}


def test_every_row_names_tests_that_are_there(pytestconfig: pytest.Config) -> None:
    root = pytestconfig.rootpath
    _, *parts = ROW.split((root / "docs/security.md").read_text(encoding="utf-8"))
    rows = dict(zip(parts[::2], parts[1::2], strict=True))
    assert set(rows) == OF_THIS_PART
    for row, text in rows.items():
        named = TEST.findall(text)
        assert named, row
        for file, name in named:
            assert f"def {name}(" in (root / file).read_text(encoding="utf-8"), f"{row}: {file}::{name}"


def test_every_test_of_a_row_is_named_in_the_page(pytestconfig: pytest.Config) -> None:
    page = (pytestconfig.rootpath / "docs/security.md").read_text(encoding="utf-8")
    tests = [
        name
        for file in sorted((pytestconfig.rootpath / "tests/web").glob("test_*.py"))
        for name in re.findall(r"^def (test_s\d+_\w+)\(", file.read_text(encoding="utf-8"), re.MULTILINE)
    ]
    assert tests
    assert [name for name in tests if f"::{name}`" not in page] == []


def test_s9_nothing_writes_a_table_for_spreadsheets(pytestconfig: pytest.Config) -> None:
    sources = [*(pytestconfig.rootpath / "src").rglob("*.py"), *(pytestconfig.rootpath / "frontend/src").rglob("*.ts")]
    assert len(sources) > 50
    writes = re.compile(r"\bimport csv\b|text/csv|to_csv|\.csv\b")
    assert [file.name for file in sources if writes.search(file.read_text(encoding="utf-8"))] == []


def test_s6_one_module_alone_stores_in_the_browser_for_good_and_it_stores_the_key(pytestconfig: pytest.Config) -> None:
    frontend = pytestconfig.rootpath / "frontend/src"
    sources = {file: file.read_text(encoding="utf-8") for suffix in ("ts", "svelte") for file in frontend.rglob(f"*.{suffix}")}
    stores = re.compile(r"indexedDB|\bcaches\b|serviceWorker|document\.cookie|showSaveFilePicker|getDirectory\(")
    assert [file.name for file, text in sources.items() if stores.search(text)] == ["kept_key.ts"]
    written = (frontend / "api/kept_key.ts").read_text(encoding="utf-8")
    assert re.findall(r"store\.(?:add|put)\(.*?\)", written) == ["store.add(kept)"]
    assert "const kept: KeptKey = { browser, key };" in written and 'generateKey(CURVE, false, ["sign"])' in written
