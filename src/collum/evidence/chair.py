"""Numbers of the sheets for an operation: when to stop although the plan goes on, sutures and dressing, force and fibres."""

from functools import partial

from collum.evidence.registry import Constant

_chair = partial(Constant, checked="2026-11-30", used_for="sheets for an operation")
_taught = partial(_chair, source="clinical_teaching", status="memory", kind="convention", population="teaching")

CONSTANTS: tuple[Constant, ...] = (
    _chair(
        key="chair.disagrees_mm",
        value=1.0,
        low=0.5,
        high=2.0,
        unit="mm",
        meaning="how far what is found at the chair may differ from the plan before it is planned again",
        source="collum_decision",
        status="choice",
        kind="judgement",
        population="any",
    ),
    _taught(
        key="chair.bleeding_min",
        value=15.0,
        low=10.0,
        high=20.0,
        unit="min",
        meaning="how long bleeding is pressed before the wound is packed and nothing more is cut",
    ),
    _taught(
        key="chair.sutures_from_days",
        value=7.0,
        low=5.0,
        high=10.0,
        unit="d",
        meaning="day after a flap from which its sutures come out",
    ),
    _taught(
        key="chair.sutures_to_days",
        value=14.0,
        low=10.0,
        high=16.0,
        unit="d",
        meaning="day after a flap by which its sutures are out",
    ),
    _taught(
        key="chair.dressing_days",
        value=7.0,
        low=5.0,
        high=10.0,
        unit="d",
        meaning="how long a dressing on the wound stays",
    ),
    _taught(
        key="chair.force_least_n",
        value=0.2,
        low=0.15,
        high=0.3,
        unit="N",
        meaning="least orthodontic force for extrusion of one tooth",
    ),
    _taught(
        key="chair.force_most_n",
        value=0.5,
        low=0.3,
        high=0.7,
        unit="N",
        meaning="greatest orthodontic force for extrusion of one tooth",
    ),
    _taught(
        key="chair.fibres_from_days",
        value=7.0,
        low=5.0,
        high=10.0,
        unit="d",
        meaning="shortest time between two cuts of the supracrestal fibres while a tooth is extruded",
    ),
    _taught(
        key="chair.fibres_to_days",
        value=10.0,
        low=7.0,
        high=14.0,
        unit="d",
        meaning="longest time between two cuts of the supracrestal fibres while a tooth is extruded",
    ),
)
