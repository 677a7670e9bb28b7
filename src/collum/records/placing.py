"""Putting a record that was made or restored beside into its data directory, by one rename at the end.

Everything that belongs to it is there before the database gets its name; until then there is no record, afterwards the whole
one. What a process that was killed in between left is removed before the next try.
"""

from pathlib import Path
from shutil import rmtree

from collum.records.attachment_folder import ATTACHMENTS
from collum.records.conversion import STAGED, discard_staged, switch
from collum.records.marker import MARKER
from collum.records.opening import DATABASE
from collum.records.sealing import KEY_FILES, KeyFile, write_key_file
from collum.records.sealing.key_file import sync_folder
from collum.records.stored import StorageError, storage_error


def put_in_place(scratch: Path, folder: Path, key_file: KeyFile) -> None:
    """Move a closed record from `scratch` into a data directory that has none. Raises StorageError; then it still has none.

    Both are on one disk; whoever calls holds the lock of the data directory.
    """
    if (folder / DATABASE).exists():
        raise StorageError("cannot_open")
    try:
        (scratch / DATABASE).rename(folder / STAGED)
        for name in (ATTACHMENTS, MARKER):
            if (scratch / name).exists():
                (scratch / name).rename(folder / name)
        write_key_file(folder, key_file)
        sync_folder(folder)
    except OSError as error:
        clear_unfinished(folder)
        raise storage_error(error) from None
    switch(folder / STAGED, folder / DATABASE)


def clear_unfinished(folder: Path) -> None:
    """Remove what a set-up, a conversion or a restore that was cut short left behind. A record that has its name stays whole.

    Beside a clear record only the staged copy goes: its files are swept when it is opened, its key file is written anew.
    """
    database = folder / DATABASE
    if not (folder / STAGED).exists():
        return
    if not database.exists() or database.stat().st_size == 0:
        for name in (MARKER, *KEY_FILES):
            (folder / name).unlink(missing_ok=True)
        rmtree(folder / ATTACHMENTS, ignore_errors=True)
    discard_staged(database)
