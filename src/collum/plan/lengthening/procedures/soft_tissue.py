"""The procedure *soft tissue only*: the gum is cut by current to its line, and the lines are found by the solver."""

from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.evidence.handed import Evidence
from collum.plan.lengthening.grounds import Doubt
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.passive_eruption import passive_eruption
from collum.plan.lengthening.procedures.lines import RoutePlan, plan_lines
from collum.plan.lengthening.procedures.procedure import Procedure, Timing, Treatment, is_cut, wait
from collum.plan.lengthening.wishes import Wishes, is_front


class SoftTissue(Procedure):
    """Gum is cut by current; the crest stays where it is."""

    id = "soft tissue only"
    option = "soft-tissue"
    safety_procedures = ("current", "scalpel")
    instruments = ("current", "scalpel")
    needs_instrument = True
    burden = 4
    visits = "plan.price.visits.soft_tissue"
    cuts_by_current = True
    meets_wished_margin = True
    keeps_held_lines = True
    goes_first = True
    steps = ("mark", "cut", "provisional", "settle", "measure_margin", "definitive")

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the least burdensome lines and their verdicts."""
        return plan_lines(prepared, wishes, Treatment(procedure=self, returns_whole=returns_whole), arc_mm=arc_mm)

    def doubts(self, prepared: Prepared, treatment: Treatment, cut_mm: Floats) -> tuple[Doubt, ...]:
        """Return that the gum is to be positioned apically, where the mucogingival line is not apical of the crest."""
        found = passive_eruption(prepared.inputs.tooth, prepared.limits)
        apically = found is not None and found.excised is False and is_cut(cut_mm, prepared.limits).any()
        return (Doubt(id="positioned_apically"),) if apically else ()

    def timing(self, tooth: Tooth, treatment: Treatment, evidence: Evidence) -> tuple[Timing, ...]:
        """Return how long the margin settles: longer in front teeth."""
        key = f"healing.wait.soft_tissue_{'front' if is_front(tooth.number) else 'back'}_weeks"
        return (wait("definitive_finish_line", key, "soft_tissue", evidence),)


SOFT_TISSUE = SoftTissue()
