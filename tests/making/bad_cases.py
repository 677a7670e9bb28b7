"""Case documents with one fault each, made from a sound one: name, change, where the fault stands, what it is."""

import copy
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Document = dict[str, Any]


def sound_document() -> Document:
    """A plain case of one tooth, readings in lists, invented."""
    return {
        "format": "collum-case/2",
        "invented": True,
        "patient": {"reference": "T-207", "phenotype": "thick"},
        "teeth": [
            {
                "number": 45,
                "role": "crown",
                "vital": True,
                "sound_measured": True,
                "state": "overgrown",
                "overgrowth": {"cause": "drug", "controlled_since": "2026-03-01"},
                "sites": {
                    "order": ["F", "MF", "ML", "L", "DL", "DF"],
                    "step": 0.5,
                    "probing_depth": [3.0, 4.0, 4.0, 3.0, 5.0, 5.0],
                    "bone_sounding": [4.5, 5.5, 5.5, 4.5, 6.5, [6.5, 6.0]],
                    "crown_height": [5.0, 4.0, 4.0, 5.0, 3.5, 3.5],
                    "sound_height": [3.5, 2.5, 2.5, 3.5, 1.0, "not measurable"],
                    "keratinised_width": {"F": 6.0, "L": 6.5},
                },
                "restoration": {"occlusal_reduction_mm": 1.5, "finish": {"position": "in the sulcus", "mm": 0.5}},
            }
        ],
    }


@dataclass(frozen=True, slots=True)
class BadCase:
    """One fault: `where` is the beginning of its place, `what` the key of what is wrong."""

    name: str
    change: Callable[[Document], None]
    where: str
    what: str

    def document(self) -> Document:
        made = copy.deepcopy(sound_document())
        self.change(made)
        return made


def _at(path: str, value: object) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        parts = path.split("/")
        target: Any = document
        for part in parts[:-1]:
            target = target[int(part)] if part.isdigit() else target[part]
        last: Any = int(parts[-1]) if parts[-1].isdigit() else parts[-1]
        target[last] = value

    return change


def _gone(path: str) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        parts = path.split("/")
        target: Any = document
        for part in parts[:-1]:
            target = target[int(part)] if part.isdigit() else target[part]
        del target[parts[-1]]

    return change


T = "teeth/0"
S = "teeth/0/sites"

BAD_CASES: tuple[BadCase, ...] = tuple(
    BadCase(name, change, where, what)
    for name, change, where, what in (
        ("no format", _gone("format"), "format", "missing"),
        ("format is a number", _at("format", 1), "format", "not_a_format"),
        ("format of something else", _at("format", "other/1"), "format", "not_a_format"),
        ("format without number", _at("format", "collum-case"), "format", "not_a_format"),
        ("format number 0", _at("format", "collum-case/0"), "format", "not_a_format"),
        ("format number in words", _at("format", "collum-case/one"), "format", "not_a_format"),
        ("newer format", _at("format", "collum-case/4"), "format", "newer_format"),
        ("no patient", _gone("patient"), "patient", "missing"),
        ("patient is a list", _at("patient", []), "patient", "not_a_table"),
        ("no reference", _gone("patient/reference"), "patient.reference", "missing"),
        ("a name as reference", _at("patient/reference", "Jane Doe"), "patient.reference", "bad_text"),
        ("empty reference", _at("patient/reference", ""), "patient.reference", "bad_text"),
        ("long reference", _at("patient/reference", "A" * 25), "patient.reference", "bad_text"),
        ("reference is a number", _at("patient/reference", 7), "patient.reference", "not_text"),
        ("unknown phenotype", _at("patient/phenotype", "fat"), "patient.phenotype", "not_a_choice"),
        ("misspelt key", _at("patient/fenotype", "thin"), "patient.fenotype", "unknown_key"),
        ("unknown top key", _at("patients", {}), "patients", "unknown_key"),
        ("no teeth", _gone("teeth"), "teeth", "missing"),
        ("empty teeth", _at("teeth", []), "teeth", "not_a_list"),
        ("teeth is a table", _at("teeth", {}), "teeth", "not_a_list"),
        ("tooth is a number", _at(T, 45), "teeth[0]", "not_a_table"),
        ("no tooth number", _gone(f"{T}/number"), "teeth[0].number", "missing"),
        ("tooth 49", _at(f"{T}/number", 49), "teeth[0].number", "not_a_tooth"),
        ("universal tooth 8", _at(f"{T}/number", 8), "teeth[0].number", "universal_tooth"),
        ("universal tooth 30", _at(f"{T}/number", 30), "teeth[0].number", "universal_tooth"),
        ("primary tooth 75", _at(f"{T}/number", 75), "teeth[0].number", "primary_tooth"),
        ("tooth 0", _at(f"{T}/number", 0), "teeth[0].number", "not_whole"),
        ("tooth 45.5", _at(f"{T}/number", 45.5), "teeth[0].number", "not_whole"),
        ("tooth is true", _at(f"{T}/number", True), "teeth[0].number", "not_whole"),
        ("tooth in letters", _at(f"{T}/number", "UL5"), "teeth[0].number", "not_a_tooth"),
        ("universal 40", _at(f"{T}/number", "40 universal"), "teeth[0].number", "not_a_tooth"),
        ("two numbers", _at(f"{T}/universal", 29), "teeth[0].number", "two_numbers"),
        ("unknown role", _at(f"{T}/role", "bridge"), "teeth[0].role", "not_a_choice"),
        ("vital is a word", _at(f"{T}/vital", "yes"), "teeth[0].vital", "not_a_flag"),
        ("vital is 1", _at(f"{T}/vital", 1), "teeth[0].vital", "not_a_flag"),
        ("unknown state", _at(f"{T}/state", "swollen"), "teeth[0].state", "not_a_choice"),
        ("cause missing", _at(f"{T}/overgrowth", {}), "teeth[0].overgrowth.cause", "missing"),
        ("unknown cause", _at(f"{T}/overgrowth/cause", "age"), "teeth[0].overgrowth.cause", "not_a_choice"),
        (
            "no such day",
            _at(f"{T}/overgrowth/controlled_since", "2026-02-30"),
            "teeth[0].overgrowth.controlled_since",
            "not_a_day",
        ),
        (
            "day in words",
            _at(f"{T}/overgrowth/controlled_since", "in May"),
            "teeth[0].overgrowth.controlled_since",
            "not_a_day",
        ),
        ("plaque 120 %", _at(f"{T}/plaque_percent", 120), "teeth[0].plaque_percent", "out_of_range"),
        ("no order", _gone(f"{S}/order"), "teeth[0].sites.order", "missing"),
        ("empty order", _at(f"{S}/order", []), "teeth[0].sites.order", "not_a_list"),
        ("unknown site", _at(f"{S}/order/0", "B"), "teeth[0].sites.order[0]", "bad_text"),
        ("site 360", _at(f"{S}/order/0", "360"), "teeth[0].sites.order[0]", "bad_text"),
        ("same site twice", _at(f"{S}/order/1", "F"), "teeth[0].sites.order", "site_twice"),
        ("same place by angle", _at(f"{S}/order/1", "0"), "teeth[0].sites.order", "site_twice"),
        ("step 0", _at(f"{S}/step", 0), "teeth[0].sites.step", "out_of_range"),
        ("step is a word", _at(f"{S}/step", "half"), "teeth[0].sites.step", "not_a_number"),
        ("step for an unknown kind", _at(f"{S}/step", {"depth": 1}), "teeth[0].sites.step.depth", "unknown_key"),
        ("decimal comma", _at(f"{S}/probing_depth/0", "3,5"), "teeth[0].sites.probing_depth[0]", "decimal_comma"),
        (
            "decimal comma in a repeat",
            _at(f"{S}/bone_sounding/0", [5, "5,5"]),
            "teeth[0].sites.bone_sounding[0][1]",
            "decimal_comma",
        ),
        (
            "decimal comma in a wish",
            _at(f"{T}/restoration", {"planned_edge_mm": "1,5"}),
            "teeth[0].restoration.planned_edge_mm",
            "decimal_comma",
        ),
        ("list too short", _at(f"{S}/probing_depth", [3.0, 4.0]), "teeth[0].sites.probing_depth", "wrong_length"),
        ("list too long", _at(f"{S}/probing_depth", [3.0] * 7), "teeth[0].sites.probing_depth", "wrong_length"),
        ("kind is a number", _at(f"{S}/probing_depth", 3.0), "teeth[0].sites.probing_depth", "not_a_table"),
        ("negative depth", _at(f"{S}/probing_depth/0", -1.0), "teeth[0].sites.probing_depth[0]", "out_of_range"),
        ("depth 16", _at(f"{S}/probing_depth/0", 16.0), "teeth[0].sites.probing_depth[0]", "out_of_range"),
        ("depth is a word", _at(f"{S}/probing_depth/0", "deep"), "teeth[0].sites.probing_depth[0]", "not_a_reading"),
        ("depth is true", _at(f"{S}/probing_depth/0", True), "teeth[0].sites.probing_depth[0]", "not_a_number"),
        ("depth is nothing", _at(f"{S}/probing_depth/0", None), "teeth[0].sites.probing_depth[0]", "not_a_number"),
        ("empty repeats", _at(f"{S}/probing_depth/0", []), "teeth[0].sites.probing_depth[0]", "not_a_list"),
        ("nine repeats", _at(f"{S}/probing_depth/0", [3.0] * 9), "teeth[0].sites.probing_depth[0]", "not_a_list"),
        ("repeats in repeats", _at(f"{S}/probing_depth/0", [[3.0]]), "teeth[0].sites.probing_depth[0][0]", "not_a_number"),
        ("off the step", _at(f"{S}/probing_depth/0", 3.2), "teeth[0].sites.probing_depth[0] (tooth 45, F)", "off_the_step"),
        (
            "value and beyond",
            _at(f"{S}/probing_depth/0", {"value": 3.0, "beyond": 3.0}),
            "teeth[0].sites.probing_depth[0]",
            "value_or_beyond",
        ),
        ("neither", _at(f"{S}/probing_depth/0", {"error": 0.4}), "teeth[0].sites.probing_depth[0]", "value_or_beyond"),
        ("beyond 0", _at(f"{S}/probing_depth/0", {"beyond": 0.0}), "teeth[0].sites.probing_depth[0]", "beyond_not_positive"),
        (
            "error 0",
            _at(f"{S}/probing_depth/0", {"value": 3.0, "error": 0}),
            "teeth[0].sites.probing_depth[0].error",
            "out_of_range",
        ),
        (
            "unknown key in a reading",
            _at(f"{S}/probing_depth/0", {"value": 3.0, "sd": 1}),
            "teeth[0].sites.probing_depth[0].sd",
            "unknown_key",
        ),
        (
            "unknown moment",
            _at(f"{S}/probing_depth/0", {"value": 3.0, "state": "later"}),
            "teeth[0].sites.probing_depth[0].state",
            "not_a_choice",
        ),
        (
            "sounding under probing",
            _at(f"{S}/bone_sounding/0", 1.0),
            "teeth[0].sites.bone_sounding[0] (tooth 45, F)",
            "sounding_under_probing",
        ),
        ("sounding 21", _at(f"{S}/bone_sounding/0", 21.0), "teeth[0].sites.bone_sounding[0]", "out_of_range"),
        (
            "site outside the order",
            _at(f"{S}/keratinised_width/M", 5.0),
            "teeth[0].sites.keratinised_width.M",
            "site_not_in_order",
        ),
        ("no such site", _at(f"{S}/keratinised_width/Q", 5.0), "teeth[0].sites.keratinised_width.Q", "unknown_site"),
        (
            "palate on a lower tooth",
            _at(f"{S}/keratinised_width/L", "not applicable"),
            "teeth[0].sites.keratinised_width.L",
            "no_palate",
        ),
        (
            "not applicable depth",
            _at(f"{S}/probing_depth/0", "not applicable"),
            "teeth[0].sites.probing_depth[0]",
            "not_a_reading",
        ),
        ("unknown kind of reading", _at(f"{S}/pocket", [1] * 6), "teeth[0].sites.pocket", "unknown_key"),
        ("bleeding outside the order", _at(f"{T}/bleeding", ["M"]), "teeth[0].bleeding", "site_not_in_order"),
        ("bleeding is a flag", _at(f"{T}/bleeding", True), "teeth[0].bleeding", "not_a_list"),
        ("state of a foreign site", _at(f"{T}/site_state", {"D": "healthy"}), "teeth[0].site_state", "site_not_in_order"),
        (
            "reduction 9",
            _at(f"{T}/restoration/occlusal_reduction_mm", 9),
            "teeth[0].restoration.occlusal_reduction_mm",
            "out_of_range",
        ),
        ("convergence -1", _at(f"{T}/restoration/convergence_deg", -1), "teeth[0].restoration.convergence_deg", "out_of_range"),
        (
            "finish without position",
            _at(f"{T}/restoration/finish", {"mm": 0.5}),
            "teeth[0].restoration.finish.position",
            "missing",
        ),
        (
            "unknown position",
            _at(f"{T}/restoration/finish/position", "hidden"),
            "teeth[0].restoration.finish.position",
            "not_a_choice",
        ),
        (
            "requirement without reason",
            _at(f"{T}/requirements", [{"id": "ferrule", "limit": 1.5}]),
            "teeth[0].requirements[0].reason",
            "missing",
        ),
        (
            "unknown requirement",
            _at(f"{T}/requirements", [{"id": "look", "reason": "x"}]),
            "teeth[0].requirements[0].id",
            "not_a_choice",
        ),
        (
            "bone under its floor",
            _at(f"{T}/requirements", [{"id": "clear_of_bone", "limit": 0.9, "reason": "x"}]),
            "teeth[0].requirements[0].limit",
            "below_floor",
        ),
        (
            "crest under its floor",
            _at(f"{T}/requirements", [{"id": "clear_of_crest", "limit": 2.4, "reason": "x"}]),
            "teeth[0].requirements[0].limit",
            "below_floor",
        ),
        (
            "bone at less confidence",
            _at(f"{T}/requirements", [{"id": "clear_of_bone", "confidence": 0.9, "reason": "x"}]),
            "teeth[0].requirements[0].confidence",
            "below_floor",
        ),
        (
            "confidence 2",
            _at(f"{T}/requirements", [{"id": "ferrule", "confidence": 2, "reason": "x"}]),
            "teeth[0].requirements[0].confidence",
            "out_of_range",
        ),
        ("held at no site", _at(f"{T}/held", {"cut": {"x": -1}}), "teeth[0].held.cut.x", "unknown_site"),
        ("held line unknown", _at(f"{T}/held", {"crest": {"L": -1}}), "teeth[0].held.crest", "unknown_key"),
        ("control character", _at("note", "a\u0007b"), "note", "control_character"),
        ("endless note", _at("note", "x" * 2001), "note", "bad_text"),
        ("units in inches", _at("units", {"length": "in"}), "units.length", "not_a_choice"),
        ("mobility without scale", _at(f"{T}/mobility", {"grade": 1}), "teeth[0].mobility.scale", "missing"),
        ("depth of 400 digits", _at(f"{S}/probing_depth/0", 10**400), "teeth[0].sites.probing_depth[0]", "out_of_range"),
        ("phenotype of 9000 digits", _at("patient/phenotype", 10**9000), "patient.phenotype", "not_a_choice"),
        ("format number of 5000 digits", _at("format", "collum-case/" + "1" * 5000), "format", "not_a_format"),
        ("key that no line can show", _at("a\ud800b", 1), "a?b", "unknown_key"),
        (
            "a repeat off the step",
            _at(f"{S}/bone_sounding/5", [6.5, 6.2]),
            "teeth[0].sites.bone_sounding[5][1] (tooth 45, DF)",
            "off_the_step",
        ),
        ("held twice at one place", _at(f"{T}/held", {"cut": {"F": -1, "0": -2}}), "teeth[0].held.cut", "site_twice"),
        (
            "a requirement twice",
            _at(f"{T}/requirements", [{"id": "ferrule", "reason": "x"}, {"id": "ferrule", "reason": "y"}]),
            "teeth[0].requirements[1].id",
            "duplicate_key",
        ),
        (
            "its own mirror tooth",
            _at(f"{T}/own_height_from", [{"tooth": 45, "site": "F", "margin_to_crest_mm": 3}]),
            "teeth[0].own_height_from[0].tooth",
            "same_tooth",
        ),
        (
            "mirror tooth 29",
            _at(f"{T}/own_height_from", [{"tooth": 29, "site": "F", "margin_to_crest_mm": 3}]),
            "teeth[0].own_height_from[0].tooth",
            "not_a_tooth",
        ),
        ("bridge tooth 19", _at("bridges", [{"teeth": [45, 19], "pontics": []}]), "bridges[0].teeth[1]", "not_a_tooth"),
        ("bridge tooth twice", _at("bridges", [{"teeth": [45, 45], "pontics": []}]), "bridges[0].teeth[1]", "tooth_twice"),
        ("bridge on air", _at("bridges", [{"teeth": [45, 46], "pontics": [45, 46]}]), "bridges[0].pontics", "no_abutment"),
        ("expected route unknown", _at("expected", {"route": "laser", "verdict": "kept"}), "expected.route", "not_a_choice"),
        (
            "expected verdict unknown",
            _at("expected", {"route": "soft tissue only", "verdict": "ok"}),
            "expected.verdict",
            "not_a_choice",
        ),
        (
            "furcation grade 5",
            _at(f"{T}/furcation", [{"side": "facial", "grade": 5, "scale": "x"}]),
            "teeth[0].furcation[0].grade",
            "not_whole",
        ),
        ("not finite", _at(f"{S}/probing_depth/0", float("nan")), "teeth[0].sites.probing_depth[0]", "not_finite"),
    )
)
