"""Doses of local anaesthetics added up against limits by weight.

Limits are dated records with a source: the first ones are the program's, a practice enters its own. Several drugs share one
limit: their shares are added, which is the usual cautious rule.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from collum.evidence import get, reference, value
from collum.evidence.safety import AGENTS
from collum.plan.sentence import Sentence, say

_HUNDRED = 100
_DUST_DIGITS = 9  # thirds of a limit add up to the limit


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseLimit:
    """The limit of one agent. `at` (ISO 8601) and `by` are None for the first record of the program."""

    agent: str
    mg_per_kg: float
    most_mg: float
    source: str
    at: str | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A volume of one solution; `mg_per_ml` is its usual strength where none is given."""

    agent: str
    ml: float
    mg_per_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentDose:
    """What was given of one agent, its limit for this weight, and how much more of it alone would reach what is left."""

    agent: str
    ml: float
    mg: float
    limit_mg: float
    share: float
    left_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseSum:
    """All agents together; `share` 1 is the limit."""

    agents: tuple[AgentDose, ...]
    share: float

    @property
    def over(self) -> bool:
        return self.share > 1


def first_limits() -> dict[str, DoseLimit]:
    """Return the program's own records by agent."""
    return {
        agent: DoseLimit(
            agent=agent,
            mg_per_kg=value(f"dose.{agent}.mg_per_kg"),
            most_mg=value(f"dose.{agent}.most_mg"),
            source=reference(get(f"dose.{agent}.mg_per_kg").source).citation,
        )
        for agent in AGENTS
    }


def usual_mg_per_ml(agent: str) -> float:
    """Return the usual strength of an agent's solution. [mg/ml]"""
    return value(f"dose.{agent}.mg_per_ml")


def limit_mg(limit: DoseLimit, weight_kg: float) -> float:
    """Return the limit for a weight: by kilogram, and never more than in all. [mg]"""
    return min(limit.mg_per_kg * weight_kg, limit.most_mg)


def add_up(weight_kg: float, given: Sequence[Given], limits: Mapping[str, DoseLimit]) -> DoseSum:
    """Return what was given as shares of the limits. Raises KeyError for an agent without a limit."""
    ml = {agent: sum(g.ml for g in given if g.agent == agent) for agent in dict.fromkeys(g.agent for g in given)}
    mg = {agent: sum(g.ml * g.mg_per_ml for g in given if g.agent == agent) for agent in ml}
    most = {agent: limit_mg(limits[agent], weight_kg) for agent in ml}
    share = round(sum(mg[agent] / most[agent] for agent in ml), _DUST_DIGITS)
    left = max(0.0, 1 - share)
    return DoseSum(
        share=share,
        agents=tuple(
            AgentDose(
                agent=agent,
                ml=ml[agent],
                mg=mg[agent],
                limit_mg=most[agent],
                share=mg[agent] / most[agent],
                left_ml=left * most[agent] / usual_mg_per_ml(agent),
            )
            for agent in ml
        ),
    )


def dose_sentences(found: DoseSum, names: Mapping[str, str]) -> tuple[Sentence, ...]:
    """Return the sum in sentences; `names` are the agents' names in words."""
    lines = [
        say(
            "dose.agent_line",
            agent=names[dose.agent],
            ml=round(dose.ml, 2),
            mg=round(dose.mg, 1),
            percent=_percent(dose.share),
            limit_mg=round(dose.limit_mg, 1),
        )
        for dose in found.agents
    ]
    total = say("dose.over" if found.over else "dose.within", percent=_percent(found.share))
    left = [say("dose.left", agent=names[dose.agent], ml=round(dose.left_ml, 1)) for dose in found.agents if not found.over]
    return (*lines, total, *left, say("dose.measure_first"))


def conflict_of(agent: str) -> Sentence | None:
    """Return how far sources disagree on an agent; None where they do not."""
    times = max(get(f"dose.{agent}.{name}").high / value(f"dose.{agent}.{name}") for name in ("mg_per_kg", "most_mg"))
    return say("dose.conflict", times=round(times, 1)) if times > 1 else None


def _percent(share: float) -> int:
    """Return whole hundredths, never fewer than they are."""
    return ceil(round(share * _HUNDRED, _DUST_DIGITS))
