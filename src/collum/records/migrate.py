"""Brings a database to today's schema: nothing to do, an older state raised, a newer one refused.

The migration tool is imported only when there is work for it; it takes longer to import than the record takes to open.
"""

import re

from sqlalchemy import Connection, Engine, inspect, text

from collum.records.engine import writing
from collum.records.stored import StorageError
from collum.records.tables import CASE, CASE_REVISION

HEAD = "0013"
_VERSION = "alembic_version"
_NUMBER = re.compile(r"[0-9]{4}")


def migrate(engine: Engine, target: str = HEAD) -> None:
    """Raise the database to `target` in one transaction. Raises StorageError where it is newer than this program."""
    with writing(engine) as connection:
        found = known_schema(connection)
        if found is None or found < target:
            _upgrade(connection, target)


def schema_number(connection: Connection) -> str | None:
    """Return the number of the schema the database has, None where it has none."""
    if not inspect(connection).has_table(_VERSION):
        return None
    return connection.execute(text(f"SELECT version_num FROM {_VERSION}")).scalar()


def known_schema(connection: Connection) -> str | None:
    """Return the number of the schema, None where nothing is in the database yet.

    Raises StorageError where it is newer than this program, is no record of it, or is one whose number was lost.
    """
    names = set(inspect(connection).get_table_names())
    found = schema_number(connection)
    if found is None and not names - {_VERSION}:
        return None
    if found is not None and _NUMBER.fullmatch(found):
        if found > HEAD:
            raise StorageError("newer_version")
        if CASE.name in names:
            return found
    raise StorageError("damaged" if {CASE.name, CASE_REVISION.name} & names else "not_a_database")


def _upgrade(connection: Connection, target: str) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "collum.records:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, target)
