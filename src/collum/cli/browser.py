"""Handing a one-time link to the browser without showing it to other accounts of this machine.

A command line stands in the list of processes, which every account may read. So the browser is given the name of a file that
only its owner may read, and that file leads it on.
"""

import html
import os
import webbrowser
from pathlib import Path

from collum.app.record.instance import OPEN_PAGE

_PAGE = (
    '<!doctype html><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
    '<meta http-equiv="refresh" content="0;url={link}">'
)


def show(folder: Path, link: str) -> bool:
    """Open the browser on `link`, by way of a file in the data directory; return whether one could be opened."""
    return _open(folder, _PAGE.format(link=html.escape(link, quote=True)))


def show_words(folder: Path, words: str) -> None:
    """Open the browser on a page that says something."""
    _open(folder, f'<!doctype html><meta charset="utf-8"><p>{html.escape(words)}')


def _open(folder: Path, content: str) -> bool:
    file = folder / OPEN_PAGE
    file.unlink(missing_ok=True)
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as page:
        page.write(content)
    return webbrowser.open(file.as_uri())
