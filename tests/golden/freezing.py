"""How the frozen cases were made: `python -m tests.golden.freezing`. Only for adding to them; all answers are renewed after it.

The demo practice, each case as shipped and once more with the safety questions answered; 300 cases of three makers, every
second one with a visit in which one answer differs; 1,000 case files with faults.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict
from itertools import chain
from typing import Any

from collum.app.demo import demo_cases
from collum.app.plans.heat import heat_of_plan
from collum.app.plans.planning import Planner
from collum.case import CaseFaults, from_document, to_document
from collum.evidence.safety_rules import RULES
from collum.plan.heat import HeatWishes
from tests.fuzz.case_files import mutated_file, sound_files
from tests.fuzz.hostile import Chance, as_json
from tests.golden.store import CASES, FILES, FrozenCase, write
from tests.making.answers import answered
from tests.making.bad_cases import BAD_CASES
from tests.making.coherent_cases import coherent_cases
from tests.making.many_cases import many_cases
from tests.making.plausible_teeth import plausible_cases

SEED = 20261130
FILES_COUNT = 1_000
OTHERS_WITH_HEAT = 20
OPENED_AT = "2026-11-25T08:00:00Z"
CHANGES = ("yes", "no", "not known", None)
Document = dict[str, Any]


def main() -> None:
    """Write both files."""
    with_heat = OTHERS_WITH_HEAT
    frozen: list[FrozenCase] = []
    for index, (name, document) in enumerate(chain(_demo(), _made())):
        demo = name.startswith("demo")
        heat = (demo and "answered" in name) or (not demo and with_heat > 0 and _is_paced(document))
        with_heat -= heat and not demo
        frozen.append(FrozenCase(name=name, seed=SEED + index, heat=heat, document=document))
    write(CASES, [asdict(one) for one in frozen])
    write(FILES, list(_files()))
    print(f"{len(frozen)} cases, {sum(one.heat for one in frozen)} with heat, {FILES_COUNT} files")


def _demo() -> Iterator[tuple[str, Document]]:
    for case in demo_cases():
        document, name = to_document(case), f"demo {case.patient.reference}"
        yield name, document
        yield f"{name} answered", answered(document, opened_at=OPENED_AT)


def _made() -> Iterator[tuple[str, Document]]:
    makers = {
        "plausible": plausible_cases(120, SEED),
        "coherent": coherent_cases(90, SEED),
        "many": many_cases(90, SEED),
    }
    for maker, made in makers.items():
        for index, document in enumerate(made):
            yield f"{maker} {index}", _with_visit(document, index) if index % 2 else document


def _with_visit(document: Document, index: int) -> Document:
    """Return the document with a visit; in three of four one answer is another, or missing."""
    rule = RULES[index // 2 % len(RULES)].id
    changes = {} if index % 8 == 1 else {rule: CHANGES[index // 8 % len(CHANGES)]}
    try:
        made = answered(document, changes, opened_at=OPENED_AT)
        from_document(made)
    except CaseFaults:  # this rule knows no such answer, or the case was refused before
        made = answered(document, opened_at=OPENED_AT)
    return made


def _is_paced(document: Document) -> bool:
    case = from_document(document)
    return heat_of_plan(Planner(2_000).planned(case, seed=SEED), HeatWishes()).teeth[0].outcome == "paced"


def _files() -> Iterator[tuple[str, str, str]]:
    writable = 0
    for bad in BAD_CASES:
        with suppress(ValueError):  # a number too long to be written
            yield f"bad: {bad.name}", "json", as_json(bad.document()).decode("latin-1")
            writable += 1
    chance = Chance(SEED)
    texts, documents = sound_files(SEED)
    for index in range(FILES_COUNT - writable):
        kind, data = mutated_file(texts, documents, chance)
        yield f"mutated {index}", kind, data.decode("latin-1")


if __name__ == "__main__":
    main()
