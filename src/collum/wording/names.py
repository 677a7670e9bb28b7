"""Names of places round a tooth, as the practice writes them.

Papers, terminal and sentences on the screen name places by these functions; `frontend/src/words.ts` does the same for drawings.
An angle counts from facial over mesial, as in a case. The side of the tongue or palate is lingual in the lower jaw and palatal
in the upper. A place in the middle third between two sites has the names of both.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

FacialLetter = Literal["F", "B"]
PalatalLetter = Literal["P", "L"]
Form = Literal["long", "there"]

SITES_DEG: Mapping[str, int] = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
_MIDDLE_THIRD = (1 / 3, 2 / 3)
_FLOAT_DUST = 1e-9
_UPPER_QUADRANTS = (1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """How a practice writes sites: `facial` F or B (buccal), `palatal` P or L."""

    facial: FacialLetter = "F"
    palatal: PalatalLetter = "P"


_in_force = [Names()]


def name_by(names: Names) -> None:
    """Set how this process writes sites; it is set once, when a command or the workbench starts."""
    _in_force[0] = names


def names_in_force() -> Names:
    """Return how this process writes sites."""
    return _in_force[0]


def sites_at(angle_deg: float) -> tuple[str, ...]:
    """Return the site nearest to an angle as a case names it, or the two whose middle third it is in."""
    sites = list(SITES_DEG.items())
    for (before, start), (after, end) in zip(sites, [*sites[1:], ("F", 360)], strict=True):
        share = (angle_deg % 360 - start) / (end - start)
        if 0 <= share <= 1:
            low, high = _MIDDLE_THIRD
            if low + _FLOAT_DUST < share < high - _FLOAT_DUST:
                return (before, after)
            return (before if share < (low + high) / 2 else after,)
    raise AssertionError(angle_deg)  # every angle is between two sites


def letters(angle_deg: float, tooth: int | None) -> str:
    """Return a place in letters, for tables and drawings: "P", "P/DP". `tooth`: its ISO number; None where it is not known."""
    return "/".join(site_letters(site, tooth) for site in sites_at(angle_deg))


def site_letters(site: str, tooth: int | None) -> str:
    """Return the letters of a site; one that was entered in degrees keeps them."""
    if site not in SITES_DEG:
        return f"{site}°"
    return site.replace("L", _lingual_letter(tooth)).replace("F", names_in_force().facial)


def place_words(angle_deg: float, tooth: int | None, word: Callable[[str], str], form: Form = "long") -> str:
    """Return a place in words: "palatal", "between palatal and distopalatal"; `form` "there": "palatally".

    `word` gives the words of the catalogue under "site.", by what is asked for.
    """
    sites = [called(site, tooth) for site in sites_at(angle_deg)]
    if len(sites) == 1:
        return word(f"{form}.{sites[0]}")
    first, last = (word(f"long.{site}") for site in sites)
    return f"{word('between')} {first} {word('and')} {last}"


def is_upper(tooth: int | None) -> bool:
    """Return whether a tooth is known to be in the upper jaw."""
    return tooth is not None and tooth // 10 in _UPPER_QUADRANTS


def _lingual_letter(tooth: int | None) -> str:
    return names_in_force().palatal if is_upper(tooth) else "L"


def called(site: str, tooth: int | None) -> str:
    """Return a site by what it is called in the catalogue: P for palatal, B for buccal."""
    in_jaw = site.replace("L", "P") if is_upper(tooth) else site
    return in_jaw.replace("F", names_in_force().facial)
