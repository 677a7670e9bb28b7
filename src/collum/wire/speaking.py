"""What every part of the wire form shares: words for a sentence, levels in the tooth frame."""

from collections.abc import Callable

from collum.core.ring import Floats
from collum.plan.lengthening.levels.draws import Level
from collum.plan.printed import as_line
from collum.plan.sentence import Sentence
from collum.wire.plan.document import LevelDocument, SentenceDocument

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
