"""Places round a tooth are named alike on the screen and everywhere else: `frontend/src/words.ts` is held to the same file."""

import json
from itertools import product
from pathlib import Path

from collum.wording import Names, name_by, template
from collum.wording.names import letters, place_words

FILE = Path(__file__).parent / "places.json"
PRACTICES = (Names(), Names(facial="B", palatal="L"))
TEETH = (16, 46)
ANGLES = range(0, 360, 5)


def word(name: str) -> str:
    """Return the catalogue's word for a part of the name of a place."""
    return template(f"site.{name}")


def named() -> list[dict[str, object]]:
    """Return every fifth degree round an upper and a lower tooth, as two practices write it."""
    rows: list[dict[str, object]] = []
    for names, tooth in product(PRACTICES, TEETH):
        name_by(names)
        places = [
            [letters(deg, tooth), place_words(deg, tooth, word), place_words(deg, tooth, word, "there")] for deg in ANGLES
        ]
        rows.append({"facial_letter": names.facial, "palatal_letter": names.palatal, "tooth": tooth, "places": places})
    name_by(Names())
    return rows


def test_the_file_that_the_screen_is_held_to_is_what_is_said_here() -> None:
    assert json.loads(FILE.read_text(encoding="utf-8")) == named()


if __name__ == "__main__":
    FILE.write_text(json.dumps(named(), indent=0, ensure_ascii=False) + "\n", encoding="utf-8")
