"""An entry for the menu of a Linux desktop that starts or opens the workbench (Desktop Entry Specification of freedesktop)."""

from collections.abc import Sequence
from pathlib import Path

import platformdirs

from collum.app.record.own_file import write_own
from collum.records import StorageError

_FILE = "collum.desktop"
_ESCAPED_WITHIN_QUOTES = '"`$\\'


def entry_file() -> Path:
    """Return where the entry of this account is."""
    return Path(platformdirs.user_data_dir()) / "applications" / _FILE


def write_entry(command: Sequence[str], *, name: str, comment: str, icon: Path | None) -> Path:
    """Write the entry that runs a command and return its file. Raises StorageError."""
    file = entry_file()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_own(file, entry_text(command, name=name, comment=comment, icon=icon))
    except OSError:
        raise StorageError("write_failed") from None
    return file


def remove_entry() -> bool:
    """Remove the entry; return whether there was one. Raises StorageError."""
    try:
        entry_file().unlink()
    except FileNotFoundError:
        return False
    except OSError:
        raise StorageError("write_failed") from None
    return True


def entry_text(command: Sequence[str], *, name: str, comment: str, icon: Path | None) -> str:
    """Return the text of an entry."""
    lines = ["[Desktop Entry]", "Type=Application", f"Name={_value(name)}", f"Comment={_value(comment)}"]
    lines += [f"Exec={_value(' '.join(_argument(part) for part in command))}", "Terminal=false"]
    lines += ["Categories=Science;MedicalSoftware;"]
    if icon is not None:
        lines += [f"Icon={_value(str(icon))}"]
    return "\n".join(lines) + "\n"


def _argument(argument: str) -> str:
    """Return an argument of `Exec` in quotes; a per cent sign would else begin a field code."""
    escaped = "".join(f"\\{sign}" if sign in _ESCAPED_WITHIN_QUOTES else sign for sign in argument)
    return f'"{escaped}"'.replace("%", "%%")


def _value(text: str) -> str:
    """Return a string value: one line, with its backslashes doubled."""
    return text.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r").replace("\t", "\\t")
