"""Count what makes the code harder to read; the counts may only fall (`python -m tools.prose` keeps lower ones).

Counted by part of the program: mannered phrases in comments, docstrings and pages; public functions of `core/` whose
docstring lacks numpydoc sections or an example; modules of under forty lines that one other module alone imports.
"""

from __future__ import annotations

import ast
import io
import json
import re
import sys
import tokenize
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from pathlib import Path

from tools.set_up import ROOT

KEPT = ROOT / "tests/contracts/prose.json"
SOURCE = ROOT / "src/collum"
SHORT_LINES = 40
ROWS = ("plan/lengthening/requirements", "plan/lengthening/procedures")  # a file each, listed by one table
MANNERED = re.compile(
    "|".join(
        (
            r"\b(?:is|are|was|were|be|being) told\b",
            r"\bstands?\b(?! for)",
            r"\blies\b",
            r"\blets? go\b",
            r"\bgives? way\b",
            r"\bin our words\b",
            r"\bwhere (?:there is )?none\b",
            r"\bis no (?=\w+ (?:of|for)\b)",
            r"\bwithout a word\b",
            r"\bhand(?:s|ed)? (?:in|over)\b",
            r"\bwork-horse\b",
            r"\bof ours\b",
            r"\bcomes? to\b",
            r"\breads? on\b",
            r"\bdawdl\w+",
            r"\bnobody\b",
            r"\bsomebody\b",
        )
    ),
    re.IGNORECASE,
)
SECTIONS = ("Returns\n", "Source\n")

Counts = dict[str, dict[str, int]]


def main() -> int:
    """Write counts that fell; return 1 and say where if one rose."""
    now, kept = counted(), json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    if risen := [said for said in rises(now, kept)] if kept else []:
        print("\n".join(risen))
        return 1
    KEPT.write_text(json.dumps(now, indent=2, sort_keys=True) + "\n", encoding="utf-8")
    return 0


def rises(now: Counts, kept: Mapping[str, Mapping[str, int]]) -> Iterator[str]:
    """Yield a line for each count that is above the kept one; a part that is new starts at nothing."""
    for kind, by_part in now.items():
        for part, count in by_part.items():
            if count > (before := kept.get(kind, {}).get(part, 0)):
                yield f"{kind} in {part}: {count}, kept {before}"


def counted() -> Counts:
    """Return each count by part."""
    modules = sorted(SOURCE.rglob("*.py"))
    return {
        "mannered phrases": _by_part((path, len(MANNERED.findall(" ".join(prose_of(path).split())))) for path in modules)
        | _by_part((path, len(MANNERED.findall(path.read_text(encoding="utf-8")))) for path in pages()),
        "undocumented functions": _by_part(
            (path, len(undocumented(path.read_text(encoding="utf-8"))))
            for path in modules
            if path.is_relative_to(SOURCE / "core")
        ),
        "fragments": _by_part((path, 1) for path in fragments(modules)),
    }


def pages() -> Iterator[Path]:
    """Yield the pages that describe the program as it is; decisions and changes are history."""
    yield from (ROOT / name for name in ("README.md", "ARCHITECTURE.md", "CONTRIBUTING.md"))
    yield from sorted((ROOT / "docs/theory").glob("*.md"))


def prose_of(path: Path) -> str:
    """Return comments and docstrings of a module."""
    text = path.read_text(encoding="utf-8")
    comments = [
        found.string for found in tokenize.generate_tokens(io.StringIO(text).readline) if found.type == tokenize.COMMENT
    ]
    nodes = (node for node in ast.walk(ast.parse(text)) if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)))
    return "\n".join([*comments, *(said for node in nodes if (said := ast.get_docstring(node)))])


def undocumented(text: str) -> list[str]:
    """Return the public functions of a module whose docstring lacks sections or an example."""
    functions = (node for node in ast.parse(text).body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"))
    return [node.name for node in functions if not is_documented(ast.get_docstring(node) or "")]


def is_documented(docstring: str) -> bool:
    """Return whether a docstring has the sections that a public function of `core/` needs, and an example."""
    return all(f"\n{section}" in docstring for section in SECTIONS) and "\n>>> " in docstring


def fragments(modules: list[Path]) -> Iterator[Path]:
    """Yield the modules of under forty lines that one other module alone imports; `__init__` and rows of a table apart."""
    names = {_dotted(path): path for path in modules}
    used: dict[Path, set[Path]] = defaultdict(set)
    for path in modules:
        for name in _imported(path):
            if name in names:
                used[names[name]].add(path)
    for path in modules:
        short = len(path.read_text(encoding="utf-8").splitlines()) < SHORT_LINES
        row = path.parent.relative_to(SOURCE).as_posix() in ROWS
        if short and not row and path.stem != "__init__" and len(used[path] - {path}) == 1:
            yield path


def _imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)


def _dotted(path: Path) -> str:
    return ".".join(path.relative_to(SOURCE.parent).with_suffix("").parts)


def _by_part(found: Iterator[tuple[Path, int]]) -> dict[str, int]:
    counts: Counter[str] = Counter()
    for path, count in found:
        counts[_part(path)] += count
    return {part: count for part, count in sorted(counts.items()) if count}


def _part(path: Path) -> str:
    inside = path.relative_to(ROOT)
    if path.suffix == ".md":
        return "pages"
    parts = inside.parts[2:-1]
    return "/".join(parts[:2] if parts[:1] in (("core",), ("plan",), ("wire",)) else parts[:1]) or "collum"


if __name__ == "__main__":
    sys.exit(main())
