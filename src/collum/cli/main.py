"""The command line: `collum COMMAND`. Results go to the standard output, everything else to the standard error.

Exit status: 0 done, 2 faulty input or usage, 3 refused, 4 storage trouble, 1 a fault of our own, 130 stopped by Ctrl-C.
What takes long to import is imported inside the commands, so that `collum --help` is there at once.
"""

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

import collum
from collum.cli import (
    bridge_command,
    door_commands,
    heat_command,
    lookup_commands,
    plan_commands,
    practice_commands,
    record_commands,
    restoration_command,
    safety_command,
    scan_commands,
)
from collum.cli.ending import ending_of, remember_data
from collum.wording import text

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")


def run() -> None:
    """Run the command of this process and end it with its exit status."""
    for variable in _ONE_THREAD:  # read when numpy is imported; threads of our own do the work side by side
        os.environ.setdefault(variable, "1")
    _leave_no_core()
    sys.exit(main(sys.argv[1:]))


def _leave_no_core() -> None:
    """Let the system write no image of this process when it dies: keys and readings would be in it."""
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(arguments: Sequence[str]) -> int:
    """Run one command and return its exit status."""
    remember_data(None)
    try:
        status = command_line()(list(arguments), prog_name="collum", standalone_mode=False)
        sys.stdout.flush()
    except BaseException as error:
        return ending_of(error)
    return int(status or 0)


def _say_version(asked: bool) -> None:
    if asked:
        print(f"collum {collum.__version__}")
        raise typer.Exit


def _beside_commands(
    version: Annotated[
        bool, typer.Option("--version", help=text("cli.option.program_version"), callback=_say_version, is_eager=True)
    ] = False,
) -> None:
    """What may be asked without a command."""


def command_line() -> typer.Typer:
    """Return every command."""
    app = typer.Typer(
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        help=text("cli.program"),
    )
    app.callback(help=text("cli.program"))(_beside_commands)
    shown = (plan_commands, restoration_command, bridge_command, heat_command, safety_command, practice_commands, door_commands)
    for commands in (*shown, lookup_commands):
        for name, command in commands.COMMANDS.items():
            app.command(name, help=text(f"cli.help.{name.replace('-', '_')}"))(command)
    browsers = typer.Typer(rich_markup_mode=None, help=text("cli.help.browsers"))
    browsers.callback(invoke_without_command=True)(door_commands.list_browsers)
    for name, command in door_commands.OF_BROWSERS.items():
        browsers.command(name, help=text(f"cli.help.browsers {name}"))(command)
    app.add_typer(browsers, name="browsers")
    for group, of_group in (("scan", scan_commands.COMMANDS), ("record", record_commands.COMMANDS)):
        below = typer.Typer(rich_markup_mode=None, help=text(f"cli.help.{group}"))
        for name, command in of_group.items():
            below.command(name, help=text(f"cli.help.{group} {name}"))(command)
        app.add_typer(below, name=group)
    return app
