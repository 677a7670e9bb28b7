"""Plausible teeth planned with the draws that users get: does every plan come out whole and print, and does what is printed
depend on how many draws there are by more than chance?

A number printed of a plan has a standard error of its own, that of lines chosen between two ways of equal worth among it: it is
taken from plans of the same tooth with other seeds, and the rounding of the print is added.
"""

import time
import traceback
from collections import Counter
from collections.abc import Iterable
from contextlib import redirect_stdout
from dataclasses import dataclass
from io import StringIO
from typing import Any

import numpy as np

from collum.app.plans.planning import Planner
from collum.case import CaseFaults, from_document
from collum.cli.plan_text import print_plan
from collum.wire.plan.document import RouteDocument, ToothDocument

CHANCE_STEP, LENGTH_STEP_MM = 0.01, 0.1  # as they are printed
STANDARD_ERRORS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What became of one case: its teeth, what its file was refused for, or the fault that ended its plan."""

    reference: str
    number: int
    teeth: tuple[ToothDocument, ...]
    refused: str | None
    fault: str | None
    seconds: float


def planned(documents: Iterable[dict[str, Any]], draws: int) -> list[Planned]:
    """Return what becomes of each case."""
    planner = Planner(draws)
    return [_planned(planner, document) for document in documents]


def summary(found: list[Planned]) -> dict[str, object]:
    """Return counts of what came out, every fault, and how long a plan took."""
    teeth = [tooth for one in found for tooth in one.teeth]
    verdicts = Counter((route.name, route.verdict) for tooth in teeth for route in tooth.routes)
    seconds = [one.seconds for one in found]
    return {
        "cases": len(found),
        "refused": dict(Counter(one.refused for one in found if one.refused).most_common()),
        "teeth_planned": len(teeth),
        "teeth_by_place_in_the_arch": {str(k): n for k, n in sorted(Counter(tooth.number % 10 for tooth in teeth).items())},
        "faults": [{"case": one.reference, "tooth": one.number, "fault": one.fault} for one in found if one.fault],
        "verdicts": {route: {v: n for (r, v), n in sorted(verdicts.items()) if r == route} for route, _ in sorted(verdicts)},
        "recommended": dict(sorted(Counter(tooth.recommended_route or "none" for tooth in teeth).items())),
        "seconds_a_case": {"median": round(float(np.median(seconds)), 3), "most": round(max(seconds), 3)},
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One printed number of a tooth with two numbers of draws: how far its means lie apart, in standard errors."""

    name: str
    draws: tuple[int, int]
    means: tuple[float, float]
    standard_errors: float


def differences(document: dict[str, Any], numbers_of_draws: tuple[int, ...], seeds: int) -> list[Difference]:
    """Return how every printed number of the first tooth differs between numbers of draws, each planned with some seeds."""
    case = from_document(document)
    printed = {}
    for draws in numbers_of_draws:
        planner = Planner(draws)
        printed[draws] = [_printed(planner.plan(case, seed=seed).teeth[0]) for seed in range(seeds)]
    pairs = [(few, many) for i, few in enumerate(numbers_of_draws) for many in numbers_of_draws[i + 1 :]]
    found = []
    for few, many in pairs:
        common = set.intersection(*(set(one) for one in (*printed[few], *printed[many])))
        for name in sorted(common):
            samples = [np.array([one[name] for one in printed[draws]]) for draws in (few, many)]
            found.append(_difference(name, (few, many), samples))
    return found


def _difference(name: str, draws: tuple[int, int], samples: list[np.ndarray]) -> Difference:
    step = LENGTH_STEP_MM if name.endswith("mm") else CHANCE_STEP
    rounding = step**2 / 12  # variance of what rounding adds
    error = np.sqrt(sum((sample.var(ddof=1) + rounding) / sample.size for sample in samples))
    first, second = (float(sample.mean()) for sample in samples)
    return Difference(
        name=name,
        draws=draws,
        means=(round(first, 4), round(second, 4)),
        standard_errors=round(abs(first - second) / float(error), 2),
    )


def _printed(tooth: ToothDocument) -> dict[str, float]:
    """Return the numbers that `collum plan` prints of the routes, by name."""
    found: dict[str, float] = {}
    for route in tooth.routes:
        found |= {f"{route.name}: {name}": number for name, number in _of_route(route).items() if number is not None}
    return found


def _of_route(route: RouteDocument) -> dict[str, float | None]:
    found: dict[str, float | None] = {"chance of all": route.joint_probability}
    for row in route.requirements:
        found |= {f"{row.id}, chance": row.probability, f"{row.id}, value in {row.unit}": row.value}
    if route.cut_line_height_mm is not None:
        found |= {"bone, mm": route.summary.bone_most_mm, "raised, mm": route.extrusion_mm}
    for site in route.sites:
        found |= {
            f"{site.site} cut, mm": site.stop_below_margin_mm,
            f"{site.site} finish line, mm": site.finish_above_settled_margin_mm,
            f"{site.site} lasting gain, mm": site.lasting_gain_mm,
        }
    return found


def _planned(planner: Planner, document: dict[str, Any]) -> Planned:
    began = time.monotonic()
    teeth: tuple[ToothDocument, ...] = ()
    refused = fault = None
    try:
        plan = planner.plan(from_document(document))
        with redirect_stdout(StringIO()):
            print_plan(plan, None)
        teeth = tuple(plan.teeth)
    except CaseFaults as error:
        refused = error.faults[0].what.key
    except Exception as error:  # whatever it is, it is what is counted here
        place = traceback.extract_tb(error.__traceback__)[-1]
        fault = f"{type(error).__name__} in {place.name}: {str(error)[:120]}"
    return Planned(
        reference=document["patient"]["reference"],
        number=document["teeth"][0]["number"],
        teeth=teeth,
        refused=refused,
        fault=fault,
        seconds=time.monotonic() - began,
    )
