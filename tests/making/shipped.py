"""Which cases of the demo practice a walk takes that is heavy for each case."""

LAST_WALKED = "AQ-46"


def walked(reference: str) -> bool:
    """Return whether a case is one of the first seventeen.

    They end in every route and in every verdict. The later ones differ from them by the patient and by what was found before
    any line was drawn: what is solved and drawn for them is of the same kinds.
    """
    return reference <= LAST_WALKED
