"""Cases read off the published schema of the case file: any key it knows may be there, with a plausible or an extreme value.

Nothing is known here but the schema and what a few numbers of a mouth are usually like. Readings are a level of the tooth and
noise at each site; no truth is behind them, and they hang together no better than that. Invented.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.random import Generator

Json = Any
ARCHES = tuple((*range(right + 8, right, -1), *range(left + 1, left + 9)) for right, left in ((10, 20), (40, 30)))
SITES = ("F", "MF", "M", "ML", "L", "DL", "D", "DF", "15", "45", "135", "150", "200", "225", "330")
EXTREME, EXTREME_READING = 0.03, 0.003  # of the numbers are anything the schema takes
OFTEN = {"state": 0.8, "restoration": 0.5, "vital": 0.6, "sound_measured": 0.8, "finish": 0.6}
SELDOM = {
    "ankylosis": 0.03,
    "vertical_root_fracture": 0.02,
    "perforation": 0.03,
    "stops": 0.1,
    "drugs": 0.1,
    "conditions": 0.1,
    "requirements": 0.1,
    "visits": 0.3,
    "growing": 0.05,
    "caries_restorable": 0.05,
    "attachment_loss_mm": 0.05,
    "implant_beside": 0.05,
    "site_state": 0.05,
}
CLOSES = ("inflamed", "hopeless", "acute")  # every route: drawn twice before it is believed
BY_CHANCE = 0.15  # any other key
# Made by rules of their own, or left out.
APART = ("universal", "number", "expected", "bridges", "visits", "sites", "step", "order")
READ = {"probing_depth": 0.95, "bone_sounding": 0.9, "crown_height": 0.9, "sound_height": 0.9}  # others: one in two
USUAL = {
    "length_mm": (10, 18),
    "trunk_mm": (2, 6),
    "occlusal_reduction_mm": (0.5, 2.5),
    "axial_reduction_mm": (0.5, 1.5),
    "convergence_deg": (4, 40),
    "mm": (0, 1),
    "planned_edge_mm": (-1, 2),
    "limit": (0.5, 3),
    "confidence": (0.9, 0.99),
    "cut": (-4, 0),
    "finish": (-3, 1),
    "margin_to_crest_mm": (2.5, 4.5),
    "error": (0.2, 1),
    "error_mm": (0.2, 1),
    "attachment_loss_mm": (0, 5),
    "mirror_margin_mm": (-2, 2),
    "mirror_above_cej_mm": (-1, 3),
    "top_mm": (0, 6),
    "mesial": (2, 5),
    "distal": (2, 5),
    "fracture_depth_mm": (0, 4),
    "interocclusal_space_mm": (0.5, 4),
    "facial_oral": (5, 10),
    "mesiodistal": (4, 10),
    "connector_height_mm": (2, 5),
    "connector_width_mm": (2, 5),
}


def teeth_by_schema(schema: Json, count: int, seed: int) -> Iterator[Json]:
    """Yield `count` case documents that the schema allows."""
    for index in range(count):
        yield _Walk(schema, np.random.default_rng([seed, index])).case(f"MADE-S{index}")


class _Walk:
    """One walk through the schema makes one case."""

    def __init__(self, schema: Json, rng: Generator) -> None:
        self._schema = schema["properties"]
        self._rng = rng
        self._order: list[str] = list(SITES[:8])  # of the tooth that is being made

    def case(self, reference: str) -> Json:
        numbers, bridges = self._mouth()
        made = self._table({"properties": {k: v for k, v in self._schema.items() if k not in ("teeth", "patient")}})
        made |= {"format": "collum-case/2", "patient": self._value(self._schema["patient"]) | {"reference": reference}}
        made["teeth"] = [self._tooth(number) for number in numbers]
        if bridges:
            made["bridges"] = bridges
        if self._is(SELDOM["visits"]):
            visit = self._schema["visits"]["items"]
            opened = self._some([f"2026-0{month}-11T08:30:00Z" for month in range(1, 10)], 2)
            made["visits"] = [
                self._value(visit) | {"opened_at": moment, "teeth": self._answered(visit, numbers)} for moment in opened
            ]
        return made

    def _mouth(self) -> tuple[list[int], list[Json]]:
        """Return the teeth of the case, and a bridge over them in one case of five."""
        arch = ARCHES[int(self._rng.integers(2))]
        if not self._is(0.2):
            return self._some(list(arch), 3), []
        first, length = int(self._rng.integers(len(arch) - 5)), int(self._rng.integers(2, 6))
        span = list(arch[first : first + length])
        pontics = [n for n in span[1:] if self._is(0.5)]
        bridge = self._value(self._schema["bridges"]["items"]) | {"teeth": span, "pontics": pontics}
        shape = self._schema["bridges"]["items"]["properties"]["beds"]["items"]
        bridge["beds"] = [self._value(shape) | {"tooth": number} for number in pontics if self._is(0.5)]
        return [number for number in span if number not in pontics][:3], [bridge]

    def _answered(self, visit: Json, numbers: list[int]) -> list[Json]:
        shape = visit["properties"]["teeth"]["items"]
        return [self._value(shape) | {"number": number} for number in numbers if self._is(0.8)]

    def _tooth(self, number: int) -> Json:
        shape = self._schema["teeth"]["items"]
        self._order = self._sites()
        tooth = self._value(shape) | {"number": number, "sites": self._readings(shape["properties"]["sites"], number)}
        for mirror in tooth.get("own_height_from", ()):
            mirror["tooth"] = number + 10 if number < 20 or 30 < number < 40 else number - 10
        return tooth

    def _sites(self) -> list[str]:
        """Return a few places in any order; two names of one place are not both among them."""
        return self._some(list(SITES), 12 if self._is(0.2) else 8, least=1 if self._is(0.1) else 4)

    def _readings(self, shape: Json, number: int) -> Json:
        """Return what was read at the sites, in both spellings: a list in their order, or by site."""
        kinds = {kind: found for kind, found in shape["properties"].items() if kind not in APART}
        step = float(self._rng.choice((0.1, 0.5, 1.0)))
        sites: Json = {"order": self._order, "step": dict.fromkeys(kinds, step) if self._is(0.3) else step}
        levels = self._levels()
        for kind, found in kinds.items():
            if self._is(READ.get(kind, 0.5)):
                item = found["anyOf"][0]["items"]
                entries = {site: self._entry(item, levels[kind][site], step) for site in self._order}
                if kind == "keratinised_width" and number < 30 and "L" in entries:
                    entries["L"] = "not applicable"  # the palate
                sites[kind] = list(entries.values()) if self._is(0.5) else {s: e for s, e in entries.items() if self._is(0.85)}
        return sites

    def _levels(self) -> dict[str, dict[str, float]]:
        """Return about where each kind of reading is: one level for the tooth, and noise at the sites. [mm]"""
        probing, attached = self._rng.uniform(0.8, 5), self._rng.uniform(1.2, 3.5)
        sound, lost = self._rng.uniform(-2.5, 5), self._rng.uniform(0, 6)
        middle = {
            "probing_depth": probing,
            "bone_sounding": probing + attached,
            "sound_height": sound,
            "crown_height": sound + lost,
            "cej_height": self._rng.uniform(-5, 0.5),
            "keratinised_width": self._rng.uniform(1, 8),
            "wall_thickness": self._rng.uniform(0.8, 3.5),
            "tissue_thickness": self._rng.uniform(0.6, 2.5),
        }
        noise = self._rng.uniform(0.1, 0.8)
        return {kind: {site: self._rng.normal(mm, noise) for site in self._order} for kind, mm in middle.items()}

    def _entry(self, shape: Json, about_mm: float, step_mm: float) -> Json:
        """Return one entry of a site: a number, a table, repeats, or a word where it cannot be read."""
        number = next(one for one in shape["anyOf"] if one.get("type") == "number")
        table = next(one["properties"] for one in shape["anyOf"] if "properties" in one)
        read = [self._read(about_mm, step_mm, number) for _ in range(int(self._rng.integers(1, 5)))]
        chance = self._rng.random()
        if chance < 0.03:
            return "not measurable"
        if chance < 0.1:
            return read
        if chance < 0.2:
            beside = self._table({"properties": {k: v for k, v in table.items() if k not in (*APART, "value", "beyond")}})
            return {"beyond" if self._is(0.1) and read[0] > 0 else "value": read[0], **beside}
        return read[0]

    def _read(self, about_mm: float, step_mm: float, shape: Json) -> float:
        """Return a number of whole steps, seldom anything the schema takes."""
        low, high = shape["minimum"], shape["maximum"]
        wanted = self._rng.uniform(low, high) if self._is(EXTREME_READING) else self._rng.normal(about_mm, 0.2)
        steps = np.clip(np.round(wanted / step_mm), np.ceil(low / step_mm), np.floor(high / step_mm))
        return round(float(steps) * step_mm, 6) + 0.0

    def _value(self, shape: Json, name: str = "") -> Json:
        """Return a value that a part of the schema allows; `name` is the key it is for."""
        if "enum" in shape:
            (word,) = self._some(shape["enum"], 1)
            return self._some(shape["enum"], 1)[0] if word in CLOSES else word
        if "anyOf" in shape:
            return self._value(shape["anyOf"][int(self._rng.integers(len(shape["anyOf"])))], name)
        if "patternProperties" in shape:
            (item,) = shape["patternProperties"].values()
            return {site: self._value(item, name) for site in self._some(self._order, 3)}
        kind = shape.get("type", "object")
        if kind == "array":
            return self._list(shape, name)
        if kind == "object":
            return self._table(shape)
        return self._plain(shape, kind, name)

    def _table(self, shape: Json) -> Json:
        required = shape.get("required", ())
        return {
            key: self._value(found, key)
            for key, found in shape["properties"].items()
            if key in required or (key not in APART and self._is(OFTEN.get(key, SELDOM.get(key, BY_CHANCE))))
        }

    def _list(self, shape: Json, name: str) -> Json:
        item = shape["items"]
        if "F|MF" in item.get("pattern", ""):
            return self._some(self._order, 3)
        if "enum" in item:
            return self._some(item["enum"], 2)
        made = [self._value(item, name) for _ in range(int(self._rng.integers(3)))]
        return list({one["id"]: one for one in made}.values()) if name == "requirements" else made

    def _plain(self, shape: Json, kind: str, name: str) -> Json:
        if kind == "boolean":
            return bool(self._is(0.5))
        if kind == "integer":
            return int(self._rng.integers(shape["minimum"], shape["maximum"] + 1))
        if kind == "string":
            return self._text(shape.get("pattern", ""), name)
        low, high = shape["minimum"], shape["maximum"]
        if not self._is(EXTREME):
            low, high = (np.clip(end, low, high) for end in USUAL.get(name, (low, high)))
        return round(float(self._rng.uniform(low, high)), 2) + 0.0

    def _text(self, pattern: str, name: str) -> str:
        if "F|MF" in pattern:
            return str(self._rng.choice(self._order))
        if "[0-9a-f]{16}" in pattern:
            return "0123456789abcdef"
        if "T(?:" in pattern:
            return "2026-05-04T09:30:00Z"
        if pattern.startswith("^[0-9]{4}"):
            return f"202{self._rng.integers(3, 7)}-0{self._rng.integers(1, 10)}-17"
        return str(self._rng.choice(("anticoagulant", "bisphosphonate", "phenytoin"))) if name == "drugs" else "Words-1"

    def _is(self, chance: float) -> bool:
        return bool(self._rng.random() < chance)

    def _some(self, among: list[Any], most: int, least: int = 1) -> list[Any]:
        """Return some of the values, each once, in any order."""
        count = int(self._rng.integers(min(least, len(among)), min(most, len(among)) + 1))
        return [among[i] for i in self._rng.permutation(len(among))[:count]]
