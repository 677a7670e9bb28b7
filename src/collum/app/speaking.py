"""Words for what the inner parts say by key."""

from collections.abc import Mapping, Sequence
from typing import cast

from collum.app.record.closed_record import Closed
from collum.case import Fault, Said
from collum.plan import Sentence
from collum.records import DamagedAttachment, DamagedCase, StorageError, StorageTrouble
from collum.records.bounded_zip import ArchiveTrouble
from collum.records.sealing import KeyFileTrouble, KeyTrouble
from collum.wording import filled, keys, text

# What is allowed, where only somebody who writes a file by hand can use it: the screen leaves it out.
FOR_FILES_ALONE = frozenset(
    f"fault.allowed.{name}"
    for name in ("plan_mark", "instant", "table", "near_key", "keys", "required", "bytes", "utf8", "depth", "values")
)


def words(sentence: Sentence, tooth: int | None = None) -> str:
    """Return the words of a sentence of the plan; `tooth` is the ISO number of the one whose places it names."""
    return text(sentence.key, sentence.parameters, tooth)


def fault_line(fault: Mapping[str, str | None]) -> str:
    """Return one line for a fault (`where`, `what`, `allowed`, `value`); what a line cannot show in it is replaced.

    Its `page` is for the screen.
    """
    told = {name: printable(value) for name, value in fault.items() if value is not None and name != "page"}
    return text("cli.fault.line_with_value" if "value" in told else "cli.fault.line", told)


def printable(found: str) -> str:
    """Return the text with every character that a line cannot show replaced."""
    return "".join(character if character.isprintable() else "?" for character in found)


def fault_document(fault: Fault) -> dict[str, str | None]:
    """Return a fault as the error shape has it: where, what, allowed, value."""
    return {
        "where": fault.where,
        "what": text(fault.what.key, fault.what.parameters),
        "allowed": text(fault.allowed.key, fault.allowed.parameters),
        "value": fault.value,
    }


def on_page(fault: Fault) -> dict[str, str | None]:
    """Return a fault as the error shape has it, with its words for the screen, where nobody speaks of files and keys."""
    what = _page_words(fault.what)
    if fault.value is not None:
        what = text("fault.page.with_value", {"what": what, "value": fault.value.strip('"')})
    page = what if fault.allowed.key in FOR_FILES_ALONE else f"{what}; {_page_words(fault.allowed)}"
    return {**fault_document(fault), "page": page}


def _page_words(said: Said) -> str:
    """Return the words of half a fault for the screen: its own where it has some, else those of the file."""
    own = said.key.replace("fault.", "fault.page.", 1)
    given = {name: value.replace(" | ", ", ") if isinstance(value, str) else value for name, value in said.parameters.items()}
    return filled(own if own in keys() else said.key, given)


def storage_words(error: StorageError, *, page: bool = False) -> tuple[str, str]:
    """Return what is wrong with the record, and what to do; on a `page` without files and commands."""
    if isinstance(error, DamagedAttachment):
        return text("record.attachment.damaged"), text("record.attachment.remedy")
    if not isinstance(error, DamagedCase):
        return _record(f"record.what.{error.trouble}", page), _record(f"record.remedy.{error.trouble}", page)
    return saves_words(error.damage.damaged, error.damage.whole)


def backup_words(failure: str, *, page: bool = False) -> tuple[str, str]:
    """Return what is wrong with a backup or with making one, and what to do; `failure` is a trouble of either kind."""
    if f"record.backup.what.{failure}" in keys():
        return _record(f"record.backup.what.{failure}", page), _record(f"record.backup.remedy.{failure}", page)
    return storage_words(StorageError(cast(StorageTrouble, failure)), page=page)


def archive_words(trouble: ArchiveTrouble) -> tuple[str, str]:
    """Return why an archive of a person is not taken, and what to do."""
    return text(f"record.person.what.{trouble}"), text(f"record.person.remedy.{trouble}")


def key_file_words(error: KeyFileTrouble, *, page: bool = False) -> tuple[str, str]:
    """Return what is wrong with the key file, and what to do."""
    return _record(f"record.key_file.{error.trouble}", page), _record(f"record.key_file_remedy.{error.trouble}", page)


def closed_words(closed: Closed) -> tuple[str, str]:
    """Return why a record does not open as it is, and what to do, for a page."""
    if closed.startswith("keys_"):
        return key_file_words(KeyFileTrouble(cast(KeyTrouble, closed.removeprefix("keys_"))), page=True)
    return storage_words(StorageError(cast(StorageTrouble, closed)), page=True)


def _record(key: str, page: bool) -> str:
    """Return words about the record; on a page its own where it has some, else those of the terminal."""
    own = "record.page." + key.removeprefix("record.")
    return text(own if page and own in keys() else key)


def saves_words(damaged: Sequence[int], whole: Sequence[int]) -> tuple[str, str]:
    """Return which saves of a case are damaged, and which are whole."""
    what = text("record.case.damaged", {"damaged": _saves(damaged)})
    return what, text("record.case.whole", {"whole": _saves(whole)}) if whole else text("record.case.none_whole")


def _saves(numbers: Sequence[int]) -> str:
    return ", ".join(text("record.case.save", {"number": number}) for number in numbers)
