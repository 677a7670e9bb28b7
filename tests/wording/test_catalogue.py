"""The catalogue of sentences: parameters fit or it raises, numbers are shown one way, and no sentence lies unused."""

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

from collum.app.speaking import FOR_FILES_ALONE
from collum.case.model import SITE_ANGLE_DEG
from collum.vocabulary import RequirementId
from collum.wording import Names, WordingError, keys, name_by, placeholders, side_name, site_name, template, text

ROOT = Path(__file__).parents[2]
PLACES = {"place", "there", "There", "near", "bearing", "site"}
SHAPES = {"", "mm", "deg", "weeks", "in100", "percent", "ratio", "n", "way", "what", "route", *PLACES}
SETTINGS_OF_A_DEVICE = re.compile(
    r"\b(watts?|\d+ ?W|volts?|kilohertz|MHz|kHz|waveform|blended?|fully rectified|coagulation mode|cut mode|power setting)\b",
    re.IGNORECASE,
)


def test_an_unknown_key_is_refused() -> None:
    with pytest.raises(WordingError, match="no sentence"):
        text("plan.no_such_sentence")
    with pytest.raises(WordingError, match="no sentence"):
        template("plan")


@pytest.mark.parametrize(
    "parameters", [{}, {"length_mm": 1.0, "more": 2}, {"lenght_mm": 1.0}], ids=["missing", "left over", "other"]
)
def test_parameters_have_to_fit(parameters: dict[str, float]) -> None:
    with pytest.raises(WordingError, match=r"paper\.mm"):
        text("paper.mm", parameters)


@pytest.mark.parametrize(
    ("length_mm", "shown"),
    [(1.25, "1.2"), (1.251, "1.3"), (-0.5, "−0.5"), (-0.04, "0.0"), (0.0, "0.0"), (10, "10.0"), (-10.04, "−10.0")],
)
def test_a_length_has_one_decimal_a_true_minus_and_no_minus_zero(length_mm: float, shown: str) -> None:
    assert text("paper.mm", {"length_mm": length_mm}) == shown


@pytest.mark.parametrize(
    ("share", "shown"),
    [
        (0.94, "94 in 100"),
        (0.29, "29 in 100"),  # 0.29 * 100 is a hair under 29 in binary
        (0.8999, "89 in 100"),  # short of 0.90, so it may not read as 90
        (0.9899, "98 in 100"),
        (0.994, "99 in 100"),
        (1.0, "over 99 in 100"),
        (0.01, "1 in 100"),
        (0.0099, "under 1 in 100"),
        (0.0, "under 1 in 100"),
    ],
)
def test_a_chance_never_reads_better_than_it_is(share: float, shown: str) -> None:
    assert text("paper.chance", {"share": share}) == shown


@pytest.mark.parametrize(("ratio", "said"), [(0.954, "0.95"), (1.0, "1.00"), (1.306, "1.31")])
def test_a_ratio_has_two_decimals(ratio: float, said: str) -> None:
    sentence = text("plan.reason.ratio", {"value": ratio, "limit": 1.0, "probability": 0.5})
    assert sentence.startswith(f"{said}, at most")


@pytest.mark.parametrize(
    ("angle", "tooth", "place", "there", "near"),
    [
        (0.0, 46, "facial", "facially", "F"),
        (350.0, 16, "facial", "facially", "F"),
        (180.0, 46, "lingual", "lingually", "L"),
        (180, 16, "palatal", "palatally", "P"),
        (110.0, 24, "mesiopalatal", "mesiopalatally", "MP"),
        (70, 31, "mesiofacial", "mesiofacially", "MF"),
        (200, 46, "lingual", "lingually", "L"),
        (205, 46, "between lingual and distolingual", "between lingual and distolingual", "L/DL"),
        (105, 16, "between mesial and mesiopalatal", "between mesial and mesiopalatal", "M/MP"),
        (330.0, 46, "between distofacial and facial", "between distofacial and facial", "DF/F"),
        (180, None, "lingual", "lingually", "L"),
    ],
)
def test_a_place_is_named_as_in_its_jaw(angle: float, tooth: int | None, place: str, there: str, near: str) -> None:
    assert text("cli.plan.at", {"station_deg": angle}, tooth) == place
    assert text("plan.recommended.act.soft_tissue_only", {"amount_mm": 2.0, "station_deg": angle}, tooth).endswith(there)
    assert text("cli.restoration.at", {"at_deg": angle}, tooth) == near


def test_a_direction_of_a_scan_of_no_known_tooth_keeps_its_degrees() -> None:
    assert text("cli.scan.at", {"at_deg": 210.0}) == "210°"
    assert text("cli.scan.at", {"at_deg": 180.0}, 16) == "palatally"


def test_every_site_is_where_the_case_has_it() -> None:
    for site, angle in SITE_ANGLE_DEG.items():
        assert text("cli.restoration.at", {"at_deg": angle}, 46) == site


@pytest.fixture
def buccal() -> Iterator[None]:
    name_by(Names(facial="B", palatal="L"))
    yield
    name_by(Names())


@pytest.mark.usefixtures("buccal")
def test_a_practice_has_its_own_letters() -> None:
    assert [text("paper.site", {"site": site}, 16) for site in ("F", "DF", "ML", "45")] == ["B", "DB", "ML", "45°"]
    assert text("cli.plan.at", {"station_deg": 60}, 16) == "mesiobuccal"
    assert site_name("L", 16) == "palatal"


def test_a_site_in_degrees_keeps_them() -> None:
    assert text("paper.site", {"site": "45"}, 16) == "45°"
    assert text("paper.plan.ledger_after", {"site": "DL"}, 16) == "Balance at DP after this procedure, mm"


def test_a_side_is_named_as_in_its_jaw() -> None:
    assert [side_name(side, 16) for side in ("facial", "mesial", "oral", "distal")] == ["facial", "mesial", "palatal", "distal"]
    assert side_name("oral", 36) == "lingual"


def test_what_is_put_in_is_never_read_as_a_template() -> None:
    assert text("paper.reference", {"reference": "{length_mm:mm} {0} {{"}) == "case {length_mm:mm} {0} {{"


def test_a_number_of_four_bytes_is_rounded_as_any_other() -> None:
    said = text("scan.fault.what.extent", {"extent_mm": np.float32(8.4), "unit": "mm"})
    assert said == "measures 8.4 mm at most, read as mm"


def test_one_stroke_is_not_said_to_be_many() -> None:
    assert text("heat.round.not_begun", {"left": 1}) == "The round has not begun: 1 stroke."
    assert text("heat.round.not_begun", {"left": 6}) == "The round has not begun: 6 strokes."
    assert text("heat.round.done", {"left": 0}) == "The round is done: 0 strokes left."


def test_both_jaws_and_sides_have_their_names() -> None:
    assert text("tooth.name.17") == "upper right second molar"
    assert text("tooth.name.43") == "lower right canine"
    assert text("site.long.ML") == "mesiolingual"
    assert sum(key.startswith("tooth.name.") for key in keys()) == 32


def test_sentences_are_well_formed() -> None:
    for key in keys():
        sentence = template(key)
        fields = [(name, spec) for _, name, spec, _ in string.Formatter().parse(sentence) if name is not None]
        assert sentence and sentence == sentence.strip(), key
        assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) for name, _ in fields), key
        assert {spec.partition("|")[0] for _, spec in fields} <= SHAPES, key
        assert all(spec.count("|") == 2 for _, spec in fields if spec.startswith("n|")), key
        assert placeholders(sentence) == {name for name, _ in fields}, key


def test_no_sentence_names_a_setting_of_a_device() -> None:
    assert [key for key in keys() if SETTINGS_OF_A_DEVICE.search(template(key))] == []


def test_the_search_for_settings_finds_planted_ones() -> None:
    for planted in ("Set 30 W.", "at 40 watts", "blended waveform", "use cut mode"):
        assert SETTINGS_OF_A_DEVICE.search(planted)


def test_no_sentence_lies_unused() -> None:
    """Each key is written out somewhere in the program, or fits a key that is put together there from a written beginning."""
    written, built = _names_in_the_program()

    def used(name: str) -> bool:
        return name in written or any(pattern.fullmatch(name) for pattern in built)

    def fits(tail: str) -> bool:
        """Return whether what follows a common beginning is written out, or is a requirement with a word after it."""
        requirement, _, word = tail.partition(".")
        return used(tail) or (requirement in get_args(RequirementId) and word in written)

    starts = ("plan.least_change.", "plan.remains.")  # the ids that follow have parts of their own
    unused = [key for key in keys() if not used(key)]
    assert [key for key in unused if not any(key.startswith(start) and fits(key.removeprefix(start)) for start in starts)] == []


FILE_LANGUAGE = re.compile(
    r"\b(keys?|table|TOML|JSON|UTF-8|HTTP|API|header|token|true or false|YYYY|revision)\b|[\[\]{}=_]|sites\.|--"
)
FAULTS = [key for key in keys() if re.match(r"fault\.(what|allowed)\.", key) and key not in FOR_FILES_ALONE]


@pytest.mark.parametrize("key", [*FAULTS, *(key for key in keys() if key.startswith("http.what."))])
def test_what_the_screen_says_of_a_fault_is_not_the_language_of_files(key: str) -> None:
    """The page has words of its own for a fault, or the terminal's do for both."""
    own = re.sub(r"^fault\.", "fault.page.", key).replace("http.what.", "http.page.")
    assert FILE_LANGUAGE.findall(_plain(own if own in keys() else key)) == []
    assert not key.startswith("http.") or own in keys()


@pytest.mark.parametrize(
    "fault", [key.removeprefix("scan.fault.what.") for key in keys() if key.startswith("scan.fault.what.")]
)
def test_what_the_screen_says_of_a_scan_is_not_the_language_of_files_and_commands(fault: str) -> None:
    own = f"scan.fault.page.{fault}"
    said = [own] if own in keys() else [f"scan.fault.{half}.{fault}" for half in ("what", "allowed")]
    assert [FILE_LANGUAGE.findall(_plain(key)) for key in said] == [[] for _ in said]


def _plain(key: str) -> str:
    """Return a sentence without its placeholders, with the words that a count puts in."""
    return re.sub(r"\{\w+(?::n\|[^|]*\|([^}]*)|[^}]*)?\}", r"\1", template(key))


OF_THE_TERMINAL = re.compile(
    r"data directory|config\.toml|\.db\b|keys\.json|practice\.head|--[a-z]"
    r"|\b(TOML|JSON|API|HTTP|token|revision|hash|trail|ciphertext)\b|\bcollum (record|serve|open|browsers)\b"
)


def on_a_page() -> list[str]:
    """Return the keys of what a page may say: its own, those of refusals, those of the record that it does not replace."""
    own = [key for key in keys() if re.match(r"screen\.|http\.page\.|fault\.page\.|record\.page\.|http\.title\.locked", key)]
    of_record = [
        key for key in keys() if re.match(r"record\.(what|remedy|key_file|key_file_remedy|backup\.what|backup\.remedy)\.", key)
    ]
    return own + [key for key in of_record if key.replace("record.", "record.page.", 1) not in keys()]


def test_no_page_speaks_of_files_folders_of_the_program_or_commands() -> None:
    assert [key for key in on_a_page() if OF_THE_TERMINAL.search(re.sub(r"\{\w+[^}]*\}", "", template(key)))] == []


def _names_in_the_program() -> tuple[set[str], list[re.Pattern[str]]]:
    written: set[str] = set()
    shapes: set[str] = set()
    for path in sorted((ROOT / "src/collum").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                written |= {node.value, f"fault.{node.value}"}  # case/ leaves the table out
            elif isinstance(node, ast.JoinedStr):
                shapes |= {shape for shape in (_shape(node), f"fault\\.{_shape(node)}") if re.match(r"[a-z]+\\\.", shape)}
            elif isinstance(node, ast.BinOp) and isinstance(node.left, ast.Constant) and str(node.left.value).endswith("."):
                shapes.add(re.escape(str(node.left.value)) + ".+")
    for path in sorted((ROOT / "frontend/src").rglob("*")):
        if path.suffix in (".ts", ".svelte"):
            source = path.read_text(encoding="utf-8")
            written |= set(re.findall(r"[a-z]+(?:\.[A-Za-z0-9_]+)+", source))
            shapes |= {re.escape(start) + ".+" for start in re.findall(r"`([a-z]+\.(?:[a-z_]+\.)*)\$\{", source)}
            shapes |= {re.escape(start) + ".+" for start in re.findall(r'"([a-z]+\.(?:[a-z_]+\.)*[a-z_]*)" \+', source)}
    return written, [re.compile(shape) for shape in shapes]


def _shape(node: ast.JoinedStr) -> str:
    return "".join(re.escape(str(part.value)) if isinstance(part, ast.Constant) else r"[A-Za-z0-9_]+" for part in node.values)


def test_a_requirement_has_one_name_on_screen_on_paper_and_in_the_terminal() -> None:
    on_paper, on_screen = (
        {key.removeprefix(part): text(key) for key in keys() if key.startswith(part)}
        for part in ("paper.requirement.", "screen.requirement.")
    )
    assert on_paper == on_screen


# Which way the advice goes, by what the plan carries out when it tries the advice.
_WAYS = {
    "no_attachment_cut": "shallower",
    "clear_of_bone": "shallower",
    "clear_of_bone_flap": "more coronal",
    "keratinised_tissue_left": "less cut",
    "thin_wall": "less of the wall",
    "furcation.line": "more coronal",
    "furcation.line_in_part": "more coronal",
    "furcation.bone": "less bone",
    "furcation.movement": "less movement",
    "crown_to_root.bone": "lower",
    "crown_to_root.movement": "lower",
    "attached_area.bone": "higher",
    "attached_area.movement": "higher",
}


@pytest.mark.parametrize("change", _WAYS)
def test_advice_names_the_way_it_goes(change: str) -> None:
    assert _WAYS[change] in template(f"plan.least_change.{change}")
