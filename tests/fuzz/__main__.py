"""The hunts in full size: `python -m tests.fuzz [NAME ...] [--write]`, part of `make fuzz`. COLLUM_FUZZ_SEED begins elsewhere.

`--write` keeps counts and seeds in docs/results/fuzz.json; a hunt that was not run keeps those it had.
"""

import json
import os
import sys
import tempfile
import time
from pathlib import Path

import collum
from tests.fuzz.case_files import ROOT, hunt_case_files
from tests.fuzz.hostile import Hunt
from tests.fuzz.meshes import hunt_meshes
from tests.fuzz.operations import hunt_operations
from tests.fuzz.server import demo_documents, server

RESULTS = ROOT / "docs/results/fuzz.json"
SEED = 20261130
FULL = {"operations": 3_000, "operations_sealed": 3_000, "case_files": 100_000, "meshes": 2_000}


def main(arguments: list[str]) -> int:
    """Run the hunts named, every one where none is; return 1 where one found something."""
    names = [name for name in FULL if name in arguments] or list(FULL)
    seed = int(os.environ.get("COLLUM_FUZZ_SEED", SEED))
    kept = json.loads(RESULTS.read_text(encoding="utf-8"))
    wrong = 0
    for name in names:
        ended = _hunt(name, int(os.environ.get(f"COLLUM_FUZZ_{name.upper()}", FULL[name])), seed)
        print(f"{name}: {ended.tried} tried, {len(ended.found)} found, {ended.counts}, {ended.done}", flush=True)
        for one in ended.found[:20]:
            print(f"  {one[:2000]}", flush=True)
        today = time.strftime("%Y-%m-%d", time.gmtime())
        kept[name] = {"date": today, "program_version": collum.__version__, **ended.as_json()}
        wrong += len(ended.found)
    if "--write" in arguments:
        RESULTS.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    return int(wrong > 0)


def _hunt(name: str, count: int, seed: int) -> Hunt:
    if name == "case_files":
        return hunt_case_files(count, seed)
    if name == "meshes":
        return hunt_meshes(count, seed)
    with tempfile.TemporaryDirectory() as folder, server(Path(folder), sealed=name == "operations_sealed") as running:
        return hunt_operations(count, seed, running, demo_documents())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
