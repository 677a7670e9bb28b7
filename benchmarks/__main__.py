"""Times of the program beside a peer: `make bench`, or `make bench ARGS="plan verdict"` for some entries.

Program and peer alternate in one process; a ratio is printed only when both gave the same answer. Median and spread of the
repeats, processor, load and versions stand beside every figure, and the whole is kept in benchmarks/results/.
"""

import argparse
import json
import os
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the server has it; numpy reads it when first imported

from benchmarks import browser, entries, facets, heat, memory, scans  # after the line above
from benchmarks.measuring import machine, today

RESULTS = Path(__file__).resolve().parent / "results"
REPEATS = 5
ENTRIES: dict[str, Callable[[int], dict[str, object]]] = {
    "levels": entries.levels_alone,
    "plan": entries.whole_plan,
    "plan-all-routes": entries.plan_with_all_routes,
    "verdict": entries.verdict_of_a_moved_line,
    "parts": entries.parts_of_a_plan,
    "facets": facets.resistance_of_facets,
    "scan": scans.scan_of_a_preparation,
    "heat-at-once": heat.procedure_at_once,
    "heat-pacing": heat.new_pacing,
    "heat-reference": heat.reference_on_a_fine_grid,
    "command-line": entries.command_line_cold,
    "key-to-text": browser.key_to_text,
    "memory": memory.memory_of_the_server,
}


def main() -> None:
    """Run the entries asked for, print them and keep them."""
    parser = argparse.ArgumentParser(prog="benchmarks", description=__doc__)
    parser.add_argument("entries", nargs="*", help=f"which ones: {', '.join(ENTRIES)} (default: all)")
    parser.add_argument("--repeats", type=int, default=REPEATS)
    parser.add_argument("--discard", action="store_true", help="print only, keep nothing")
    asked = parser.parse_args()
    names = asked.entries or list(ENTRIES)
    if unknown := [name for name in names if name not in ENTRIES]:
        parser.error(f"no such entry: {', '.join(unknown)}")
    found: dict[str, object] = {"date": today(), "machine": machine()}
    for name in names:
        before = machine()["load_average"]
        found[name] = {**ENTRIES[name](asked.repeats), "load_before": before, "load_after": machine()["load_average"]}
        print(name, json.dumps(found[name], indent=1), flush=True)
    if not asked.discard:
        RESULTS.mkdir(exist_ok=True)
        (RESULTS / f"{found['date']}.json").write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


main()
