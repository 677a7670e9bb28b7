"""The settings of a command, put in force. Heavy parts load when called."""

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING

from collum.wording import name_by

if TYPE_CHECKING:
    from collum.app.settings import Settings, Value


def settings_in_force(flags: "Mapping[str, Value | None]") -> "Settings":
    """Return the settings of this run; sites are written from now on as they say. Raises SettingFaults."""
    from collum.app.settings import read_settings

    found = read_settings(flags, os.environ)
    name_by(found.names())
    return found
