"""What every test shares: the profiles of Hypothesis, the count of skips, and the rule that no test leaves this machine."""

from __future__ import annotations

import os
import socket
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from xdist.remote import Producer
from xdist.scheduler import Scheduling

from tests.sharing_out import BROWSER, ByFile

TESTS = Path(__file__).resolve().parent
LOOPBACK = ("127.0.0.1", "::1", "localhost")
COUNTED = ("core", "plan", "wire", "case", "records", "published")  # whose tests have to reach the branches that are counted
UNMARKED_LIMIT_S = 1.5
# A stopped test shows that something hangs, not that a machine is slow: ten times what the longest of a kind takes when idle.
SLOW_LIMIT_S = 300
BROWSER_LIMIT_S = 400

# As the program itself does, and before numpy is loaded: two processes whose threads wait for one another halve their speed.
for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(threads, "1")

settings.register_profile("ci", derandomize=True, max_examples=100, deadline=None, database=None)
settings.register_profile("fuzz", max_examples=2_000, deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


@pytest.fixture(autouse=True)
def _only_loopback(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Refuse every connection that would leave this machine; loopback and local pipes stay open."""
    connect = socket.socket.connect

    def guarded(self: socket.socket, address: object) -> None:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not (isinstance(address, tuple) and address[0] in LOOPBACK):
            raise AssertionError(f"a test tried to reach {address!r}")
        connect(self, address)  # type: ignore[arg-type]

    monkeypatch.setattr(socket.socket, "connect", guarded)
    yield


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add what `tools/checks.py` tells the run: to count the skips, and which stages failed before."""
    parser.addoption("--failed-before", default="", help="names of stages that failed before the tests")
    parser.addoption(
        "--count-skips", action="store_true", help="fail when other tests are skipped than expected_skips.toml lists"
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the browser tests as what they are and put them last, the long ones first.

    Last, because the driver of the browser leaves an event loop running in its process, in which no other may be started;
    long ones first, so that no process waits for another at the end.
    """
    for item in items:
        browser, slow = item.nodeid.startswith(BROWSER), item.get_closest_marker("slow") is not None
        if browser:
            item.add_marker(pytest.mark.browser)
        if slow or item.path.relative_to(TESTS).parts[0] not in COUNTED:
            item.add_marker(pytest.mark.no_cover)  # counting branches makes a test half as long again
        if (browser or slow) and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(BROWSER_LIMIT_S if browser else SLOW_LIMIT_S))
    items.sort(key=lambda item: (item.get_closest_marker("browser") is not None, item.get_closest_marker("slow") is None))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> Scheduling:
    """Share the tests out as `tests/sharing_out.py` says."""
    return ByFile(config, log)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Turn a wrong count of skips, or a stage that failed before the tests, into a failed run."""
    if hasattr(session.config, "workerinput"):
        return
    if exitstatus == pytest.ExitCode.OK and (_wrong_skips(session.config) or session.config.getoption("--failed-before")):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say before the last lines what failed beside the tests, and which unmarked tests are too slow to stay unmarked."""
    if stages := config.getoption("--failed-before"):
        terminalreporter.section("FAILED before the tests", red=True)
        terminalreporter.line(stages)
    if wrong := _wrong_skips(config):
        terminalreporter.section("skips differ from tests/expected_skips.toml", red=True)
        for line in wrong:
            terminalreporter.line(line)
    reports = [report for key in ("passed", "failed") for report in terminalreporter.getreports(key)]
    slow = sorted(
        {r.nodeid for r in reports if r.when == "call" and r.duration > UNMARKED_LIMIT_S and "slow" not in r.keywords}
    )
    if slow and config.getoption("--count-skips"):
        terminalreporter.section(f"unmarked tests that took more than {UNMARKED_LIMIT_S} s (listed, not judged)")
        for line in slow:
            terminalreporter.line(line)


def _wrong_skips(config: pytest.Config) -> list[str]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or not config.getoption("--count-skips"):
        return []
    skipped = {report.nodeid for report in reporter.getreports("skipped")}
    entries = tomllib.loads((TESTS / "expected_skips.toml").read_text(encoding="utf-8")).get("skip", [])
    expected = {entry["test"] for entry in entries}
    unforeseen = [f"skipped, but not listed: {test}" for test in sorted(skipped - expected)]
    return unforeseen + [f"listed, but not skipped: {test}" for test in sorted(expected - skipped)]
