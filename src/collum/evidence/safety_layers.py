"""The layers of the screening: what is asked together and by whom, and the lines of the room that are read aloud.

A line of the room names several questions at once; each of them keeps its own answer and closes by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from collum.evidence.safety_rules import RULES, Procedure, Role, SafetyRule

Layer = Literal["agreement", "history", "tooth", "room", "time_out"]
Instrument = Literal["electrode", "scalpel"]

LAYERS: tuple[Layer, ...] = get_args(Layer)
INSTRUMENTS: tuple[Instrument, ...] = get_args(Instrument)
ROLE_OF: Mapping[Layer, Role] = {
    "agreement": "dentist",
    "history": "nurse",
    "tooth": "dentist",
    "room": "assistant",
    "time_out": "dentist",
}
INSTRUMENT_OF: Mapping[Procedure, Instrument] = {
    "current": "electrode",
    "scalpel": "scalpel",
    "bone": "scalpel",
    "movement": "scalpel",
}
_ELSEWHERE: Mapping[str, Layer] = {"consent": "agreement", "right_patient": "agreement", "margin_measured": "tooth"}
_OF_GROUP: Mapping[str, Layer] = {
    "patient": "history",
    "drugs": "history",
    "tooth": "tooth",
    "place": "tooth",
    "room": "room",
    "time_out": "time_out",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomLine:
    """One line that is read aloud, and the questions it asks."""

    id: str
    rules: tuple[str, ...]


ROOM_LINES: tuple[RoomLine, ...] = (
    RoomLine(id="plate", rules=("plate_contact", "plate_place", "plate_skin")),
    RoomLine(id="watch", rules=("plate_watched",)),
    RoomLine(id="metal", rules=("no_chair_metal", "jewellery_out")),
    RoomLine(id="tools", rules=("plastic_tools", "other_instrument")),
    RoomLine(id="smoke", rules=("suction_close", "masks")),
    RoomLine(id="fire", rules=("oxygen_off", "nothing_flammable")),
    RoomLine(id="handpiece", rules=("cable_clear", "tip_clean")),
    RoomLine(id="tissue", rules=("tissue_moist",)),
    RoomLine(id="blade", rules=("blade_ready",)),
    RoomLine(id="field", rules=("field_ready",)),
    RoomLine(id="bleeding", rules=("bleeding_ready",)),
    RoomLine(id="emergency", rules=("emergency_ready",)),
)


def layer_of(rule: SafetyRule) -> Layer:
    """Return the layer a question is asked in."""
    return _ELSEWHERE.get(rule.id, _OF_GROUP[rule.group])


# The history of the patient: asked in full once, read out and corrected at the visits after that.
HISTORY: tuple[str, ...] = tuple(rule.id for rule in RULES if layer_of(rule) == "history")
