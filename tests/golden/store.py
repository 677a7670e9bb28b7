"""The frozen cases and the golden answers as compressed JSON files beside this module."""

import json
import lzma
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
CASES = HERE / "cases.json.xz"
FILES = HERE / "case_files.json.xz"
ANSWERS = HERE / "answers"

Answers = dict[str, dict[str, dict[str, Any]]]  # part -> case -> field -> answer


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenCase:
    """A case document as it was when it was frozen. `heat`: whether its heat is asked as well, which takes seconds."""

    name: str
    seed: int
    heat: bool
    document: dict[str, Any]

    @property
    def demo(self) -> bool:
        return self.name.startswith("demo")


def frozen_cases() -> list[FrozenCase]:
    return [FrozenCase(**one) for one in read(CASES)]


def frozen_files() -> list[tuple[str, str, bytes]]:
    """Return the mutated case files: name, kind and bytes."""
    return [(name, kind, text.encode("latin-1")) for name, kind, text in read(FILES)]


def read_answers() -> Answers:
    return {path.name.removesuffix(".json.xz"): read(path) for path in sorted(ANSWERS.glob("*.json.xz"))}


def write_answers(answers: Answers) -> None:
    """Put the answers in the place of what is there."""
    ANSWERS.mkdir(exist_ok=True)
    for path in ANSWERS.glob("*.json.xz"):
        path.unlink()
    for part, of_part in answers.items():
        write(ANSWERS / f"{part}.json.xz", of_part)


def read(path: Path) -> Any:
    return json.loads(lzma.decompress(path.read_bytes()))


def write(path: Path, plain: Any) -> None:
    text = json.dumps(plain, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    path.write_bytes(lzma.compress(text.encode(), preset=9 | lzma.PRESET_EXTREME))
