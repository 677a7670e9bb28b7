"""Commands that answer a question about the program itself: `schema`, `evidence`, `settings`, `openapi`."""

import os
from collections.abc import Callable, Mapping
from dataclasses import asdict
from difflib import get_close_matches
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.ending import faulty
from collum.cli.options import AsJson, Data, Draws, Errors, Port
from collum.wording import text

if TYPE_CHECKING:
    from collum.evidence import Constant


def schema(
    version: Annotated[int | None, typer.Option("--version", help=text("cli.option.version"), show_default=False)] = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    from collum.case import schema as case_schema
    from collum.case.layout import FORMAT_NUMBER, LAYOUTS

    asked = FORMAT_NUMBER if version is None else version
    if asked not in LAYOUTS:
        faulty("--version", "no_format", "formats", value=str(version), last=FORMAT_NUMBER)
    print(_pretty(case_schema(asked)))


def evidence(
    key: Annotated[str | None, typer.Argument(metavar="KEY", help=text("cli.option.key"), show_default=False)] = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    from collum.evidence import all_constants

    constants = {constant.key: constant for constant in all_constants()}
    if key is not None and key not in constants:
        near = get_close_matches(key, constants, n=3, cutoff=0.4) or ["collum evidence"]
        faulty("KEY", "no_number", "near", value=key[:60], near=", ".join(near))
    asked = list(constants.values()) if key is None else [constants[key]]
    if json:
        found = [_with_citation(constant) for constant in asked]
        print(_pretty(found if key is None else found[0]))
    elif key is None:
        print("\n".join(_line(constant) for constant in asked))
    else:
        print(_record(asked[0]))


def settings(data: Data = None, port: Port = None, draws: Draws = None, json: AsJson = False, errors: Errors = "text") -> None:
    from collum.app.settings import NAMES, read_settings

    found = read_settings({"data": data, "port": port, "draws": draws}, os.environ)
    rows = [{"name": name, "value": getattr(found, name), "origin": found.origins[name]} for name in NAMES]
    if json:
        print(_pretty({row["name"]: {"value": _plain(row["value"]), "origin": row["origin"]} for row in rows}))
        return
    for row in rows:
        print(text("cli.settings.line", {name: str(value) for name, value in row.items()}))


def openapi(json: AsJson = False) -> None:
    from collum.web.openapi import openapi as description

    print(_pretty(description(), indent=1))


COMMANDS: Mapping[str, Callable[..., None]] = {
    "schema": schema,
    "evidence": evidence,
    "settings": settings,
    "openapi": openapi,
}


def _pretty(found: object, indent: int = 2) -> str:
    from json import dumps

    return dumps(found, indent=indent, ensure_ascii=False)


def _plain(found: object) -> object:
    return found if isinstance(found, (int, str)) else str(found)


def _with_citation(constant: "Constant") -> dict[str, object]:
    from collum.evidence import reference

    return {**asdict(constant), "citation": reference(constant.source).citation}


def _line(constant: "Constant") -> str:
    return text("cli.evidence.line", {"key": constant.key, "value": constant.value, "unit": constant.unit})


def _record(constant: "Constant") -> str:
    """Return a number with all that is known of it, a line each."""
    found = _with_citation(constant)
    rows: dict[str, object] = {
        "value": f"{constant.value:g} {constant.unit}",
        "range": f"{constant.low:g} – {constant.high:g} {constant.unit}",
        "not_below": constant.editable_down_to,
        "not_above": constant.editable_up_to,
        "meaning": constant.meaning,
        "source": found["citation"],
        "status": constant.status.replace("_", " "),
        "kind": constant.kind,
        "population": constant.population,
        "used_for": constant.used_for,
        "checked": constant.checked,
    }
    told = [(text(f"cli.evidence.{name}"), value) for name, value in rows.items() if value is not None]
    width = max(len(name) for name, _ in told)
    return "\n".join([constant.key, *(f"  {name:<{width}}  {value}" for name, value in told)])
