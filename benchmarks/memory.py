"""Memory of the served program with the processes it starts: at rest with one tooth open and with six, at its peak, and
whether it grows with use.

A scripted user opens cases, types readings, drags lines, saves, keeps plans and prints them, as fast as the server lets it.
After each block it pauses until the program is at rest. What is said of growth is the slope of those rests.
"""

import copy
import time
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.serving import Page, Served, served

BLOCKS, PAPERS_A_BLOCK, EDITS_A_BLOCK, DRAGS_AN_EDIT, LOOKS_A_BLOCK = 10, 12, 8, 46, 160
WARM_BLOCKS = 2  # caches fill in these; the slope is that of the others
SIX = ("AQ-07", "AQ-09", "AQ-12", "AQ-15", "AQ-18", "AQ-20")
PAPERS = ("plan-sheet", "findings-sheet")
LOOK_EVERY_S, MOST_WAIT_S = 0.5, 120.0
STEADY_S, STEADY_MB = 15.0, 1.0  # rest: unchanged for longer than the program waits before it gives memory back
TARGETS = {"one_tooth_mb": 350, "six_teeth_mb": 450, "growth_mb_per_1000_requests": 1}
PLOT = Path(__file__).resolve().parent / "results" / "memory.svg"


def memory_of_the_server(_repeats: int) -> dict[str, object]:
    """Return memory at rest and at its peak, in MB, and its growth; the curve is drawn beside the results."""
    if not Path("/proc/self/status").exists():
        return {"not_measured": "no /proc"}
    with served() as found:
        user = _User(found)
        rests = {"started": user.rest()}
        user.open(SIX[0])
        rests["one_tooth"] = user.rest()
        for reference in SIX[1:]:
            user.open(reference)
        rests["six_teeth"] = user.rest()
        blocks = []
        for number in range(BLOCKS):
            user.block(number)
            blocks.append((user.page.asked, user.rest()))
    PLOT.write_text(_plot(user.curve, blocks), encoding="utf-8")
    asked, at_rest = (np.array(column) for column in zip(*blocks[WARM_BLOCKS:], strict=True))
    return {
        "at_rest_mb": {name: round(mb, 1) for name, mb in rests.items()},
        "at_rest_after_blocks_mb": [round(mb, 1) for _, mb in blocks],
        "peak_mb": round(max(_memory_mb(found.pid, "VmHWM"), *(mb for _, mb in user.curve)), 1),
        "requests": user.page.asked,
        "papers": BLOCKS * PAPERS_A_BLOCK,
        "growth_mb_per_1000_requests": round(float(np.polyfit(asked / 1000, at_rest, 1)[0]), 2),
        "seconds": round(user.curve[-1][0], 1),
        "targets": TARGETS,
    }


class _User:
    """Whoever sits at the page; notes the memory of the server as it goes."""

    def __init__(self, found: Served) -> None:
        self._pid = found.pid
        self._began_s = time.monotonic()
        self.curve: list[tuple[float, float]] = []
        self.page = Page.opened(found.link)
        cases = self.page.ask("GET", "/cases").json()["cases"]
        self._ids = {case["reference"]: case["case_id"] for case in cases}

    def open(self, reference: str) -> dict[str, Any]:
        """Open a case and look at its plan; return it as it was opened."""
        opened = dict(self.page.ask("GET", f"/cases/{self._ids[reference]}").json())
        self.page.plan(opened["document"])
        self._look()
        return opened

    def block(self, number: int) -> None:
        """Type, drag, save, keep, print and look up, some five hundred requests."""
        for edit in range(EDITS_A_BLOCK):
            self._edit(SIX[edit % len(SIX)], 0.1 * (number * EDITS_A_BLOCK + edit) % 2)
        self._print(self._ids[SIX[number % len(SIX)]])
        for _ in range(LOOKS_A_BLOCK):
            self.page.ask("GET", "/cases")
        self._look()

    def rest(self) -> float:
        """Wait until the memory stays as it is; return it. Raises TimeoutError where it does not."""
        looks = int(STEADY_S / LOOK_EVERY_S)
        seen: list[float] = []
        while len(seen) < looks or max(seen[-looks:]) - min(seen[-looks:]) > STEADY_MB:
            if len(seen) * LOOK_EVERY_S > MOST_WAIT_S:
                raise TimeoutError("memory does not come to rest")
            time.sleep(LOOK_EVERY_S)
            seen.append(self._look())
        return seen[-1]

    def _edit(self, reference: str, more_mm: float) -> None:
        """Change a height, see the plan, drag its line, save."""
        opened = self.open(reference)
        document = copy.deepcopy(opened["document"])
        tooth = document["teeth"][0]
        site = tooth["sites"]["order"][0]
        tooth["sites"]["probing_depth"][site] = {"value": 2.0, "error": round(0.3 + more_mm / 10, 2)}
        planned = self.page.plan(document)["teeth"][0]
        route = next((route for route in planned["routes"] if route["finish_line_height_mm"] is not None), None)
        for step in range(DRAGS_AN_EDIT if route else 0):
            height = round(route["finish_line_height_mm"][0] + 0.02 * step, 2)
            self.page.drag(document, route, {"line": "finish", "station_deg": 0, "height_mm": height})
        self.page.ask("PUT", f"/cases/{opened['case_id']}", {"base_revision": opened["revision"], "document": document})
        self._look()

    def _print(self, case_id: str) -> None:
        opened = self.page.ask("GET", f"/cases/{case_id}").json()
        kept = self.page.ask("POST", f"/cases/{case_id}/plans", {"revision": opened["revision"]}).json()["plan_id"]
        for number in range(PAPERS_A_BLOCK):
            self.page.ask("GET", f"/plans/{kept}/papers/{PAPERS[number % len(PAPERS)]}")
            self._look()

    def _look(self) -> float:
        found = sum(_memory_mb(pid, "VmRSS") for pid in (self._pid, *_started_by(self._pid)))
        self.curve.append((time.monotonic() - self._began_s, found))
        return found


def _started_by(pid: int) -> list[int]:
    threads = Path(f"/proc/{pid}/task").iterdir()
    return [int(child) for thread in threads for child in _read(thread / "children").split()]


def _memory_mb(pid: int, field: str) -> float:
    """Return a figure of a process, 0 where it has ended."""
    for line in _read(Path(f"/proc/{pid}/status")).splitlines():
        if line.startswith(f"{field}:"):
            return int(line.split()[1]) / 1024
    return 0.0


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (FileNotFoundError, ProcessLookupError):
        return ""


def _plot(curve: list[tuple[float, float]], blocks: list[tuple[int, float]]) -> str:
    """Return the curve of memory over time as a small drawing, with the target of six teeth as a line."""
    width, height, left, bottom = 720, 260, 44, 28
    last, most = curve[-1][0], max(max(mb for _, mb in curve), TARGETS["six_teeth_mb"]) * 1.05

    def at(seconds: float, mb: float) -> str:
        return f"{left + seconds / last * (width - left - 8):.1f},{height - bottom - mb / most * (height - bottom - 8):.1f}"

    levels = range(0, int(most), 100)
    grid = "".join(
        f'<path d="M{at(0, mb)} L{at(last, mb)}" stroke="#ddd"/>'
        f'<text x="{left - 6}" y="{float(at(0, mb).split(",")[1]) + 4:.1f}" text-anchor="end">{mb}</text>'
        for mb in levels
    )
    target = TARGETS["six_teeth_mb"]
    said = f"{blocks[-1][0]} requests; dashed: most at rest with six teeth"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="11">'
        f"<title>Memory of the server in MB over {last:.0f} s</title>{grid}"
        f'<path d="M{at(0, target)} L{at(last, target)}" stroke="#a33" stroke-dasharray="5 4"/>'
        f'<polyline points="{" ".join(at(*point) for point in curve)}" fill="none" stroke="#146"/>'
        f'<text x="{left}" y="{height - 8}">memory of the server [MB] over {last:.0f} s; {said}</text></svg>\n'
    )
