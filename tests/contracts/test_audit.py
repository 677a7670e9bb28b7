"""The page of known faults tells a package without known faults from one for which no answer came."""

import json

from tools import audit

LOCKED = {("alpha", "1.0"), ("beta", "2.0")}


def told(*entries: dict[str, object]) -> audit.Answer:
    """Return the answer for the two locked packages, out of what pip-audit prints."""
    return audit.python_answer(LOCKED, audit.known_faults(json.dumps({"dependencies": entries, "fixes": []})))


def test_an_answer_for_every_package_without_a_fault_is_clean() -> None:
    answer = told({"name": "alpha", "version": "1.0", "vulns": []}, {"name": "beta", "version": "2.0", "vulns": []})
    assert answer.clean
    assert answer.told() == "no faults known in 2 packages"


def test_a_package_that_was_skipped_has_no_answer_and_is_not_clean() -> None:
    answer = told({"name": "alpha", "version": "1.0", "vulns": []}, {"name": "beta", "skip_reason": "not found"})
    assert not answer.clean
    assert answer.told() == "**no answer** for 1 of 2 packages"


def test_a_fault_is_named_also_where_other_answers_are_missing() -> None:
    answer = told({"name": "beta", "version": "2.0", "vulns": [{"id": "F-1"}, {"id": "F-2"}]})
    assert not answer.clean
    assert answer.told() == "**faults known**: beta 2.0 (F-1, F-2); **no answer** for 1 of 2 packages"


def test_words_instead_of_an_answer_are_no_answer() -> None:
    for said in ("", "service unavailable", '{"message": "405 Method Not Allowed"}', "[]"):
        assert audit.python_answer(LOCKED, audit.known_faults(said)).told() == "**no answer** for 2 of 2 packages"
        assert audit.browser_answer(said, packages=3).told() == "**no answer** for 3 of 3 packages"


def test_the_browser_part_is_judged_by_what_npm_names() -> None:
    assert audit.browser_answer('{"vulnerabilities": {}}', packages=3).clean
    faulty = audit.browser_answer('{"vulnerabilities": {"gamma": {"severity": "high"}}}', packages=3)
    assert not faulty.clean
    assert faulty.told() == "**faults known**: gamma (high)"


def test_the_page_gives_each_lock_its_answer() -> None:
    page = audit.page({"one.lock": audit.Answer(packages=2, answered=0)}, "2000-01-01")
    assert page.endswith("| lock | answer |\n|---|---|\n| one.lock | **no answer** for 2 of 2 packages |\n")
