"""The page of constants in the documentation, written from the registry: every number with its range, origin and status.

`python -m collum.app.evidence_page > docs/constants.md` renews it; a test fails while the page is not current.
"""

import sys
from collections.abc import Iterable
from itertools import groupby

from collum.evidence import Constant, Reference, Status, all_constants, all_references

_HEAD = """\
# Constants

Generated from `src/collum/evidence/`; do not edit by hand (`python -m collum.app.evidence_page > docs/constants.md`).

Every clinical or physical number of Collum is here once. *Range* is what was reported or is plausible, not a tolerance; *not
below* and *not above* are limits that no case and no setting may pass. A constant used for *information* does not change
any plan. *How known* is about us, not about the work cited:

"""
_STATUS_WORDS: dict[Status, str] = {
    "read": "seen in the work itself, mostly its abstract",
    "read_second_hand": "seen in somebody else's report of the work",
    "memory": "remembered, not confirmed: let a clinician confirm it before leaning on it",
    "derived": "worked out by us from figures of the work cited",
    "choice": "our judgement",
    "common_practice": "said and taught, no published origin known to us",
}
_PART_TITLES = {
    "neck": "Levels round the neck",
    "healing": "Healing",
    "plan": "Plan",
    "restoration": "Restoration",
    "support": "Support of the tooth",
    "ferrule": "Ferrule",
    "retention": "Retention",
    "preparation": "Preparation on its facets",
    "post": "Posts",
    "pin": "Pins",
    "bridge": "Bridges",
    "pontic": "Pontic bed",
    "heat": "Heat",
    "pacing": "Pacing",
    "tooth": "Handbook teeth",
    "safety": "Safety before the cut",
    "dose": "Doses of local anaesthetics",
    "practice": "Common practice",
    "case": "Ranges of entry",
}
_COLUMNS = ("Key", "Value", "Range", "Meaning", "Source", "How known", "Kind", "Studied on", "Used for", "Checked")


def constants_page() -> str:
    """Return the whole page as Markdown."""
    constants = sorted(all_constants(), key=lambda constant: _order_of(constant.key))
    parts = [_part(name, group) for name, group in groupby(constants, key=lambda constant: _part_of(constant.key))]
    return _HEAD + _statuses() + "\n" + "\n".join(parts) + "\n" + _works(all_references(), constants)


def _order_of(key: str) -> int:
    titles = list(_PART_TITLES)
    part = _part_of(key)
    return titles.index(part) if part in titles else len(titles)


def _part_of(key: str) -> str:
    return key.split(".", 1)[0]


def _statuses() -> str:
    return "".join(f"- **{_plain(status)}**: {words}\n" for status, words in _STATUS_WORDS.items())


def _part(name: str, constants: Iterable[Constant]) -> str:
    rows = [_row(_COLUMNS), _row("---" for _ in _COLUMNS), *(_row(_cells(constant)) for constant in constants)]
    return f"## {_PART_TITLES.get(name, name.capitalize())}\n\n" + "\n".join(rows) + "\n"


def _cells(constant: Constant) -> tuple[str, ...]:
    return (
        f"`{constant.key}`",
        _with_unit(constant.value, constant.unit),
        _range(constant),
        constant.meaning,
        f"[{constant.source}](#{constant.source})",
        _plain(constant.status),
        constant.kind,
        constant.population,
        constant.used_for,
        constant.checked,
    )


def _range(constant: Constant) -> str:
    text = f"{constant.low:g} to {constant.high:g}"
    if constant.editable_down_to is not None:
        text += f", not below {constant.editable_down_to:g}"
    if constant.editable_up_to is not None:
        text += f", not above {constant.editable_up_to:g}"
    return text


def _with_unit(value: float, unit: str) -> str:
    return f"{value:g}" if unit == "1" else f"{value:g} {unit}"


def _works(works: Iterable[Reference], constants: list[Constant]) -> str:
    used = {constant.source for constant in constants}
    lines = [
        f'- <a id="{work.key}"></a>`{work.key}`: {work.citation}{"" if work.key in used else " (no constant rests on it yet)"}'
        for work in sorted(works, key=lambda work: work.key)
    ]
    return "## Works\n\n" + "\n".join(lines) + "\n"


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _plain(status: Status) -> str:
    return status.replace("_", " ")


if __name__ == "__main__":
    sys.stdout.write(constants_page())
