"""Papers set in a process of their own: the same bytes, one clear fault where the process ends, and no process left behind."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from collum.app.plans import typesetter
from collum.app.plans.typesetter import PaperNotMade, TypesettingProcess
from collum.app.practice import Practice
from collum.papers import PaperKind, in_process
from collum.papers.engine import compiled
from tests.app.bench import Bench
from tests.making.environment import FixedEnvironment

MADE_AT = "2026-05-01T09:00:00+00:00"
SOURCE = '#set document(title: "a")\n#set text(lang: "en")\n= Sheet\n#sys.inputs.said'
UP_TO_S = 60  # generous: the tests wait for events, not for this
# Takes the place of the engine: while the mark is there it ends in the middle of an answer, hangs, or says what is no length.
STANDS_IN = """
import sys, time
from pathlib import Path
mark, bad = Path(sys.argv[1]), sys.argv[2]
for line in sys.stdin.buffer:
    fails = mark.exists()
    if fails and bad == "hangs":
        time.sleep(600)
    sys.stdout.buffer.write({"ends": b"9\\n%PD", "babbles": b"nine\\n"}[bad] if fails else b"5\\n%PDF-")
    sys.stdout.buffer.flush()
    if fails:
        break
"""


@pytest.fixture
def process() -> Iterator[TypesettingProcess]:
    made = TypesettingProcess()
    yield made
    made.close()


def said(process: TypesettingProcess, words: str = "a heron") -> bytes:
    return process(SOURCE, {"said": words}, made_at=MADE_AT)


def ended(pid: int) -> bool:
    """Say whether a process is gone; one that nobody has waited for yet is."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    state = Path(f"/proc/{pid}/stat")
    return state.exists() and state.read_text(encoding="utf-8").rsplit(")", 1)[1].split()[0] == "Z"


def wait_for(condition: Callable[[], bool]) -> None:
    until = time.monotonic() + UP_TO_S
    while not condition():
        assert time.monotonic() < until
        time.sleep(0.01)


@pytest.mark.usefixtures("planned_once", "paced_by_hand")
def test_every_paper_of_a_practice_has_the_bytes_it_has_when_set_here(
    cleared: Bench, environment: FixedEnvironment, process: TypesettingProcess, monkeypatch: pytest.MonkeyPatch
) -> None:
    cleared.answer({"bone_drugs": "yes"})  # so that there is something to ask a physician
    plan_id = cleared.plan()
    kinds: tuple[PaperKind, ...] = ("plan-sheet", "findings-sheet", "restoration-sheet")
    cleared.practice.paper(plan_id, "restoration-sheet")  # the first to ask stores the answer, by the clock

    now = environment.moment

    def papers(practice: Practice) -> list[bytes]:
        environment.moment = now  # which checklist and letter are made at
        of_plan = [practice.paper(plan_id, kind) for kind in kinds]
        return [*of_plan, practice.safety.checklist(cleared.case_id), practice.safety.letter(cleared.case_id)]

    here = papers(cleared.practice)
    with monkeypatch.context() as patched:
        patched.setattr("collum.papers.engine.compiled", lambda *_, **__: pytest.fail("set in this process"))
        there = papers(Practice(cleared.practice.environment, cleared.practice.store, typesetter=process))
    assert there == here


@pytest.mark.usefixtures("planned_once", "paced_by_hand")
def test_so_has_a_card(cleared: Bench, process: TypesettingProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    here = cleared.print(plan_id)
    monkeypatch.setattr("collum.papers.engine.compiled", lambda *_, **__: pytest.fail("set in this process"))
    there = Practice(cleared.practice.environment, cleared.practice.store, typesetter=process)
    assert there.paper(plan_id, "chairside-card") == here


def test_one_process_sets_many_papers_each_by_its_own_words(process: TypesettingProcess) -> None:
    first, pid = said(process), process.process_id
    assert said(process, "a wren\n and\u2028more") != first
    assert said(process) == first == in_process(SOURCE, {"said": "a heron"}, made_at=MADE_AT)
    assert process.process_id == pid


def test_a_process_that_was_killed_meanwhile_is_replaced_without_a_word(process: TypesettingProcess) -> None:
    first, pid = said(process), process.process_id
    assert pid is not None
    os.kill(pid, 9)
    os.waitid(os.P_PID, pid, os.WEXITED | os.WNOWAIT)
    assert said(process) == first
    assert process.process_id != pid


@pytest.mark.parametrize("bad", ["ends", "babbles", "hangs"])
def test_a_paper_whose_process_fails_is_one_fault_and_the_next_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bad: str
) -> None:
    monkeypatch.setattr(typesetter, "MOST_SECONDS", 0.5 if bad == "hangs" else UP_TO_S)
    mark = tmp_path / "mark"
    mark.touch()
    process = TypesettingProcess((sys.executable, "-c", STANDS_IN, str(mark), bad))
    with pytest.raises(PaperNotMade):
        said(process)
    assert process.process_id is None
    mark.unlink()
    monkeypatch.setattr(typesetter, "MOST_SECONDS", UP_TO_S)
    assert said(process) == b"%PDF-"
    process.close()


def test_a_template_that_cannot_be_set_is_one_fault_and_the_next_is_made(process: TypesettingProcess) -> None:
    with pytest.raises(PaperNotMade):
        process("#panic()", {}, made_at=MADE_AT)
    assert said(process).startswith(b"%PDF")


def test_a_program_that_cannot_be_started_is_one_fault(tmp_path: Path) -> None:
    process = TypesettingProcess((str(tmp_path / "nothing"),))
    with pytest.raises(PaperNotMade):
        said(process)


def test_the_process_ends_and_leaves_no_folder_once_no_paper_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    process = TypesettingProcess(ends_after_s=0.1)
    said(process)
    wait_for(lambda: process.process_id is None)
    assert list(tmp_path.iterdir()) == []


def test_it_ends_when_whoever_started_it_is_killed() -> None:
    started = (
        "from collum.app.plans.typesetter import TypesettingProcess\n"
        f"process = TypesettingProcess()\nprocess({SOURCE!r}, {{'said': 'a'}}, made_at={MADE_AT!r})\n"
        "print(process.process_id, flush=True)\ninput()"
    )
    with subprocess.Popen([sys.executable, "-c", started], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as starter:
        assert starter.stdout is not None
        pid = int(starter.stdout.readline())
        assert not ended(pid)
        starter.kill()
    wait_for(lambda: ended(pid))


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_it_writes_nothing_leaves_no_image_and_opens_nothing(process: TypesettingProcess) -> None:
    said(process)
    limits = Path(f"/proc/{process.process_id}/limits").read_text(encoding="utf-8").splitlines()
    most = {line[:26].strip(): line[26:].split()[:2] for line in limits}
    assert most["Max core file size"] == most["Max file size"] == ["0", "0"]
    assert most["Max open files"] == ["3", "3"]


def test_no_file_can_be_read_by_a_template(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="file not found"):
        compiled('#read("/etc/passwd")', {}, made_at=MADE_AT, root=str(tmp_path))
