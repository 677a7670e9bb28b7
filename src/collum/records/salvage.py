"""The list of cases of a database whose structure is damaged: every row that can still be reached, one by one."""

from collections import defaultdict

from sqlalchemy import Connection, RowMapping

from collum.records.revisions import damage_among
from collum.records.rows import one_by_one
from collum.records.stored import CaseDamage, Revision
from collum.records.tables import CASE, CASE_REVISION, DELETED_CASE


def reachable_cases(connection: Connection) -> tuple[Revision | CaseDamage, ...]:
    """Return the newest revision that can be reached of every case, in the order of entry; there may have been newer ones."""
    revisions: dict[str, list[RowMapping]] = defaultdict(list)
    for row in one_by_one(connection, CASE_REVISION):
        if row is not None and isinstance(row["number"], int):
            revisions[str(row["case_id"])].append(row)
    deleted = {str(row["case_id"]) for row in one_by_one(connection, DELETED_CASE) if row is not None}
    named = [str(row["id"]) for row in one_by_one(connection, CASE) if row is not None]
    there = [case_id for case_id in dict.fromkeys([*named, *revisions]) if case_id not in deleted]
    return tuple(_reachable(connection, case_id, revisions.get(case_id, [])) for case_id in there)


def _reachable(connection: Connection, case_id: str, rows: list[RowMapping]) -> Revision | CaseDamage:
    found = damage_among(connection, case_id, sorted(rows, key=lambda row: int(row["number"])))
    newest = found.last_whole
    return newest if newest is not None and not found.damaged else found
