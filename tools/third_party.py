"""Write THIRD_PARTY.md: what is shipped with Collum or installed for it, and under which licence.

Python packages are installed beside the program from the run lock; they carry their own licence texts. The browser part holds
code of others inside its own files, so their texts stand here in full. `write` renews the page, `check` compares it.
"""

from __future__ import annotations

import json
import re
import sys
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "THIRD_PARTY.md"
# Compiled into the built browser part although the lock marks them as tools of development.
COMPILED_IN = ("svelte", "clsx", "esm-env")
ALLOWED = frozenset(
    {
        *("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "MIT", "MIT-0", "MPL-2.0"),
        *("OFL-1.1", "PSF-2.0", "Unicode-3.0", "Zlib"),
    }
)
ALLOWED_FOR_TOOLS = ALLOWED | {"BlueOak-1.0.0", "Python-2.0"}
# What some packages write instead of the name of their licence in the list of SPDX.
SPDX_OF_CLASSIFIER = {
    "Apache Software License": "Apache-2.0",
    "BSD License": "BSD-3-Clause",
    "ISC License (ISCL)": "ISC",
    "MIT License": "MIT",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
}
# Packages whose licence cannot be read here, each with the reason and where it was read.
READ_ELSEWHERE = {
    "sqlcipher3": ("Zlib", "read in the licence file of the package, whose metadata names none"),
    "colorama": ("BSD-3-Clause", "needed on Windows only; read in the package's own metadata"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One package of somebody else: its name, its locked versions, its licence in the words of SPDX."""

    name: str
    versions: tuple[str, ...]
    licence: str


def main(arguments: list[str]) -> int:
    """Write the page or compare it; return the exit code."""
    if arguments == ["write"]:
        PAGE.write_text(page(), encoding="utf-8")
        return 0
    if arguments == ["check"]:
        if page() == PAGE.read_text(encoding="utf-8"):
            return 0
        print("THIRD_PARTY.md does not fit the lock files: run `make third-party`", file=sys.stderr)
        return 1
    print("usage: third_party.py write | check", file=sys.stderr)
    return 2


def page() -> str:
    """Return the whole page. The browser part's packages must be installed, because their texts are copied."""
    lines = ["# What Collum stands on", "", "Written by `make third-party` from the lock files; not edited by hand.", ""]
    lines += ["## Python packages, installed beside the program", "", "| package | version | licence |", "|---|---|---|"]
    lines += [f"| {part.name} | {' or '.join(part.versions)} | {part.licence} |" for part in python_parts("run")]
    lines += ["", "## Code and fonts of others inside the browser part", "", "| package | version | licence |", "|---|---|---|"]
    shipped = [part for part in browser_parts() if is_shipped(part.name)]
    lines += [f"| {part.name} | {' or '.join(part.versions)} | {part.licence} |" for part in shipped]
    for part in shipped:
        lines += ["", f"### {part.name}", "", "```", _licence_text(part.name), "```"]
    return "\n".join(lines) + "\n"


def python_parts(lock: str) -> list[Part]:
    """Return the packages of a lock file in its order."""
    versions: dict[str, list[str]] = {}
    for line in (ROOT / f"requirements/{lock}.lock").read_text(encoding="utf-8").splitlines():
        if found := re.match(r"([a-z0-9._-]+)==([^ ;\\]+)", line):
            versions.setdefault(found[1], []).append(found[2])
    return [Part(name=name, versions=tuple(found), licence=_python_licence(name)) for name, found in versions.items()]


def browser_parts() -> list[Part]:
    """Return every package of the browser part's lock file, tools included."""
    lock = json.loads((ROOT / "frontend/package-lock.json").read_text(encoding="utf-8"))
    versions: dict[tuple[str, str], set[str]] = {}
    for place, entry in lock["packages"].items():
        if place:
            name = place.rpartition("node_modules/")[2]
            versions.setdefault((name, entry.get("license", "unknown")), set()).add(entry["version"])
    return [Part(name=name, versions=tuple(sorted(found)), licence=kind) for (name, kind), found in sorted(versions.items())]


def licence_is_allowed(expression: str, *, shipped: bool) -> bool:
    """Say whether a licence expression can be met with allowed licences: every part of AND, one part of OR."""
    allowed = ALLOWED if shipped else ALLOWED_FOR_TOOLS
    flat = expression.replace("(", " ").replace(")", " ")
    return all(any(choice.strip() in allowed for choice in part.split(" OR ")) for part in flat.split(" AND "))


def is_shipped(name: str) -> bool:
    """Say whether code of this package of the browser part ends up in what the user receives."""
    lock = json.loads((ROOT / "frontend/package-lock.json").read_text(encoding="utf-8"))
    return name in COMPILED_IN or not lock["packages"].get(f"node_modules/{name}", {"dev": True}).get("dev", False)


def _python_licence(name: str) -> str:
    if name in READ_ELSEWHERE:
        return READ_ELSEWHERE[name][0]
    fields = metadata.metadata(name)
    if "License-Expression" in fields:
        return fields["License-Expression"]
    classifiers = [line.rpartition(" :: ")[2] for line in fields.get_all("Classifier", []) if line.startswith("License ::")]
    named = [SPDX_OF_CLASSIFIER[line] for line in classifiers if line in SPDX_OF_CLASSIFIER]
    if named:
        return " AND ".join(sorted(set(named)))
    return fields["License"].splitlines()[0] if "License" in fields else "unknown"


def _licence_text(name: str) -> str:
    folder = ROOT / "frontend/node_modules" / name
    texts = sorted(path for path in folder.iterdir() if path.name.lower().startswith(("licen", "copying")))
    if not texts:
        lock = json.loads((ROOT / "frontend/package-lock.json").read_text(encoding="utf-8"))
        return f"(the package carries no text; its licence is {lock['packages'][f'node_modules/{name}']['license']})"
    return texts[0].read_text(encoding="utf-8").strip()


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
