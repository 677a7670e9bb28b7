"""All requirements in the order in which they are shown. Assessment, solver, wishes and papers iterate over this table."""

from collections.abc import Mapping

from collum.plan.lengthening.requirements.attached_area import ATTACHED_AREA
from collum.plan.lengthening.requirements.clear_of_bone import CLEAR_OF_BONE
from collum.plan.lengthening.requirements.clear_of_crest import CLEAR_OF_CREST
from collum.plan.lengthening.requirements.crown_to_root import CROWN_TO_ROOT
from collum.plan.lengthening.requirements.definitive_finish_line import DEFINITIVE_FINISH_LINE
from collum.plan.lengthening.requirements.ferrule import FERRULE
from collum.plan.lengthening.requirements.furcation import FURCATION
from collum.plan.lengthening.requirements.keratinised_tissue_left import KERATINISED_TISSUE_LEFT
from collum.plan.lengthening.requirements.no_attachment_cut import NO_ATTACHMENT_CUT
from collum.plan.lengthening.requirements.papilla import PAPILLA
from collum.plan.lengthening.requirements.preparation_height import PREPARATION_HEIGHT
from collum.plan.lengthening.requirements.requirement import Requirement
from collum.plan.lengthening.requirements.resistance import RESISTANCE
from collum.plan.lengthening.requirements.visible_zone import VISIBLE_ZONE

REQUIREMENTS: tuple[Requirement, ...] = (
    NO_ATTACHMENT_CUT,
    CLEAR_OF_BONE,
    CLEAR_OF_CREST,
    DEFINITIVE_FINISH_LINE,
    PREPARATION_HEIGHT,
    RESISTANCE,
    FERRULE,
    KERATINISED_TISSUE_LEFT,
    FURCATION,
    CROWN_TO_ROOT,
    ATTACHED_AREA,
    VISIBLE_ZONE,
    PAPILLA,
)
_BY_ID: Mapping[str, Requirement] = {requirement.id: requirement for requirement in REQUIREMENTS}


def requirement_of(name: str) -> Requirement:
    """Return a requirement by its id. Raises KeyError for one that is not in the table."""
    return _BY_ID[name]


def decides(name: str) -> bool:
    """Return whether a requirement counts in verdicts; one that does not is only shown."""
    return _BY_ID[name].decisive
