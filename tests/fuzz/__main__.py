"""The hunts in full size: `python -m tests.fuzz [--write]`, part of `make fuzz`. COLLUM_FUZZ_SEED begins elsewhere.

`--write` keeps counts and seeds in docs/results/fuzz.json.
"""

import json
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import collum
from tests.fuzz.case_files import ROOT, hunt_case_files
from tests.fuzz.hostile import Hunt
from tests.fuzz.meshes import hunt_meshes
from tests.fuzz.operations import hunt_operations
from tests.fuzz.server import demo_documents, server

RESULTS = ROOT / "docs/results/fuzz.json"
SEED = 20261130
FULL = {"operations": 5_000, "case_files": 100_000, "meshes": 2_000}


def main(arguments: list[str]) -> int:
    """Run every hunt; return 1 where one found something."""
    seed = int(os.environ.get("COLLUM_FUZZ_SEED", SEED))
    found = {}
    for name, hunt in _hunts(seed):
        count = int(os.environ.get(f"COLLUM_FUZZ_{name.upper()}", FULL[name]))
        found[name] = ended = hunt(count)
        print(f"{name}: {ended.tried} tried, {len(ended.found)} found, {ended.counts}", flush=True)
        for one in ended.found[:20]:
            print(f"  {one[:2000]}", flush=True)
    if "--write" in arguments:
        told = {"what": "hostile and random inputs", "date": time.strftime("%Y-%m-%d", time.gmtime())}
        whole = {**told, "program_version": collum.__version__, **{name: one.as_json() for name, one in found.items()}}
        RESULTS.write_text(json.dumps(whole, indent=1) + "\n", encoding="utf-8")
    return int(any(one.found for one in found.values()))


def _hunts(seed: int) -> Iterator[tuple[str, Callable[[int], Hunt]]]:
    yield "case_files", lambda count: hunt_case_files(count, seed)
    yield "meshes", lambda count: hunt_meshes(count, seed)
    with tempfile.TemporaryDirectory() as folder, server(Path(folder)) as (client, new_token):
        yield "operations", lambda count: hunt_operations(count, seed, client, new_token, demo_documents())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
