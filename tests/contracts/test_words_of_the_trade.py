"""What people read is said in the words of the trade, and sentences of a plan are read once."""

import re
import tomllib
from collections.abc import Iterator

import pytest

from collum.wording import keys, template
from tests.contracts.tracked import ROOT

BANNED: dict[str, str] = tomllib.loads((ROOT / "tests/contracts/banned_words.toml").read_text(encoding="utf-8"))["words"]
# Of files, of the HTTP door and of the record: no words about a tooth.
NOT_OF_TEETH = ("fault.", "http.", "record.", "cli.fault", "cli.help", "cli.option", "scan.fault")
DEGREES_OF_A_PLACE = re.compile(r"\{\w*(station|centre|worst|from|to_turn|at)_deg:deg\}")
MOST_WORDS = 25  # a sentence that is longer has to be read twice; what is put in counts as one word
MOST_WORDS_OF_ADVICE = 20
LONGEST_PLACE = "between mesiopalatal and distopalatal"


@pytest.mark.parametrize("pattern", BANNED)
def test_nothing_says_what_the_trade_does_not(pattern: str) -> None:
    banned = re.compile(rf"(?<![\w_])(?:{pattern})(?![\w_])", re.IGNORECASE)
    found = {key: template(key) for key in keys() if not key.startswith(NOT_OF_TEETH) and banned.search(_said(key))}
    assert found == {}, f"say: {BANNED[pattern]}"


def test_no_place_round_a_tooth_is_given_in_degrees() -> None:
    assert [key for key in keys() if DEGREES_OF_A_PLACE.search(template(key))] == []


@pytest.mark.parametrize("key", [key for key in keys() if key.startswith("plan.")])
def test_a_sentence_of_a_plan_is_read_once(key: str) -> None:
    assert [sentence for sentence in sentences(template(key)) if len(sentence.split()) > MOST_WORDS] == []


@pytest.mark.parametrize("key", [key for key in keys() if re.match(r"plan\.recommended\.(?!act\b)", key)])
def test_advice_begins_with_an_act_or_not_now_in_few_words(key: str) -> None:
    of_route = "soft_tissue_only" if ".staged." in key else key.rpartition(".kept.")[2] if ".kept." in key else ""
    acts = [template(act) for act in keys() if act.startswith(f"plan.recommended.act.{of_route}")]
    first = next(sentences(template(key)))
    assert first.startswith(("{act}", "Not now: ", "No lengthening needed: "))
    for act in acts:
        said = first.replace("{act}", act.replace("{station_deg:there}", LONGEST_PLACE))
        assert len(said.split()) <= MOST_WORDS_OF_ADVICE, said


def sentences(said: str) -> Iterator[str]:
    """Yield the sentences of a text; a placeholder counts as one word."""
    plain = re.sub(r"\{[^}]*\|([^}]*)\}", r"1 \1", said)
    yield from (part for part in re.split(r"(?<=[.?!]) +(?=[A-Z{])", plain) if part)


def _said(key: str) -> str:
    """Return what is read, without the names of what is put in but for those a pattern names."""
    return re.sub(r"\{(?!half|number|extrusion_mm)[^}]*\}", "…", template(key))


@pytest.mark.parametrize(
    ("planted", "caught"),
    [
        ("the rest line", True),
        ("the forest line", False),
        ('On the route "x"', True),
        ("facial to oral", True),
        ("moral", False),
    ],
)
def test_a_planted_word_is_found(planted: str, caught: bool) -> None:
    hits = [pattern for pattern in BANNED if re.search(rf"(?<![\w_])(?:{pattern})(?![\w_])", planted, re.IGNORECASE)]
    assert bool(hits) is caught
