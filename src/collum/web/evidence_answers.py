"""Evidence in its wire form."""

from collum.evidence import Constant, all_constants, get, reference
from collum.web.schemas import EvidenceAnswer


def every_evidence() -> list[EvidenceAnswer]:
    """Return every constant."""
    return [_answer(c) for c in all_constants()]


def evidence_answer(key: str) -> EvidenceAnswer | None:
    """Return one constant, None where the key is unknown."""
    try:
        return _answer(get(key))
    except KeyError:
        return None


def _answer(constant: Constant) -> EvidenceAnswer:
    return EvidenceAnswer(
        key=constant.key,
        value=float(constant.value),
        low=float(constant.low),
        high=float(constant.high),
        unit=constant.unit,
        meaning=constant.meaning,
        source=constant.source,
        citation=reference(constant.source).citation,
        status=constant.status,
        kind=constant.kind,
        population=constant.population,
        checked=constant.checked,
        used_for=constant.used_for,
        editable_down_to=constant.editable_down_to,
        editable_up_to=constant.editable_up_to,
    )
