"""What sealing costs: a day's work on a clear and on a sealed record in turn, and the time an unlock takes."""

import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from benchmarks.entries import a_mouth
from benchmarks.measuring import alternate, milliseconds, spread
from collum.app.environment import SystemEnvironment
from collum.app.practice import Practice, open_practice
from collum.app.record.vault import Vault
from collum.records.sealing import Keys, new_data_key

CASES, DRAWS = 200, 10_000
CODE, PASSPHRASE = "AB", "seven wooden spoons"


def cost_of_sealing(repeats: int) -> dict[str, object]:
    """Saving, listing and planning on both kinds of record, with as many cases as a practice has after a year."""
    with ExitStack() as stack:
        kinds = {"clear": None, "sealed": Keys(new_data_key())}
        practices = {name: _practice(stack, keys) for name, keys in kinds.items()}
        found: dict[str, object] = {"cases": CASES}
        for work in (_save, _list, _plan_and_store):
            times = alternate({name: work(practice) for name, practice in practices.items()}, 4 * repeats)
            told = {name: spread(taken) for name, taken in times.items()}
            ratio = told["sealed"]["median_ms"] / told["clear"]["median_ms"]
            found[work.__name__.strip("_")] = {**told, "sealed_over_clear": round(ratio, 2)}
    return {**found, "unlock": _unlock(repeats)}


def _practice(stack: ExitStack, keys: Keys | None) -> Practice:
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
    opened = open_practice(SystemEnvironment(data_directory=folder), keys, draws=DRAWS)
    practice = stack.enter_context(opened)
    practice.create_all([_document(number) for number in range(CASES)])
    return practice


def _document(number: int) -> dict[str, Any]:
    document = a_mouth()
    return {**document, "patient": {**document.get("patient", {}), "reference": f"B-{number}"}}


def _save(practice: Practice) -> Callable[[], object]:
    case = practice.open(practice.cases()[0].case_id)
    saves = [case]

    def save() -> None:
        last = saves[-1]
        document = {**last.document, "note": f"save {last.revision}"}
        saves.append(practice.save(last.case_id, base_revision=last.revision, document=document))

    return save


def _list(practice: Practice) -> Callable[[], object]:
    return practice.listed


def _plan_and_store(practice: Practice) -> Callable[[], object]:
    """Plan a case that was just saved with another reading, so that nothing of the plan is kept from before."""
    case = practice.open(practice.cases()[1].case_id)
    saves = [case]

    def plan() -> None:
        last = saves[-1]
        tooth = dict(last.document["teeth"][0])
        soundings = tooth["sites"]["bone_sounding"]
        tooth["sites"] = {**tooth["sites"], "bone_sounding": {**soundings, "F": 6.0 + last.revision % 5}}
        document = {**last.document, "teeth": [tooth, *last.document["teeth"][1:]]}
        saves.append(practice.save(last.case_id, base_revision=last.revision, document=document))
        practice.store_plan(last.case_id, revision=saves[-1].revision)

    return plan


def _unlock(repeats: int) -> dict[str, float]:
    """Passphrase to open record, at the cost that set-up chose on this machine."""
    with tempfile.TemporaryDirectory() as folder:
        vault = Vault(SystemEnvironment(data_directory=Path(folder)), draws=DRAWS)
        vault.set_up(CODE, PASSPHRASE)
        vault.practice.create_all([_document(number) for number in range(CASES)])
        times: list[float] = []
        for _ in range(repeats):
            vault.lock()
            times.append(milliseconds(lambda: vault.unlock(CODE, PASSPHRASE)))
        vault.close()
    return spread(times)
