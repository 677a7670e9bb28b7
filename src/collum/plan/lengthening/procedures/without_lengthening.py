"""The procedure *restore without lengthening*: nothing is cut; the restoration asks for less (`conceding.py`)."""

from collum.plan.lengthening.procedures.conceding import Conceding


class WithoutLengthening(Conceding):
    """Nothing is cut or moved; the preparation is changed instead."""

    id = "restore without lengthening"
    option = "without-lengthening"
    burden = 1
    reads_nothing_for = frozenset({"no_attachment_cut", "clear_of_bone", "keratinised_tissue_left"})
    steps = ("prepare", "restore")
    visits = "plan.price.visits.without_lengthening"


WITHOUT_LENGTHENING = WithoutLengthening()
