"""Rendering of sentences on the way out: key and parameters get their words."""

from collections.abc import Callable

from collum.plan.sentence import Sentence
from collum.wire.form import SentenceDocument

Words = Callable[[Sentence], str]
Speaker = Callable[[Sentence], SentenceDocument]


def speaker(words: Words) -> Speaker:
    """Return a renderer: Sentence to SentenceDocument."""
    return lambda s: SentenceDocument(key=s.key, parameters=dict(s.parameters), text=words(s))
