"""A hunt with mutated case files: each is refused with its faults, or comes back from its canonical form byte for byte."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from collum.app.plans.planning import Planner
from collum.case import CaseFaults, canonical_json, from_document, parse, read, to_document
from collum.case.reading import Kind
from tests.fuzz.hostile import Chance, Hunt, as_json, mutated, mutated_bytes
from tests.making.many_cases import many_cases

ROOT = Path(__file__).parents[2]
PLANNED_EVERY = 50  # of the accepted ones
_DRAWS = 60


def hunt_case_files(count: int, seed: int) -> Hunt:
    """Return what `count` mutated case files came to."""
    hunt, random, planner = Hunt(what="case files", seed=seed), Chance(seed), Planner(_DRAWS)
    texts, documents = sound_files(seed)
    for _ in range(count):
        kind, data = mutated_file(texts, documents, random)
        hunt.tried += 1
        try:
            case = from_document(parse(data, kind=kind))
        except CaseFaults as faults:
            hunt.count("refused")
            if not faults.faults:
                hunt.found.append(f"refused without a fault: {data!r}")
            continue
        except Exception as error:  # whatever else it is, is a finding
            hunt.found.append(f"{type(error).__name__}: {error}: {data!r}")
            continue
        hunt.count("accepted")
        hunt.found += [f"{why}: {data!r}" for why in _unlike(case)]
        if hunt.counts["accepted"] % PLANNED_EVERY == 0:
            hunt.count("planned")
            try:
                planner.plan(case, seed=1)
            except Exception as error:
                hunt.found.append(f"planned, {type(error).__name__}: {error}: {data!r}")
    return hunt


def _unlike(case: Any) -> list[str]:
    """Return what does not come back from the canonical form of a case."""
    try:
        written = canonical_json(to_document(case))
        again = canonical_json(to_document(from_document(parse(written, kind="json"))))
    except Exception as error:
        return [f"does not come back, {type(error).__name__}: {error}"]
    return [] if again == written else ["comes back otherwise"]


def sound_files(seed: int) -> tuple[list[tuple[Kind, bytes]], list[dict[str, Any]]]:
    """Return sound files as bytes, and as documents."""
    full = (ROOT / "tests/case_versions/case-2.json").read_bytes()
    demo = [path.read_bytes() for path in sorted((ROOT / "src/collum/demo_practice").glob("*.toml"))]
    made = list(many_cases(40, seed))
    texts: list[tuple[Kind, bytes]] = [("json", full), *(("toml", text) for text in demo)]
    return texts, [json.loads(full), *(to_document(read(text, kind="toml")) for text in demo), *made]


def mutated_file(texts: Sequence[tuple[Kind, bytes]], documents: Sequence[Any], random: Chance) -> tuple[Kind, bytes]:
    changes = random.choice((1, 1, 1, 2, 3, 8))
    if random.share() < 0.4:
        kind, data = random.choice(texts)
        return kind, mutated_bytes(data, random, changes)
    return "json", as_json(mutated(random.choice(documents), random, changes))
