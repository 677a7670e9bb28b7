"""A disk that is full as long as a file says so: every write of the record is refused as SQLite refuses it then."""

import sqlite3
from pathlib import Path

from sqlalchemy import Engine, event


def fill(sign: Path) -> None:
    """Refuse what this process writes into its record while `sign` is there."""

    def refuse(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        if statement.startswith("INSERT") and sign.exists():
            full = sqlite3.OperationalError("database or disk is full")
            full.sqlite_errorname = "SQLITE_FULL"
            raise full

    event.listen(Engine, "before_cursor_execute", refuse)
