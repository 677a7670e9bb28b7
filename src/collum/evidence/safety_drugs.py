"""Names of drugs by which a list in free words speaks to the questions about drugs.

Parts of generic names, in small letters, as they are known by heart (memory): the list is not complete and none of it was
looked up. A drug that is not named here says nothing by itself; somebody has to read it.
"""

from collections.abc import Mapping

NAMED_BY: Mapping[str, tuple[str, ...]] = {
    "bone_drugs": (
        "dronat",
        "dronic",
        "denosumab",
        "romosozumab",
        "bevacizumab",
        "sunitinib",
        "bisphosphonat",
    ),
    "blood_thinner": (
        "warfarin",
        "coumarol",
        "coumon",
        "xaban",
        "dabigatran",
        "heparin",
        "clopidogrel",
        "prasugrel",
        "ticagrelor",
        "aspirin",
        "acetylsalicyl",
        "dipyridamol",
    ),
    "poor_healing": (
        "methotrexat",
        "azathioprin",
        "mycophenol",
        "tacrolimus",
        "sirolimus",
        "ciclosporin",
        "cyclosporin",
        "prednisolon",
        "prednison",
        "dexamethason",
    ),
    "overgrowth_drug": (
        "ciclosporin",
        "cyclosporin",
        "phenytoin",
        "nifedipin",
        "amlodipin",
        "felodipin",
        "verapamil",
        "diltiazem",
    ),
}


def questions_named(drug: str) -> tuple[str, ...]:
    """Return the questions that a drug in free words answers with yes; none where no name is known."""
    written = drug.casefold()
    return tuple(rule for rule, parts in NAMED_BY.items() if any(part in written for part in parts))
