"""What a sentence of advice names, against the table of the patient: nothing that is closed for this patient is advised."""

from collections.abc import Iterator, Mapping

from collum.evidence.patient_rows import Act
from collum.plan.lengthening.grounds import Ease, Way
from collum.plan.lengthening.procedures.registry import PROCEDURES, procedure_of
from tests.judged.advised.told import Told

Acts = tuple[Act, ...]  # one of them is enough
FLAP: Acts = ("bone",)
CUT: Acts = ("scalpel", "current")
# What the words of a kind name beside its choices: a cut, a flap with whatever needs one, a movement, an extraction.
NAMED: Mapping[str, Acts] = {
    "least_change.keratinised_tissue_left": FLAP,
    "least_change.keratinised_tissue_left_uncut": FLAP,
    "least_change.keratinised_tissue_left_flap": FLAP,
    "least_change.clear_of_bone_flap": FLAP,
    "least_change.through_furcation": FLAP,
    "least_change.no_anchorage": FLAP,
    "least_change.ankylosis": ("movement",),
    "least_change.implant_beside": CUT,
    "least_change.crest_near_junction": FLAP,
    "remains.extraction": ("extraction",),
    "remains.extraction_after.mobility": ("extraction",),
    "remains.extraction_after.through_furcation": ("extraction",),
}
BY_EASE: Mapping[Ease, Acts] = {"cut": CUT, "bone": FLAP, "cover": FLAP, "extrude": ("movement",), "mirror": CUT}
ASKED_FIRST = ("ask", "postpone", "orthodontist")  # an extraction is named with whom to ask


def offends(one: Told) -> Iterator[str]:
    """Give what a sentence names though the table closes it for this patient, or a finding closes the route."""
    patient = one.plan.findings.patient
    for acts in _named(one):
        closing = [patient.closing(act) for act in acts]
        standing = {effects[0].standing for effects in closing if effects}
        if all(closing) and not ("extraction" in acts and standing <= set(ASKED_FIRST)):
            yield f"names {acts}, which are {standing} for the patient"
    for name in (*_routes(one), *(procedure.id for way in _ways(one) for procedure in PROCEDURES if procedure.way == way)):
        if name in one.plan.findings.closed:
            yield f"names {name}, which is closed"


def _named(one: Told) -> Iterator[Acts]:
    if one.kind in NAMED:
        yield NAMED[one.kind]
    asked = () if one.change is None else one.change.asked or ()
    yield from (BY_EASE[ease] for ease in asked if ease in BY_EASE)


def _ways(one: Told) -> tuple[Way, ...]:
    return () if one.change is None else one.change.ways or ()


def _routes(one: Told) -> Iterator[str]:
    """Give the routes that a recommendation names: what is done, and what is to follow."""
    if one.kind.startswith("recommended") and one.found.route is not None:
        yield procedure_of(one.found.route.name).id
        if one.found.staged is not None and one.found.staged.otherwise is not None:
            yield one.found.staged.otherwise.name
