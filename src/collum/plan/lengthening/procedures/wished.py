"""Lines that come near to the wished margin and take nothing from the function, which goes first."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

import numpy as np

from collum.core.ring import Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.requirements.table import decides
from collum.plan.lengthening.requirements.visible_zone import VISIBLE_ZONE
from collum.plan.lengthening.wishes import Rule, Wishes

Drawn = TypeVar("Drawn")


def nearest_to_wish(
    wishes: Wishes, limits: PlanLimits, draw: Callable[[Wishes], Drawn], least: Callable[[Drawn], Mapping[str, Floats]]
) -> Drawn:
    """Return the lines nearest to the wished margin by which no rule of the function does worse, else those without a wish.

    `draw` makes lines for wishes, `least` gives the least reserve of every rule in every draw of them.
    """
    plain = draw(wishes if wishes.margin is None else replace(wishes, margin=None))
    if not wishes.aims_mm:
        return plain
    now = least(plain)
    for eased in _eased(wishes, limits):
        lines = draw(eased)
        if _takes_nothing(least(lines), now, wishes):
            return lines
    return plain


def from_wish(least: Mapping[str, Floats], wishes: Wishes) -> list[float]:
    """Return how far the settled margin is from the wish on the mean, negative; nothing where the lines have no aim."""
    return [float(least[VISIBLE_ZONE.id].mean()) - wishes.rule(VISIBLE_ZONE.id).limit] if wishes.aims_mm else []


def as_good(then_mm: Floats, now_mm: Floats, rule: Rule) -> bool:
    """Return whether a rule is kept, or no worse than it is now, by its least reserves in every draw."""
    return bool(np.mean(then_mm >= 0) >= rule.confidence or then_mm.mean() >= now_mm.mean())


def _eased(wishes: Wishes, limits: PlanLimits) -> Iterator[Wishes]:
    """Give the wishes with the whole aim, then with a step less each time as long as a step is left."""
    assert wishes.margin is not None
    step, most = limits.hand_step_mm, -min(wishes.aims_mm.values())
    for eased_mm in np.arange(0, most - step / 2, step):
        yield replace(wishes, margin=replace(wishes.margin, eased_mm=float(eased_mm)))


def _takes_nothing(then: Mapping[str, Floats], now: Mapping[str, Floats], wishes: Wishes) -> bool:
    """Return whether lines are nearer to the wish than those of `now`, and every rule is kept or no worse.

    A rule that asks for something only where gum is cut has to be kept.
    """
    look = VISIBLE_ZONE.id
    if then[look].mean() <= now[look].mean():
        return False
    never = np.full(1, np.inf)
    return all(as_good(amounts, now.get(name, never), wishes.rule(name)) for name, amounts in then.items() if decides(name))
