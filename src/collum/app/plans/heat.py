"""Use case: heat and pacing of a case from its plan, and a section through one of its teeth."""

from collections.abc import Sequence

import collum
from collum.app.plans.planning import PlannedCase
from collum.app.speaking import words
from collum.evidence import all_constants
from collum.plan.heat import BandName, HeatWishes, heat_of_tooth
from collum.plan.sentence import say
from collum.wire.heat.document import HeatDocument, HeatSectionDocument
from collum.wire.heat.section_document import WarmDocument, section_document, stations_deg
from collum.wire.heat.to_document import assumptions, tooth_heat_document
from collum.wire.of_plan import of_plan
from collum.wire.sources import constant_document
from collum.wire.speaking import speaker

_CONSTANTS = ("heat.", "pacing.")


def heat_of_plan(made: PlannedCase, wishes: HeatWishes) -> HeatDocument:
    """Return heat and pacing of every tooth of a plan."""
    speak = speaker(words)
    found = [(planned.tooth, heat_of_tooth(planned, wishes)) for planned in made.teeth]
    document = WarmDocument(
        format="collum-heat/1",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "time": "s"},
        teeth=[tooth_heat_document(tooth, heat, words) for tooth, heat in found],
        assumptions=[speak(sentence) for sentence in assumptions(tooth for tooth, _ in found)],
        no_card=speak(say("heat.no_card")),
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS)],
        **of_plan(made.document),
    )
    return document.beside({tooth.number: (tooth, heat.warmth) for tooth, heat in found if heat.warmth is not None})


class NoSection(ValueError):
    """No section is kept at this station; `stations_deg`: where one is."""

    def __init__(self, stations: Sequence[int]) -> None:
        self.stations_deg = tuple(stations)
        super().__init__(", ".join(map(str, stations)))


def heat_section(heat: HeatDocument, number: int, station_deg: int, band: BandName) -> HeatSectionDocument | None:
    """Return a section of a tooth from an answer of `heat_of_plan`, None where no round is offered for it.

    Raises NoSection for a station without one.
    """
    found = heat.kept(number) if isinstance(heat, WarmDocument) else None
    if found is None:
        return None
    tooth, warmth = found
    if station_deg not in stations_deg(warmth):
        raise NoSection(stations_deg(warmth))
    return section_document(tooth, warmth, station_deg, band, words)
