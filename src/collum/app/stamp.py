"""Who writes into the record, and when: on everything that is added."""

from collum.app.environment import Environment, utc_text
from collum.records import Stamp


def stamp_of(environment: Environment) -> Stamp:
    """Return a new stamp of this moment."""
    return Stamp(id=environment.new_id(), at=utc_text(environment.now()), zone=environment.zone, author=environment.author)
