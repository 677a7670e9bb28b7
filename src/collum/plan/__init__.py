"""The plan: case in, plan out. Pure: no file, clock, network or hidden randomness."""

from collum.plan.lengthening.failing import Note, raised
from collum.plan.lengthening.findings import Findings, findings_of
from collum.plan.lengthening.levels.draws import LevelDraws, LevelTask, draw_levels
from collum.plan.lengthening.levels.prepared import Prepared, prepare
from collum.plan.lengthening.planned import PlannedTooth, planned_tooth
from collum.plan.lengthening.solver.quadratic import SolverError
from collum.plan.lengthening.tooth_plan import MovedLines, ToothPlan, judge_tooth, plan_tooth
from collum.plan.sentence import Sentence, say

__all__ = [
    "Findings",
    "LevelDraws",
    "LevelTask",
    "MovedLines",
    "Note",
    "PlannedTooth",
    "Prepared",
    "Sentence",
    "SolverError",
    "ToothPlan",
    "draw_levels",
    "findings_of",
    "judge_tooth",
    "plan_tooth",
    "planned_tooth",
    "prepare",
    "raised",
    "say",
]
