"""Clocks, spreads and what has to be said of the machine."""

import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping
from importlib import metadata
from pathlib import Path

import collum

LIBRARIES = ("numpy", "scipy", "clarabel", "cvxpy", "jax", "pydantic", "fastapi", "playwright")


def milliseconds(task: Callable[[], object]) -> float:
    """Return how long one call takes. [ms]"""
    start = time.perf_counter()
    task()
    return (time.perf_counter() - start) * 1000


def alternate(tasks: Mapping[str, Callable[[], object]], repeats: int) -> dict[str, list[float]]:
    """Return times of each task, taken in turn; one unmeasured round first."""
    times: dict[str, list[float]] = {name: [] for name in tasks}
    for round_number in range(repeats + 1):
        for name, task in tasks.items():
            taken = milliseconds(task)
            if round_number:
                times[name].append(taken)
    return times


def spread(times_ms: list[float]) -> dict[str, float]:
    """Return median, least and greatest of the times. [ms]"""
    rounded = [round(t, 2) for t in (statistics.median(times_ms), min(times_ms), max(times_ms))]
    return dict(zip(("median_ms", "least_ms", "most_ms"), rounded, strict=True))


def percentile(times_ms: list[float], share: float) -> float:
    """Return the time that `share` of the calls do not exceed. [ms]"""
    ordered = sorted(times_ms)
    return round(ordered[min(int(len(ordered) * share), len(ordered) - 1)], 2)


def machine() -> dict[str, object]:
    """Return processor, cores, load and versions."""
    return {
        "processor": _processor(),
        "cores": os.cpu_count(),
        "load_average": [round(load, 2) for load in os.getloadavg()] if hasattr(os, "getloadavg") else None,
        "system": platform.system(),
        "python": platform.python_version(),
        "versions": {"collum": collum.__version__, **{name: _version(name) for name in LIBRARIES}},
    }


def today() -> str:
    """Return the date, UTC."""
    return time.strftime("%Y-%m-%d", time.gmtime())


def _processor() -> str:
    listed = Path("/proc/cpuinfo")
    if listed.exists():
        for line in listed.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.processor()


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None
