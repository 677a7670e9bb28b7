"""Who writes into the record, and when: on everything that is added."""

from uuid import UUID, uuid5

from collum.app.environment import Environment, utc_text
from collum.records import Stamp

_OF_KEYS = UUID("6f6d1c0e-5d0b-5a52-9c53-5f0a3a9e7b11")  # any; it keeps ids made of keys apart from all others


def id_of(key: str | None, environment: Environment) -> str:
    """Return the id of what is about to be added: the same for the same key of a client, a new one without."""
    return environment.new_id() if key is None else str(uuid5(_OF_KEYS, key))


def stamp_of(environment: Environment) -> Stamp:
    """Return a new stamp of this moment."""
    return Stamp(id=environment.new_id(), at=utc_text(environment.now()), zone=environment.zone, author=environment.author)
