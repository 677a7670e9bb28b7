"""What a sentence of advice names, against the table of the patient: nothing that is closed for this patient is advised."""

import re
from collections.abc import Iterator, Mapping

from collum.evidence.patient_rows import Act
from collum.plan.lengthening.procedures.extrusion import EXTRUSION
from tests.judged.advised.told import Told

# What is done, by the words for it. Each act is advised only where one of them is open.
NAMED: Mapping[str, tuple[Act, ...]] = {
    r"bone surgery|otherwise bone|only bone|flap|hemisection|tunnel|temporary implant|cover the root": ("bone",),
    r"[Ee]xtrusion gives|extrude|otherwise extrusion|only extrusion|less movement|[Ss]urgical extrusion": ("movement",),
    r"\bgum alone|shallower|less cut|lengthen it\b|is lengthened|[Aa]nother instrument": ("scalpel", "current"),
    r"^Extraction or another|^An extraction needs|^Extraction only": ("extraction",),
}
SAYS_SO = re.compile(r"are not open for this patient|No elective extraction")
ASKED_FIRST = ("ask", "postpone", "orthodontist")  # an extraction is named with whom to ask


def offends(one: Told) -> Iterator[str]:
    """Give what the sentence names though the table closes it for this patient, or a finding closes the route."""
    if SAYS_SO.search(one.text):
        return
    patient = one.plan.findings.patient
    for words, acts in NAMED.items():
        if not re.search(words, one.text, re.IGNORECASE):
            continue
        closing = [patient.closing(act) for act in acts]
        standing = {effects[0].standing for effects in closing if effects}
        if all(closing) and not ("extraction" in acts and standing <= set(ASKED_FIRST)):
            yield f"names {words} and the patient's {acts} are {standing}"
    if re.search("extrusion gives|extrude", one.text, re.IGNORECASE) and EXTRUSION.id in one.plan.findings.closed:
        yield "names extrusion, which a finding closes"
