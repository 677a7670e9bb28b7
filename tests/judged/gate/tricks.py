"""Tricks with a case file: each tries to get a paper of an operation printed although a fact closes it.

A trick gets the document of a case whose visit says one closing fact, and changes it as somebody might who wants the paper, or
who merely mistypes. None of them takes the fact back by answering the question anew in a later visit: that is the honest way.
"""

import copy
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tests.judged.gate.cases import override_of
from tests.judged.gate.said import ASKED, HARMLESS, PLATE, Way, harmless
from tests.judged.gate.truth import Operation

Document = dict[str, Any]
LOOK_ALIKE = {"o": "\u043e", "n": "\uff4e", "c": "\u0441", "a": "\u0430", "e": "\u0435", "p": "\u0440"}


@dataclass(frozen=True, kw_only=True)
class Spoilt:
    """A case that a fact closes for an operation: what a trick works on."""

    document: Document
    way: Way
    operation: Operation
    number: int
    mark: str

    @property
    def visit(self) -> Document:
        return dict(self.document["visits"][-1])

    def with_visits(self, *visits: Document) -> Document:
        return {**copy.deepcopy(self.document), "visits": list(visits)}

    def with_visit(self, **changes: Any) -> Document:
        return self.with_visits({**self.visit, **changes})

    def clean_visit(self, **changes: Any) -> Document:
        """Return the visit as it would be if nothing closed."""
        answers = harmless()
        teeth = [{**tooth, "answers": answers["tooth"]} for tooth in self.visit["teeth"]]
        parts = {part: answers[part] for part in ("screening", "room", "roles")}
        return {**self.visit, **parts, "teeth": teeth, **changes}

    def answers(self, document: Document) -> Document:
        """Return the answers, in `document`, of the part to which the fact belongs; to be changed."""
        visit = document["visits"][-1]
        return dict.__getitem__(visit["teeth"][0], "answers") if self.way.part == "tooth" else visit[self.way.part]


Trick = Callable[[Spoilt], Document | bytes]


def tricks(way: Way) -> Mapping[str, Trick]:
    """Return every trick that can be tried on a fact said in this way, by name."""
    found: dict[str, Trick] = dict(_overrides())
    found |= dict(_visits())
    found |= dict(_claims())
    if not way.recorded and way.part != "roles":
        found |= dict(_spellings())
    if way.part == "patient":
        found |= dict(_words())
    return found


def _overridden(**changes: Any) -> Trick:
    def trick(spoilt: Spoilt) -> Document:
        made = {**override_of(spoilt.way, spoilt.number, spoilt.mark, spoilt.operation), **changes}
        entry = {key: found for key, found in made.items() if found is not None}
        return spoilt.with_visit(overrides=[entry])

    return trick


def _renamed(spell: Callable[[str], str]) -> Trick:
    def trick(spoilt: Spoilt) -> Document:
        entry = override_of(spoilt.way, spoilt.number, spoilt.mark, spoilt.operation)
        return spoilt.with_visit(overrides=[{**entry, "rule": spell(entry["rule"])}])

    return trick


def look_alike(word: str) -> str:
    """Return a word with its first letter that has a look-alike exchanged for it."""
    letter = next((letter for letter in word if letter in LOOK_ALIKE), "")
    return word.replace(letter, LOOK_ALIKE[letter], 1) if letter else word + "\u200b"


def _overrides() -> Iterator[tuple[str, Trick]]:
    plain: Mapping[str, Mapping[str, Any]] = {
        "by name": {},
        "by a blank name": {"name": " "},
        "by a name nobody sees": {"name": "\u200b"},
        "by a long name": {"name": "N" * 60},
        "without a reason": {"reason": " "},
        "for the whole mouth": {"tooth": None},
        "for another tooth": {"tooth": 11},
        "before the visit": {"at": "2026-04-30T08:00:00Z"},
        "in a year": {"at": "2027-05-01T08:00:00Z"},
        "at no time": {"at": None},
        "at local time": {"at": "2026-05-01T08:00:00"},
        "for another plan": {"given_for": "0" * 16},
        "for no operation": {"procedure": None},
        "for an operation there is not": {"procedure": "any"},
        "for all operations": {"procedure": ["current", "bone", "movement"]},
        "by the physician": {"name": "Dr. Heart, cardiology", "reason": "letter of 2026-04-20: no objection"},
    }
    yield from ((f"override {name}", _overridden(**changes)) for name, changes in plain.items())
    spelled: Mapping[str, Callable[[str], str]] = {
        "in capitals": str.upper,
        "with a space": lambda rule: f"{rule} ",
        "with a hyphen": lambda rule: rule.replace("_", "-"),
        "with a look-alike": look_alike,
        "of the state": lambda rule: "no_visit",
        "of everything": lambda rule: "*",
        "of the free words": lambda rule: "recorded_stops",
        "of the drugs": lambda rule: "recorded_drugs",
        "of the team": lambda rule: "operator_alone",
        "of the route": lambda rule: "route_not_open",
    }
    yield from ((f"override {name}", _renamed(spell)) for name, spell in spelled.items())
    yield "a hundred overrides", lambda s: s.with_visit(overrides=[override_of(s.way, s.number, s.mark, s.operation)] * 100)


def _visits() -> Iterator[tuple[str, Trick]]:
    """Other visits beside the one that says the fact. A clean visit counts only if it was opened later, and before now."""
    yield "a clean visit before", lambda s: s.with_visits(s.clean_visit(opened_at="2026-05-01T07:00:00Z"), s.visit)
    yield "a clean visit of the same moment before", lambda s: s.with_visits(s.clean_visit(), s.visit)
    yield "an older clean visit behind", lambda s: s.with_visits(s.visit, s.clean_visit(opened_at="2026-05-01T07:00:00Z"))
    yield "a clean visit of the same moment behind", lambda s: s.with_visits(s.visit, s.clean_visit())
    yield "an aged clean visit behind", lambda s: s.with_visits(s.visit, s.clean_visit(opened_at="2026-04-30T07:00:00Z"))
    yield "a clean visit of tomorrow", lambda s: s.with_visits(s.visit, s.clean_visit(opened_at="2026-05-02T07:00:00Z"))
    yield "a clean visit of an hour from now", lambda s: s.with_visits(s.visit, s.clean_visit(opened_at="2026-05-01T10:30:00Z"))
    yield "a clean visit that nobody opened", lambda s: s.with_visits(s.visit, _without(s.clean_visit(), "opened_at"))
    yield (
        "a clean visit without a name",
        lambda s: s.with_visits(s.visit, _without(s.clean_visit(opened_at="2026-05-01T08:30:00Z"), "by")),
    )
    yield "the visit not opened", lambda s: s.with_visits(_without(s.visit, "opened_at"))
    yield "the visit aged", lambda s: s.with_visit(opened_at="2026-04-30T20:00:00Z")
    yield "the visit of tomorrow", lambda s: s.with_visit(opened_at="2026-05-02T08:00:00Z")
    yield "no visit", lambda s: _without(copy.deepcopy(s.document), "visits")
    yield "no answers", lambda s: s.with_visit(screening={}, room={}, teeth=[])
    yield "the tooth twice, clean behind", lambda s: s.with_visit(teeth=[*s.visit["teeth"], *s.clean_visit()["teeth"]])
    yield "the tooth twice, clean before", lambda s: s.with_visit(teeth=[*s.clean_visit()["teeth"], *s.visit["teeth"]])
    yield (
        "clean answers at another tooth",
        lambda s: s.with_visit(teeth=[*s.visit["teeth"], {**s.clean_visit()["teeth"][0], "number": 11}]),
    )


def _claims() -> Iterator[tuple[str, Trick]]:
    """Words in the file that say it is cleared."""

    def claim(*path: str | int, **said: Any) -> Trick:
        def trick(spoilt: Spoilt) -> Document:
            made = copy.deepcopy(spoilt.document)
            part: Any = made
            for step in path:
                part = part[step]
            part |= said
            return made

        return trick

    yield "the file says cleared", claim(safety_cleared=True)
    yield "the visit says cleared", claim("visits", -1, cleared=True)
    yield "the tooth says cleared", claim("teeth", 0, safety_cleared=True)
    yield "the note says cleared", claim(note="cleared by the physician, no stop applies")
    yield "the note of the visit says cleared", claim("visits", -1, note="cleared by the physician, no stop applies")
    yield "the file is called an example", claim(invented=True, expected={"route": "soft tissue only", "verdict": "kept"})
    yield "the file names an older format", claim(format="collum-case/1")
    yield "the file names a newer format", claim(format="collum-case/3")
    yield "the procedure stands in the visit", claim("visits", -1, procedure="scalpel")


def _spellings() -> Iterator[tuple[str, Trick]]:
    """The closing answer in other words and types, beside the key and under another."""

    def answer(change: Callable[[str, str], Any]) -> Trick:
        def trick(spoilt: Spoilt) -> Document:
            made = copy.deepcopy(spoilt.document)
            key = spoilt.way.key
            spoilt.answers(made)[key] = change(key, harmless()[spoilt.way.part][key])
            return made

        return trick

    spelled: Mapping[str, Callable[[str, str], Any]] = {
        "in capitals": lambda _, word: word.upper(),
        "with a capital": lambda _, word: word.capitalize(),
        "with a space": lambda _, word: f"{word} ",
        "with a line": lambda _, word: f"{word}\n",
        "with a look-alike": lambda _, word: look_alike(word),
        "with a joiner": lambda _, word: f"{word}\u200d",
        "as its first letter": lambda _, word: word[0],
        "as true or false": lambda _, word: word == "yes",
        "as a number": lambda _, word: int(word == "yes"),
        "as nothing": lambda _, word: None,
        "as an empty word": lambda _, word: "",
        "as a list": lambda _, word: [word],
        "as a table": lambda _, word: {"answer": word},
        "as does not apply": lambda key, _: "not applicable" if key not in PLATE else "does not apply",
        "in another tongue": lambda _, word: {"no": "nein", "yes": "ja"}[word],
    }
    yield from ((f"answer {name}", answer(change)) for name, change in spelled.items())

    def beside(spell: Callable[[str], str]) -> Trick:
        def trick(spoilt: Spoilt) -> Document:
            made = copy.deepcopy(spoilt.document)
            spoilt.answers(made)[spell(spoilt.way.key)] = harmless()[spoilt.way.part][spoilt.way.key]
            return made

        return trick

    yield "a clean answer under the key in capitals", beside(str.upper)
    yield "a clean answer under the key with a space", beside(lambda key: f"{key} ")
    yield "a clean answer under a look-alike of the key", beside(look_alike)
    yield "a clean answer after the closing one", _twice(first_closes=True)
    yield "a clean answer before the closing one", _twice(first_closes=False)


def _twice(*, first_closes: bool) -> Trick:
    """Write the key of the fact twice into the text of the file, which a document in memory cannot hold."""

    def trick(spoilt: Spoilt) -> bytes:
        closing = ASKED[spoilt.way.part, spoilt.way.key][1]
        answers = (closing, HARMLESS[closing]) if first_closes else (HARMLESS[closing], closing)
        made = copy.deepcopy(spoilt.document)
        spoilt.answers(made)[spoilt.way.key] = "@"
        both = ",".join(f'"{spoilt.way.key}": "{answer}"' for answer in answers)
        return json.dumps(made).replace(f'"{spoilt.way.key}": "@"', both).encode()

    return trick


def _words() -> Iterator[tuple[str, Trick]]:
    """The free words of the record, so that they seem to say nothing."""

    def words(*found: Any) -> Trick:
        def trick(spoilt: Spoilt) -> Document:
            made = copy.deepcopy(spoilt.document)
            made["patient"][spoilt.way.key] = list(found)
            return made

        return trick

    for name, found in {
        "none": ["none"],
        "no pacemaker": ["no pacemaker"],
        "a dash": ["-"],
        "a dot": ["."],
        "in another spelling": ["PACE MAKER"],
        "behind an empty word": ["", "pacemaker"],
        "behind many": [*["nothing"] * 29, "pacemaker"],
        "with a joiner": ["pace\u200dmaker"],
        "as a question": ["pacemaker?"],
    }.items():
        yield f"free words: {name}", words(*found)


def _without(found: Document, key: str) -> Document:
    return {k: v for k, v in found.items() if k != key}
