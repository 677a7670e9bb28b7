"""Commands of the door: `open`, `browsers`, `desktop-entry`."""

import json as json_text
import shlex
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.ending import Trouble, faulty, say, trouble
from collum.cli.options import AsJson, Data, Errors
from collum.cli.own_command import own_command, own_program
from collum.cli.practice_commands import serve_workbench, settings_of_practice, taken
from collum.wording import filled, text

if TYPE_CHECKING:
    from collum.app.record.kept_browsers import KeptBrowser, KeptBrowsers

_STARTING_S = 30.0  # how long another process of ours may take from its start to its first answer


def open_(
    start: Annotated[bool, typer.Option("--start", help=text("cli.option.start"))] = False,
    data: Data = None,
    errors: Errors = "text",
) -> None:
    from collum.app.record.instance import AlreadyRunning, running_instance

    settings = settings_of_practice(None, data)
    if not start:
        if running_instance(settings.data) is None:
            trouble("not_running", folder=str(settings.data.resolve()), start=own_command("serve"))
        _open_running(settings.data, print_link=True)
        return
    read_here = sys.stdout.isatty()  # started by an icon, what is printed may end in a log that others read
    with _told_on_screen(settings.data):
        try:
            with taken(settings) as instance:
                serve_workbench(settings, instance, open_browser=True, print_link=read_here)
        except AlreadyRunning:
            _open_running(settings.data, print_link=read_here, within_s=_STARTING_S)


def list_browsers(context: typer.Context, data: Data = None, json: AsJson = False, errors: Errors = "text") -> None:
    if context.invoked_subcommand is not None:
        return
    found = _kept(data).all()
    if json:
        print(json_text.dumps([_document(one) for one in found], indent=2, ensure_ascii=False))
    elif not found:
        say(text("cli.browsers.none"))
    else:
        for one in found:
            print(filled(f"cli.browsers.{'idle' if one.idle else 'kept'}", _document(one)))


def revoke(
    browser: Annotated[str, typer.Argument(metavar="BROWSER", help=text("cli.option.browser"), show_default=False)],
    data: Data = None,
    errors: Errors = "text",
) -> None:
    kept = _kept(data)
    found = kept.named(browser)
    if found is None:
        faulty("BROWSER", "no_browser", "browsers", value=browser[:60])
    kept.revoke(found.browser_id)
    say(text("cli.browsers.revoked", {"name": found.name}))


def desktop_entry(
    remove: Annotated[bool, typer.Option("--remove", help=text("cli.option.remove"))] = False,
    data: Data = None,
    errors: Errors = "text",
) -> None:
    from collum.app.desktop_entry import entry_file, remove_entry, write_entry

    command = [*own_program(), "open", "--start", "--data", str(settings_of_practice(None, data).data.absolute())]
    platform = str(sys.platform)
    if platform in ("win32", "darwin"):
        print(text(f"cli.desktop.{platform}", {"command": shlex.join(command)}))
        return
    if remove:
        say(text(f"cli.desktop.{'removed' if remove_entry() else 'nothing'}", {"file": str(entry_file())}))
        return
    words = {"name": text("cli.desktop.name"), "comment": text("cli.desktop.comment")}
    print(write_entry(command, **words, icon=_icon()))
    say(text("cli.desktop.written"))


COMMANDS: Mapping[str, Callable[..., None]] = {"open": open_, "desktop-entry": desktop_entry}
OF_BROWSERS: Mapping[str, Callable[..., None]] = {"revoke": revoke}


def _open_running(folder: Path, *, print_link: bool, within_s: float = 3) -> None:
    """Open the browser on a link of the workbench that runs; print one of its own, for where that does not succeed."""
    from collum.app.record.instance import ask_for_link
    from collum.cli.browser import show

    link = ask_for_link(folder, within_s=within_s)
    further = ask_for_link(folder) if link is not None and print_link else link
    if link is None or further is None:
        trouble("no_answer")
    if print_link:
        print(further, flush=True)
    if not show(folder, link):
        say(text("cli.running.no_browser"))


@contextmanager
def _told_on_screen(folder: Path) -> Iterator[None]:
    """Show what kept the workbench from starting in the browser too, where no terminal shows it."""
    from collum.cli.browser import show_words
    from collum.records import StorageError

    try:
        yield
    except (Trouble, StorageError) as error:
        if not sys.stderr.isatty() and folder.is_dir():
            words = text(f"cli.trouble.{error.trouble}") if isinstance(error, StorageError) else str(error)
            show_words(folder, text("cli.running.not_started", {"why": words}))
        raise


def _kept(data: Path | None) -> "KeptBrowsers":
    from collum.app.record.kept_browsers import KeptBrowsers

    return KeptBrowsers.of(settings_of_practice(None, data).environment())


def _document(kept: "KeptBrowser") -> dict[str, str | bool]:
    from collum.app.environment import utc_text

    return {
        "browser": kept.browser_id,
        "name": kept.name,
        "kept_at": kept.kept_at,
        "used_at": utc_text(kept.used_at),
        "idle": kept.idle,
    }


def _icon() -> Path | None:
    from importlib import resources

    file = Path(str(resources.files("collum.web") / "static" / "assets" / "icon.svg"))
    return file if file.is_file() else None
