"""Whether the recovery code of a record was confirmed from paper. Kept beside the record, without the code.

The note names the wrap of the code it was shown for: a new code is not confirmed by the paper of the former one.
"""

import json
from pathlib import Path

from collum.app.record.own_file import write_own
from collum.records.sealing import KeyFile

NOTE = "recovery.json"
_FORMAT = "collum-recovery/1"


def is_confirmed(folder: Path, file: KeyFile) -> bool:
    """Return whether the code that opens this key file was confirmed; a note that cannot be read confirms nothing."""
    try:
        return bool(json.loads((folder / NOTE).read_bytes()) == _note(file))
    except (OSError, ValueError):
        return False


def confirm(folder: Path, file: KeyFile) -> None:
    """Note that the code that opens this key file is on paper. Raises StorageError."""
    write_own(folder / NOTE, json.dumps(_note(file)))


def _note(file: KeyFile) -> dict[str, str]:
    return {"format": _FORMAT, "record": file.record, "code": file.recovery_mark}
