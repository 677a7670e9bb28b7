"""Brings a database to today's schema: nothing to do, an older state raised, a newer one refused.

The migration tool is imported only when there is work for it; it takes longer to import than the record takes to open.
"""

from sqlalchemy import Connection, Engine, inspect, text

from collum.records.engine import writing
from collum.records.stored import StorageError

HEAD = "0010"


def migrate(engine: Engine, target: str = HEAD) -> None:
    """Raise the database to `target` in one transaction. Raises StorageError where it is newer than this program."""
    with writing(engine) as connection:
        found = schema_number(connection)
        if found is not None and found > HEAD:
            raise StorageError("newer_version")
        if found is None or found < target:
            _upgrade(connection, target)


def schema_number(connection: Connection) -> str | None:
    """Return the number of the schema the database has, None where it has none."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _upgrade(connection: Connection, target: str) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "collum.records:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, target)
