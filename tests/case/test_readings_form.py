"""The form of the readings that a seed follows from is frozen: this example is spelled by hand and never changes."""

import hashlib
from dataclasses import replace
from types import MappingProxyType

import pytest

from collum.app.plans.planning import readings_seed
from collum.case import readings_form
from collum.case.model import Case, MirrorReading, Patient, Reading, Tooth
from collum.case.parts import tooth_facts

CASE = Case(
    patient=Patient(reference="A-1", phenotype="thin"),
    teeth=(
        Tooth(
            number=14,
            state="overgrown",
            sites=("M", "F", "45"),
            site_state={"M": "healthy"},
            bleeding=frozenset({"M", "F"}),
            contact_distal="gap",
            edge_is_level=True,
            own_height_from=(
                MirrorReading(tooth=24, site="F", margin_to_crest_mm=3.0, error_mm=0.25),
                MirrorReading(tooth=13, site="D", margin_to_crest_mm=3.5),
            ),
            facts=tooth_facts({"proximal_crest_from_film_mm": {"mesial": 2.30, "distal": 4}}),
            readings={
                "sound_height": {"45": (Reading(value_mm=-0.0, step_mm=0.5),)},
                "probing_depth": {
                    "M": (Reading(value_mm=3.5, step_mm=0.5), Reading(value_mm=3, step_mm=1, error_mm=0.4)),
                    "F": (Reading(value_mm=12.0, step_mm=0.5, outcome="beyond"),),
                },
                "keratinised_width": {"F": (Reading(value_mm=None, step_mm=0.5, outcome="not measurable"),)},
                "cej_height": {"F": (Reading(value_mm=-1.25, step_mm=0.00001),)},
            },
        ),
        Tooth(number=15, role="neighbour"),
    ),
)
FORM = b"""collum-readings 1
tooth
state overgrown
contact mesial tooth
contact distal gap
edge level
site 45
site F
site M
bleeding F
bleeding M
state M healthy
film distal 4
film mesial 2.3
elsewhere F 3 error 0.25
elsewhere D 3.5 error -
reading cej_height F -1.25 step 0.00001 error - measured
reading keratinised_width F - step 0.5 error - not measurable
reading probing_depth F 12 step 0.5 error - beyond
reading probing_depth M 3.5 step 0.5 error - measured
reading probing_depth M 3 step 1 error 0.4 measured
reading sound_height 45 0 step 0.5 error - measured
tooth
state unknown
contact mesial tooth
contact distal tooth
edge as read
"""
SEED = 7978166757309729  # the first 16 hexadecimal digits that sha256sum gives for FORM, shifted right by 11 bits


def test_the_form_is_what_was_published() -> None:
    assert readings_form(CASE) == FORM


def test_the_seed_is_the_first_53_bits_of_its_hash() -> None:
    assert readings_seed(CASE) == SEED
    assert int(hashlib.sha256(FORM).hexdigest()[:16], 16) >> 11 == SEED


@pytest.mark.parametrize("number", [0.1, 1 / 3, 2.675, 1e-7, 123456.0, 7])
def test_a_number_is_written_so_that_it_is_read_as_the_same_double(number: float) -> None:
    tooth = Tooth(number=14, readings={"probing_depth": {"F": (Reading(value_mm=number, step_mm=1),)}})
    written = readings_form(replace(CASE, teeth=(tooth,))).split()[-6]
    assert float(written) == number
    assert b"e" not in written


def test_order_and_kind_of_the_tables_play_no_part() -> None:
    tooth = CASE.teeth[0]
    readings = {
        kind: MappingProxyType(dict(reversed(list(by_site.items()))))
        for kind, by_site in reversed(list(tooth.readings.items()))
    }
    turned = replace(tooth, readings=MappingProxyType(readings), sites=("45", "F", "M"))
    assert readings_form(replace(CASE, teeth=(turned, CASE.teeth[1]))) == FORM
