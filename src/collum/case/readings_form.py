"""The frozen text form of the readings of a case, from which a seed follows.

The form is a promise between versions (docs/decisions/0071): the same readings give the same bytes whatever becomes of the
records, their field names and their order. It is spelled here line by line and never derived from the records.
"""

from collections.abc import Iterator
from decimal import Decimal

from collum.case.model import Case, Tooth

_FORM = "collum-readings 1"
_NOTHING = "-"


def readings_form(case: Case) -> bytes:
    """Return the readings of the case in form 1: UTF-8 lines, each ended by a line feed.

    What is no reading is left out: tooth number, role, reference, phenotype, wishes, holds, dates, examiners. Numbers are
    plain decimals without trailing zeros, sites and kinds are in alphabetical order, repeats in the order typed. A line
    that would have nothing to say is not written, except that each tooth has its states.
    """
    lines = [_FORM]
    for tooth in case.teeth:
        lines.extend(_tooth(tooth))
    return "".join(f"{line}\n" for line in lines).encode()


def _tooth(tooth: Tooth) -> Iterator[str]:
    yield "tooth"
    yield f"state {tooth.state}"
    yield f"contact mesial {tooth.contact_mesial}"
    yield f"contact distal {tooth.contact_distal}"
    yield f"edge {'level' if tooth.edge_is_level else 'as read'}"
    for site in sorted(tooth.sites):
        yield f"site {site}"
    for site in sorted(tooth.bleeding):
        yield f"bleeding {site}"
    for site, state in sorted(tooth.site_state.items()):
        yield f"state {site} {state}"
    film = tooth.facts.proximal_crest_from_film_mm
    for side, mm in sorted(() if film is None else film.by_side().items()):
        yield f"film {side} {_decimal(mm)}"
    for other in tooth.own_height_from:
        yield f"elsewhere {other.site} {_decimal(other.margin_to_crest_mm)} error {_decimal(other.error_mm)}"
    for kind, by_site in sorted(tooth.readings.items()):
        for site, repeats in sorted(by_site.items()):
            for reading in repeats:
                number, step, error = map(_decimal, (reading.value_mm, reading.step_mm, reading.error_mm))
                yield f"reading {kind} {site} {number} step {step} error {error} {reading.outcome}"


def _decimal(number: float | None) -> str:
    """Return the shortest decimal that is read as the same double: 3, 0.5, -1.25; a hyphen for none."""
    if number is None:
        return _NOTHING
    exact = Decimal(repr(float(number))).normalize()
    return format(abs(exact) if exact == 0 else exact, "f")
