"""What every part of the wire form shares: words for a sentence, numbers rounded once."""

from collections.abc import Callable

import numpy as np

from collum.core.ring import Floats
from collum.plan.document import PRINTED_DECIMALS, LevelDocument, SentenceDocument
from collum.plan.lengthening.levels.draws import Level
from collum.plan.sentence import Sentence

Words = Callable[[Sentence], str]
Speaker = Callable[[Sentence], SentenceDocument]


def speaker(words: Words) -> Speaker:
    """Return what turns a sentence into its wire form with its words."""
    return lambda s: SentenceDocument(key=s.key, parameters=dict(s.parameters), text=words(s))


def as_level(level: Level, zero_mm: Floats) -> LevelDocument:
    """Return a level in the tooth frame."""
    return LevelDocument(
        mean=as_line(level.mean + zero_mm),
        sd=as_line(level.sd),
        p05=as_line(level.p05 + zero_mm),
        p95=as_line(level.p95 + zero_mm),
    )


def as_line(values: Floats) -> list[float]:
    """Return a line as it is printed."""
    return [rounded(v) for v in values]


def rounded(number: float | np.floating) -> float:
    """Return a number as it is printed, without a minus at zero."""
    return round(float(number), PRINTED_DECIMALS) + 0.0
