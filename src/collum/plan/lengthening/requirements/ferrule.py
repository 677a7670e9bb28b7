"""Sound tooth stands above the finish line where the load is, and the line is on sound tooth elsewhere."""

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.bound import Bound, bound_of
from collum.plan.lengthening.requirements.requirement import EVERYWHERE, Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation, lowest_top_mm
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Wishes, needs_sound_wall_only


class Ferrule(Requirement):
    """Height of sound tooth, capped by the top of the preparation, above the line; a thin wall gives none."""

    id = "ferrule"
    place = 70
    remedy = "height"
    own_limit_named = True
    rests_on = ("sound_height",)
    limit = "plan.limit.ferrule_mm"
    helps = (Change(input="finish_line", way="less"), Change(input="movement", way="more"))

    def applies(self, situation: Situation) -> bool:
        return situation.prepared.sound_edge_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        wishes = situation.wishes
        amount = _reserve_mm(situation.lowest_top_mm, situation.prepared, wishes, situation.line_mm)
        return (
            Reserve(
                rule=wishes.rule(self.id),
                amount=amount,
                stations=EVERYWHERE,
                limits=wishes.ferrule_mm,
                step_mm=situation.step_mm,
            ),
        )

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """The line is under the sound edge; the top of the preparation is bounded with the height (`preparation_height`)."""
        edge, wishes = conditions.prepared.sound_edge_mm, conditions.wishes
        if edge is None:
            return ()
        # A line placed from the sound edge has no doubt that would hide the solver's own.
        asked = -wishes.ferrule_mm - 2 * conditions.limits.solver_slack_room_mm
        return (bound_of(self.id, "finish", "above", edge - conditions.line_moves_mm, asked, wishes.rule(self.id)),)

    def limit_key(self, tooth: Tooth) -> str:
        return "plan.limit.sound_wall_mm" if needs_sound_wall_only(tooth) else self.limit


FERRULE = Ferrule()


def ferrule_reserve_mm(prepared: Prepared, wishes: Wishes, line_mm: Floats) -> Floats:
    """Return (36, n) height of ferrule above the line less what is asked at the station."""
    return _reserve_mm(lowest_top_mm(prepared, wishes), prepared, wishes, line_mm)


def thin_wall(prepared: Prepared, wishes: Wishes) -> np.ndarray:
    """Return (36,) bool: stations whose wall, where it was measured, is left too thin to count once the axis is reduced."""
    wall = prepared.inputs.wall_mm
    if wall is None:
        return np.zeros(STATIONS, dtype=bool)
    return np.asarray(wall - wishes.axial_reduction_mm < prepared.limits.wall_thickness_mm)


def _reserve_mm(top_mm: Floats, prepared: Prepared, wishes: Wishes, line_mm: Floats) -> Floats:
    height = top_mm - line_mm
    thin = thin_wall(prepared, wishes)
    height[thin] = np.minimum(height[thin], 0)
    height -= wishes.ferrule_mm[:, None]
    return height
