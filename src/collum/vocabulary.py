"""Names that several parts share: routes, verdicts, requirements, units, words of a case. Imports nothing."""

from typing import Final, Literal, get_args

RouteName = Literal[
    "restore without lengthening",
    "deep margin elevation",
    "partial coverage",
    "soft tissue only",
    "soft tissue and bone",
    "extrusion first",
]
ROUTES: Final[tuple[RouteName, ...]] = get_args(RouteName)
Verdict = Literal["kept", "in doubt", "short", "not needed", "closed", "not assessed"]
Likelihood = Literal["probably", "open", "unlikely"]  # the word beside "in doubt"
RequirementId = Literal[
    "no_attachment_cut",
    "clear_of_bone",
    "clear_of_crest",
    "definitive_finish_line",
    "ferrule",
    "preparation_height",
    "resistance",
    "keratinised_tissue_left",
    "papilla",
    "visible_zone",
    "crown_to_root",
    "attached_area",
    "furcation",
    "enamel_at_margin",
    "walls_standing",
    "seat_clear_of_crest",
]
Unit = Literal["mm", "ratio", "share"]

Role = Literal["crown", "abutment", "neighbour"]
ToothState = Literal["healthy", "inflamed", "overgrown", "unknown"]
Phenotype = Literal["thin", "thick", "unknown"]
Cause = Literal[
    "drug",
    "appliance",
    "plaque",
    "mouth breathing",
    "altered passive eruption",
    "hereditary",
    "removable denture",
    "unknown",
]
SmileLine = Literal["low", "middle", "high"]
Contact = Literal["tooth", "gap", "pontic", "no contact", "behind last molar"]
FinishPosition = Literal["in the sulcus", "at the margin", "supragingival"]
Jaw = Literal["upper", "lower"]
Opposing = Literal["natural", "crown", "bridge", "denture", "implant", "none"]
PaperKind = Literal[
    "chairside-card",
    "scalpel-card",
    "plan-sheet",
    "colleague-plan",
    "findings-sheet",
    "flap-sheet",
    "extrusion-sheet",
    "restoration-sheet",
    "bridge-sheet",
]
