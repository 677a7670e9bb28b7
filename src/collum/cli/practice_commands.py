"""Commands of a practice in its data directory: `serve`, `demo`, `compare`."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.ending import OUR_FAULT, faulty, remember_data, say, trouble
from collum.cli.in_force import settings_in_force
from collum.cli.options import AsJson, Data, Errors, PassphraseFile, Port, User
from collum.cli.own_command import own_command
from collum.cli.unlocking import keys_of
from collum.wording import text

if TYPE_CHECKING:
    from collum.app.record.instance import AlreadyRunning, Instance
    from collum.app.settings import Settings

OpenBrowser = Annotated[bool, typer.Option("--open", help=text("cli.option.open"))]


def serve(port: Port = None, data: Data = None, open_browser: OpenBrowser = False, errors: Errors = "text") -> None:
    settings = settings_of_practice(port, data)
    with held(settings) as instance:
        serve_workbench(settings, instance, open_browser=open_browser)


def demo(
    check: Annotated[bool, typer.Option("--check", help=text("cli.option.check"))] = False,
    reset: Annotated[bool, typer.Option("--reset", help=text("cli.option.reset"))] = False,
    serve: Annotated[bool, typer.Option("--serve", help=text("cli.option.serve"))] = False,
    port: Port = None,
    data: Data = None,
    open_browser: OpenBrowser = False,
    errors: Errors = "text",
) -> None:
    if check:
        from collum.cli.check_demo import check_demo

        raise typer.Exit(0 if check_demo() else OUR_FAULT)
    settings = settings_of_practice(port, remember_data(data or _demo_folder()))
    _claim(settings.data)
    with held(settings) as instance:
        _fill(settings, instance, reset)
        if serve or open_browser:
            serve_workbench(settings, instance, open_browser=open_browser)


def compare(
    first: Annotated[str, typer.Argument(metavar="PLAN", help=text("cli.option.plan_id"))],
    second: Annotated[str, typer.Argument(metavar="PLAN", help=text("cli.option.plan_id"))],
    tooth: Annotated[int | None, typer.Option("--tooth", help=text("cli.option.tooth"), show_default=False)] = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    from collum.app.cases.compare import NoCommonTooth, compare_plans
    from collum.app.practice import open_beside
    from collum.cli.comparison_text import as_json, as_text
    from collum.records import CaseDeleted, UnknownRecord

    environment = settings_of_practice(None, data).environment()
    try:
        with open_beside(environment, keys_of(environment.data_directory, user, passphrase_file)) as practice:
            found = compare_plans(practice.store, first, second, tooth_number=tooth)
    except (UnknownRecord, CaseDeleted):
        faulty("PLAN", "no_plan", "stored_plan")
    except NoCommonTooth:
        faulty("PLAN", "no_common_tooth", "same_tooth")
    print(as_json(found) if json else as_text(found))


COMMANDS: Mapping[str, Callable[..., None]] = {"serve": serve, "demo": demo, "compare": compare}


def settings_of_practice(port: int | None, data: Path | None) -> "Settings":
    return settings_in_force({"port": port, "data": data})


@contextmanager
def taken(settings: "Settings") -> Iterator["Instance"]:
    """Hold the data directory for this process. Raises AlreadyRunning, StorageError."""
    from collum.app.record.data_directory import prepare_data_directory
    from collum.app.record.instance import Instance

    for caution in prepare_data_directory(settings.data):
        say(text(f"cli.caution.{caution}"))
    with Instance(settings.data) as instance:
        yield instance


@contextmanager
def held(settings: "Settings") -> Iterator["Instance"]:
    """Hold the data directory for this process. Where a workbench of ours runs on it already, its address is the result."""
    from collum.app.record.instance import AlreadyRunning

    try:
        with taken(settings) as instance:
            yield instance
    except AlreadyRunning as already:
        _say_where(already)


def _say_where(already: "AlreadyRunning") -> None:
    from collum.records import StorageError

    if already.running is None:
        raise StorageError("locked")
    say(text("cli.running.already"))
    print(already.running.address)
    raise typer.Exit(0)


def serve_workbench(settings: "Settings", instance: "Instance", *, open_browser: bool, print_link: bool = True) -> None:
    """Serve the workbench until it is asked to end; the one-time link is printed once it answers."""
    from collum.app.chair.kept_hands import KeptHands
    from collum.app.environment import utc_text
    from collum.app.logs import SERVING, WAITING, open_log
    from collum.app.record.vault import opened_vault
    from collum.app.speaking import storage_words
    from collum.cli.browser import show
    from collum.records import StorageError
    from collum.web.server import HOST, PortTaken, listen
    from collum.web.server import serve as serve_web

    environment = settings.environment()
    try:
        listening = listen(settings.port)
    except PortTaken:
        trouble("port_taken", port=settings.port)
    with listening, opened_vault(environment, draws=settings.draws, lock=instance.lock) as vault, open_log(environment) as log:
        if vault.state == "missing":
            say(" ".join(storage_words(StorageError("missing"))))
        if vault.trouble is not None:
            say(" ".join(storage_words(StorageError(vault.trouble))))
            log.event("record", trouble=vault.trouble)

        def ready(port: int, new_link: Callable[[], str]) -> None:
            log.event(WAITING if vault.state in ("new", "missing") else SERVING, port=port)
            instance.announce(port=port, started_at=utc_text(environment.now()), new_link=new_link)
            if print_link:
                print(new_link(), flush=True)
            again = own_command("open", "--data", str(settings.data.resolve()))
            say(text("cli.running.serving", {"address": f"http://{HOST}:{port}/", "again": again}))
            if open_browser and not show(settings.data, new_link()):
                say(text("cli.running.no_browser"))

        hands = KeptHands.of(settings)
        serve_web(vault, log, listening, on_ready=ready, backup_plan=settings.backup_plan(), hands=hands)
        log.event("ended")


def _demo_folder() -> Path:
    from collum.app.environment import default_data_directory

    usual = default_data_directory()
    return usual.with_name(f"{usual.name}-demo")


def _claim(folder: Path) -> None:
    from collum.app.demo import NotADemo, claim

    try:
        claim(folder)
    except NotADemo:
        faulty("--data", "not_a_demo", "other_directory")


def _fill(settings: "Settings", instance: "Instance", reset: bool) -> None:
    """Load the invented cases and print the plan of the first as an example."""
    from collum.app.demo import fill, renew
    from collum.app.practice import open_practice
    from collum.case import from_document
    from collum.cli.plan_text import print_plan

    if reset:
        renew(settings.data)
    with open_practice(settings.environment(), draws=settings.draws, lock=instance.lock, new=reset) as practice:
        count = fill(practice)
        say(text("cli.demo.loaded", {"count": count}) if count else text("cli.demo.kept"))
        first = practice.cases()[0]
        print_plan(practice.planner.plan(from_document(practice.open(first.case_id).document)), None)
    sys.stdout.flush()
