"""Documents drawn from the layout itself: every key may stand, with any value its shape takes; invented by rule."""

from datetime import UTC
from typing import Any

from hypothesis import strategies as st

from collum.case.layout import CASE
from collum.case.shapes import (
    SITE_PATTERN,
    AnyOf,
    BySite,
    Choice,
    Day,
    Flag,
    Instant,
    IsoTooth,
    ListOf,
    Number,
    Shape,
    Table,
    Text,
    Whole,
)

SITES = ("F", "MF", "M", "ML", "L", "DL", "D", "DF", "45", "200")
LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"))
ISO = [10 * quadrant + position for quadrant in range(1, 5) for position in range(1, 9)]


def documents() -> st.SearchStrategy[dict[str, Any]]:
    """Whole documents whose shapes are right; what only the whole can tell may still be wrong."""
    return drawn(CASE).map(lambda document: {**document, "format": "collum-case/2"})


def drawn(shape: Shape) -> st.SearchStrategy[Any]:
    """Values of one shape."""
    match shape:
        case Number(low=low, high=high):
            halves = st.integers(round(2 * low), round(2 * high)).map(lambda n: n / 2)
            return halves.filter(lambda found: low <= found <= high) if high - low > 1 else st.floats(low, high)
        case Whole(low=low, high=high):
            return st.integers(low, high)
        case Choice(words=words):
            return st.sampled_from(words)
        case Text(longest=longest, pattern=pattern, readable=readable):
            return _texts(longest, pattern).map(lambda text: f"A{text[1:]}" if readable else text)
        case Instant():
            return st.datetimes(timezones=st.just(UTC)).map(
                lambda moment: moment.isoformat(timespec="seconds").replace("+00:00", "Z")
            )
        case Flag() | IsoTooth() | Day():
            return {Flag: st.booleans(), IsoTooth: st.sampled_from(ISO), Day: st.dates().map(str)}[type(shape)]
    return _gathered(shape)


def _gathered(shape: Shape) -> st.SearchStrategy[Any]:
    match shape:
        case ListOf(item=item, most=most, least=least):
            return st.lists(drawn(item), min_size=least, max_size=min(most, least + 2))
        case BySite(item=item):
            return st.dictionaries(st.sampled_from(SITES), drawn(item), max_size=3)
        case AnyOf(by_type=by_type, fallback=fallback):
            return st.one_of(*(drawn(s) for s in {id(s): s for s in (fallback, *by_type.values())}.values()))
        case Table(fields=fields, required=required):
            optional = {key: drawn(below) for key, below in fields.items() if key not in required}
            return st.fixed_dictionaries({key: drawn(fields[key]) for key in required}, optional=optional)
    raise TypeError(shape)


def _texts(longest: int, pattern: str | None) -> st.SearchStrategy[str]:
    if pattern is None:
        return st.text(LETTERS, min_size=1, max_size=min(longest, 8))
    if pattern == SITE_PATTERN:
        return st.sampled_from(SITES)
    if pattern.startswith("[0-9a-f]"):
        return st.from_regex(rf"\A{pattern}\Z")
    return st.from_regex(rf"\A[A-Za-z0-9][A-Za-z0-9._-]{{0,{min(longest, 8) - 1}}}\Z")


def sound_documents() -> st.SearchStrategy[dict[str, Any]]:
    """Whole documents without a fault: drawn ones, with what contradicts the rest of the same file put right."""
    return documents().map(_mended)


def _mended(document: dict[str, Any]) -> dict[str, Any]:
    for i, tooth in enumerate(document["teeth"]):
        tooth.pop("universal", None)
        tooth["number"] = ISO[i]
        tooth["sites"] = _mended_sites(tooth.get("sites", {}))
        for wish in tooth.get("own_height_from", ()):
            wish["tooth"] = ISO[-1]
        wishes = {wish["id"]: {key: wish[key] for key in ("id", "reason")} for wish in tooth.get("requirements", ())}
        if wishes:
            tooth["requirements"] = list(wishes.values())
    for bridge in document.get("bridges", ()):
        bridge["teeth"], bridge["pontics"] = ISO[: len(bridge["teeth"])], ISO[1 : len(bridge["pontics"])]
        if "beds" in bridge:
            below = zip(bridge["beds"], bridge["pontics"], strict=False)
            bridge["beds"] = [{**bed, "tooth": pontic} for bed, pontic in below]
    return document


def _mended_sites(sites: dict[str, Any]) -> dict[str, Any]:
    """All sites in the order, one step, soundings deeper than any probing, nothing called not applicable."""
    kinds = {
        kind: by_site for kind, by_site in sites.items() if isinstance(by_site, dict) and kind not in ("step", "bone_sounding")
    }
    mended = {kind: {site: _mended_entry(entry) for site, entry in by_site.items()} for kind, by_site in kinds.items()}
    return {"order": list(SITES), "step": 0.5, "bone_sounding": {"F": 15.0}, **mended}


def _mended_entry(entry: Any) -> Any:
    if isinstance(entry, list):
        return [_mended_entry(part) for part in entry]
    if isinstance(entry, dict):
        kept = {key: found for key, found in entry.items() if key not in ("beyond", "value")}
        step = kept.get("step", 0.5)
        return {**kept, "beyond" if "beyond" in entry else "value": 2 * step}
    return "not measurable" if entry == "not applicable" else entry
