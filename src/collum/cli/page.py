"""A page in the terminal: lines, lists and tables that hold at 100 columns and without colour.

Nothing is said by colour; weight is used in a terminal only, and what is piped has no padding.
"""

import os
import sys
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import Literal

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

_MOST_COLUMNS = 100


class Page:
    """What is printed, from the top down."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def line(self, words: str, *, style: str = "") -> None:
        """Print one line."""
        self._console.print(Text(words, style=style))

    def gap(self) -> None:
        """Print an empty line."""
        self._console.print()

    def title(self, words: str) -> None:
        """Print the title of a part."""
        self.gap()
        self.line(words, style="bold")

    def table(self, table: Table, title: str | None = None) -> None:
        """Print a table under its title; nothing where it has no rows."""
        if table.row_count == 0:
            return
        if title is not None:
            self.title(title)
        self._console.print(table)

    def listed(self, title: str, lines: Iterable[str]) -> None:
        """Print lines under a title, each with a point before it; nothing where there are none."""
        grid = Table(box=None, show_header=False, padding=(0, 1, 0, 0), pad_edge=False)
        for line in lines:
            grid.add_row(Text("  ·"), Text(line))
        self.table(grid, title)

    def pairs(self, rows: Iterable[tuple[str, str]], *, strong: str = "") -> None:
        """Print names with what is said of each; `strong` is the name whose words stand out."""
        grid = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
        grid.add_column(no_wrap=True)
        grid.add_column()
        for name, words in rows:
            grid.add_row(Text(name), Text(words, style="bold" if name == strong else ""))
        self.table(grid)


def print_page(fill: Callable[[Page], None]) -> None:
    """Print to the standard output the page that `fill` fills."""
    console = _console()
    if console.is_terminal:
        fill(Page(console))
        return
    with console.capture() as captured:
        fill(Page(console))
    print("\n".join(line.rstrip() for line in captured.get().splitlines()))


def new_table(
    columns: Sequence[str],
    heading: Callable[[str], str],
    *,
    left: int = 0,
    also_left: Collection[str] = (),
    whole: Collection[str] = (),
) -> Table:
    """Return a table without rows; `heading` gives the words over a column.

    The first `left` columns and those named in `also_left` hold words, all others figures; those in `whole` are never broken.
    """
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, padding=(0, 1), header_style="bold")
    for i, name in enumerate(columns):
        justified: Literal["left", "right"] = "left" if i < left or name in also_left else "right"
        table.add_column(heading(name), justify=justified, vertical="bottom", no_wrap=name in whole)
    return table


def _console() -> Console:
    plain = bool(os.environ.get("NO_COLOR")) or not sys.stdout.isatty()
    width = min(Console().width, _MOST_COLUMNS) if sys.stdout.isatty() else _MOST_COLUMNS
    return Console(
        file=sys.stdout, width=width, highlight=False, markup=False, emoji=False, force_terminal=not plain, no_color=plain
    )
