"""Arithmetic of the return plate, by the figures of its standard test. Information for its place; it decides nothing."""

from collum.evidence import value
from collum.plan.sentence import Sentence, say

_MA_IN_A = 1000


def heating_factor_a2s(current_a: float, time_s: float) -> float:
    """Return current squared times time. [A²s]"""
    return current_a**2 * time_s


def density_ma_cm2(current_a: float, contact_cm2: float) -> float:
    """Return the mean current through each square centimetre of contact. [mA/cm²]"""
    return _MA_IN_A * current_a / contact_cm2


def least_contact_cm2() -> float:
    """Return the contact below which skin begins to hurt at the test current. [cm²]"""
    return _MA_IN_A * value("safety.plate.test_current_a") / value("safety.plate.hurting_density_ma_cm2")


def plate_sentences(contact_cm2: float | None) -> tuple[Sentence, ...]:
    """Return what is to be known of the plate; with its own contact area where it was entered. [cm²]"""
    current, time = value("safety.plate.test_current_a"), value("safety.plate.test_time_s")
    said = [
        say(
            "safety.plate.heating",
            test_current_a=current,
            test_time_s=time,
            factor_a2s=heating_factor_a2s(current, time),
            heating_factor_a2s=value("safety.plate.heating_factor_a2s"),
            skin_rise_k=value("safety.plate.skin_rise_k"),
        ),
        say("safety.plate.area", least_cm2=least_contact_cm2()),
        say("safety.plate.alarm"),
    ]
    if contact_cm2 is not None:
        density = density_ma_cm2(current, contact_cm2)
        hurting = value("safety.plate.hurting_density_ma_cm2")
        said.append(
            say(
                "safety.plate.yours",
                contact_cm2=contact_cm2,
                density_ma_cm2=round(density, 1),
                hurting_density_ma_cm2=hurting,
            )
        )
    return tuple(said)
