"""A process that has imported everything and forks one of its kind for each kill, so that a start costs no imports.

Each line on its standard input is a JSON list: the arguments of a command line. The process it makes for each prints its id and
what it says, then this one `{"ended": status}`. Plans and heat are made once, before, passphrases cost one hash, and requests
are not counted: what is killed is the writing.
"""

import json
import os
import signal
import sys
from pathlib import Path
from typing import Any

from campaigns.kills_acts import perform
from collum.app.chair import kept_heat as chair
from collum.app.plans.planning import PlannedCase, Planner
from collum.case import Case
from collum.cli import browser, check_demo, plan_text  # noqa: F401  # imported here, before any child needs them
from collum.cli.main import main
from collum.records.sealing import Stretching
from collum.web import security
from collum.wire.plan.document import PlanDocument
from tests.making.teeth import case_of, overgrown_premolar
from tests.measuring.heat import heat_by_hand
from tests.measuring.passphrases import key_by_one_hash

_DRAWS = 100
ACT, BEGAN, DONE = "act", "began", "done"


def serve_children() -> None:
    """Fork for each line that comes, until none comes any more."""
    _make_plans_once()
    _say({"ready": True})
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            _say({"pid": os.getpid()})  # by itself: from its parent it could come after, or into, its first line
            os._exit(_run(*json.loads(line)))
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        print(flush=True)  # a process that was killed may have left half a line
        _say({"ended": status})


def _run(command: str, *arguments: str) -> int:
    """Run a command line, or an act on a whole record (`act`, its name and where), which says when it begins and ends."""
    if command != ACT:
        return main([command, *arguments])
    name, root = arguments
    perform(name, Path(root), began=lambda: print(BEGAN, flush=True), done=lambda: print(DONE, flush=True))
    return 0


def _make_plans_once() -> None:
    """Let every case have the plan of one tooth and the heat of a hand, and no passphrase take the time of a guess."""
    case = case_of(overgrown_premolar())
    planned = Planner(_DRAWS).plan(case)

    def plan(_self: Planner, _case: Case, **_named: Any) -> PlanDocument:
        return planned

    Planner.plan = plan  # type: ignore[method-assign]
    Planner.planned = lambda *_, **__: PlannedCase(document=planned, teeth=())  # type: ignore[method-assign]
    chair.heat_of_plan = heat_by_hand  # type: ignore[attr-defined]
    Stretching.key_of = key_by_one_hash  # type: ignore[method-assign]
    security.MOST_REQUESTS_PER_S = 100_000


def _say(said: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(said) + "\n")  # a line in one piece, whatever the buffering
    sys.stdout.flush()


if __name__ == "__main__":
    serve_children()
