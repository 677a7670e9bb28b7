"""Rendering of sentences on the way out: key and parameters get their words."""

from collections.abc import Callable
from typing import Protocol

from collum.plan.sentence import Sentence
from collum.wire.form import SentenceDocument

Speaker = Callable[[Sentence], SentenceDocument]


class Words(Protocol):
    """Gives a sentence its words; `tooth` is the ISO number of the one whose places it names."""

    def __call__(self, sentence: Sentence, tooth: int | None = None) -> str: ...


def speaker(words: Words, tooth: int | None = None) -> Speaker:
    """Return a renderer for sentences about a tooth, or about none: Sentence to SentenceDocument."""
    return lambda s: SentenceDocument(key=s.key, parameters=dict(s.parameters), text=words(s, tooth))
