"""What a case says of tooth and patient beside the readings, in groups, as it was entered."""

from collections.abc import Mapping
from typing import Any

from collum.papers.head import Content
from collum.wording import text

Facts = Mapping[str, Any]
_GROUPS: Mapping[str, tuple[str, ...]] = {
    "tissue": (
        "state",
        "overgrowth",
        "site_state",
        "bleeding",
        "plaque_percent",
        "bleeding_percent",
        "hygiene_phase",
        "restoration_margin_mm",
        "attachment_loss_mm",
        "scar",
        "frenum",
        "shallow_vestibule",
        "own_height_from",
        "mirror_margin_mm",
        "mirror_healthy",
        "mirror_above_cej_mm",
        "wished_margin_mm",
    ),
    "tooth": (
        "role",
        "vital",
        "pulp_test",
        "apical_state",
        "root_filling",
        "canal",
        "sound_measured",
        "caries_restorable",
        "cracks",
        "pain_on_release",
        "fracture_depth_mm",
        "vertical_root_fracture",
        "perforation",
        "perforation_restorable",
        "core",
        "mobility",
        "mobility_rising",
        "furcation",
        "root",
        "ankylosis",
        "anchorage",
        "old_crown",
        "strategic_value",
    ),
    "around": (
        "contact",
        "contact_point_mm",
        "proximal_crest_from_film_mm",
        "bony_ledge",
        "implant_beside",
        "metal",
        "interocclusal_space_mm",
        "opposing",
        "opposing_over_erupted_mm",
        "bite_raise_mm",
        "guidance",
        "visible_aspects",
        "access",
        "two_operations_accepted",
        "dam_and_matrix",
        "dentine_seat_mm",
        "cut_by",
        "edge_is_level",
        "restoration",
        "requirements",
        "held",
        "note",
    ),
    "patient": (
        "phenotype",
        "age_band",
        "growing",
        "smoking",
        "drugs",
        "hygiene",
        "bruxism",
        "smile_line",
        "stops",
        "history",
        "growth",
        "classified",
        "wish",
    ),
}
_UNITS: Mapping[str, str] = {"_mm": " mm", "_deg": "°", "_percent": " %"}
_NOT_FACTS = ("number", "sites", "reference")


def fact_groups(case: Facts, tooth: Facts) -> list[Content]:
    """Return groups of facts, each a label with what was entered; a key of a newer layout stands under its own name."""
    known = {key for keys in _GROUPS.values() for key in keys}
    groups = [
        {
            "title": text(f"paper.findings.group.{name}"),
            "tissue": name == "tissue",
            "facts": _facts(case["patient"] if name == "patient" else tooth, keys),
        }
        for name, keys in _GROUPS.items()
    ]
    others = [key for key in {**tooth, **case["patient"]} if key not in known and key not in _NOT_FACTS]
    rest = [[text("paper.findings.other", {"key": _spaced(key)}), words({**case["patient"], **tooth}[key])] for key in others]
    found = [*groups, {"title": text("paper.findings.group.other"), "tissue": False, "facts": rest}]
    return [group for group in found if group["facts"]]


def words(entered: Any) -> str:
    """Return what was entered in words: yes and no, numbers as typed, tables as `key value`, lists with commas."""
    if isinstance(entered, bool):
        return text("paper.findings.yes" if entered else "paper.findings.no")
    if isinstance(entered, Mapping):
        return ", ".join(_entry(key, part) for key, part in entered.items())
    if isinstance(entered, list | tuple):
        return "; ".join(words(part) for part in entered) or text("paper.findings.none")
    if isinstance(entered, int | float):
        return f"{entered:g}".replace("-", "\N{MINUS SIGN}")
    return str(entered)


def _facts(entries: Facts, keys: tuple[str, ...]) -> list[list[str]]:
    return [[text(f"paper.findings.fact.{key}"), _told(key, entries[key])] for key in keys if key in entries]


def _told(key: str, entered: Any) -> str:
    """Return what was entered in words; a fact of the history by its name, not by the key of its question."""
    if key != "history":
        return words(entered)
    named = {text(f"safety.condition.{fact}"): words(stated) for fact, stated in entered.items()}
    return "; ".join(f"{name} ({stated})" if stated else name for name, stated in named.items())


def _entry(key: str, part: Any) -> str:
    """Return `length_mm: 14` as "length 14 mm", and `mm: 0.5` as "0.5 mm"."""
    key = key if key.startswith("_") or f"_{key}" not in _UNITS else f"_{key}"
    bare, unit = next(((key.removesuffix(end), unit) for end, unit in _UNITS.items() if key.endswith(end)), (key, ""))
    return f"{_spaced(bare)} {words(part)}{unit}".strip()


def _spaced(key: str) -> str:
    return key.removesuffix("_mm").replace("_", " ")
