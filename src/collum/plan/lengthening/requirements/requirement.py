"""What every requirement answers for itself: when it applies, what it rests on, its reserve, its bounds and its limit."""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from collum.case.model import Tooth
from collum.case.reading_kinds import ReadingKind
from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import Evidence
from collum.plan.lengthening.levels.inputs import wish_for
from collum.plan.lengthening.requirements.bound import Bound
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Rule
from collum.vocabulary import RequirementId, Unit

Idle = Literal["nothing_cut", "crest_stays", "one_root", "not_shown", "no_margin_raised", "bonded", "not_bonded"]
Input = Literal["cut", "finish_line", "bone", "movement", "occlusal_reduction", "convergence", "grooves"]
Remedy = Literal[
    "reduction",
    "place",
    "line",
    "height",
    "seat",
    "walls",
    "entrance",
    "bonding",
    "less_taken",
    "less_cut",
    "less_cut_or_bone",
    "less_cut_or_flap",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """An input that helps a requirement, and which way. A cut is more where it is deeper, a finish line where it is higher."""

    input: Input
    way: Literal["less", "more"]


class Requirement(ABC):
    """One requirement of a route. A new one is a subclass in a file named by its id, with one object of it in capitals."""

    id: ClassVar[RequirementId]
    place: ClassVar[int]  # the order in which requirements are shown
    hard: ClassVar[bool] = False  # kept at every station, by lines moved by hand too
    at_most: ClassVar[bool] = False  # the limit bounds from above
    idle: ClassVar[Idle] = "nothing_cut"  # why it asks nothing where it does not apply
    decisive: ClassVar[bool] = True  # False: shown, and never counted in a verdict
    of_wishes: ClassVar[bool] = False  # short of it, a wish of the dentist collides
    over_bone: ClassVar[bool] = False  # it asks for height over bone
    own_limit_named: ClassVar[bool] = False  # a stricter limit of the dentist's own is named among what remains
    remedy: ClassVar[Remedy | None] = None  # by what advice mends it; None: nothing more than that it is missed is said
    steers: ClassVar[bool] = True  # a larger reserve on the lines helps it
    rests_on: ClassVar[tuple[ReadingKind, ...]] = ()
    limit: ClassVar[str]  # keys of the evidence
    confidence: ClassVar[str] = "plan.confidence"
    unit: ClassVar[Unit] = "mm"
    told_apart: ClassVar[bool] = False  # its figures have a sentence of their own, under its id
    helps: ClassVar[tuple[Change, ...]] = ()

    def missing(self, conditions: Conditions) -> str | None:
        """Return the fact that is lacking to assess the requirement, None where there is none or nothing is asked."""
        if self.id in conditions.procedure.reads_nothing_for:
            return None
        return next((kind for kind in self.rests_on if not conditions.was_read(kind)), None)

    @abstractmethod
    def applies(self, situation: Situation) -> bool:
        """Return whether the requirement asks for anything of these lines."""

    @abstractmethod
    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        """Return the reserve in every draw, where it applies; of several the one that holds less often counts."""

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """Return its bounds on the lines for the solver; none where it is only simulated."""
        return ()

    def rule(self, tooth: Tooth, evidence: Evidence, *, deep_sulcus: bool) -> Rule:
        """Return limit and confidence: the registry's, or the dentist's own with a reason."""
        key, wish = self.limit_key(tooth), wish_for(tooth, self.id)
        limit = wish.limit if wish is not None and wish.limit is not None else evidence.values[key]
        return Rule(
            limit=limit, confidence=self.asked_confidence(tooth, evidence), evidence=(key, self.confidence), unit=self.unit
        )

    def limit_key(self, tooth: Tooth) -> str:
        """Return the key of the limit for a tooth."""
        return self.limit

    def asked_confidence(self, tooth: Tooth, evidence: Evidence) -> float:
        """Return the share of draws in which the requirement has to hold."""
        wish = wish_for(tooth, self.id)
        return wish.confidence if wish is not None and wish.confidence is not None else evidence.values[self.confidence]

    def worst(self, situation: Situation) -> tuple[Reserve, Floats] | None:
        """Return the reserve that holds least often with its least amount (n,); None where the requirement does not apply."""
        if not self.applies(situation):
            return None
        with_least = [(reserve, reserve.least(situation.limits)) for reserve in self.reserves(situation)]
        return min(with_least, key=lambda pair: float(np.mean(pair[1] >= 0)))


class RoomRequirement(Requirement):
    """A requirement without a length of its own: it asks that there is room. Its limit is 0, and `evidence` says for what."""

    def evidence(self, *, deep_sulcus: bool) -> tuple[str, ...]:
        """Return the keys that the room comes from."""
        return (self.limit,)

    def rule(self, tooth: Tooth, evidence: Evidence, *, deep_sulcus: bool) -> Rule:
        keys = (*self.evidence(deep_sulcus=deep_sulcus), self.confidence)
        return Rule(limit=0, confidence=self.asked_confidence(tooth, evidence), evidence=keys)


EVERYWHERE = np.ones(STATIONS, dtype=bool)
