"""Numbers of the round at the chair: how long a place rests, how long a stroke is, what is watched for heat.

One study in swine gives the pause after a stroke of the wire; nothing that was found gives it for a loop or for many repeats.
What is ours is marked as a choice and can be changed within its range.
"""

from functools import partial

from collum.evidence.registry import Constant

_pacing = partial(Constant, checked="2026-11-25", used_for="pacing of the round")
_choice = partial(_pacing, source="collum_decision", status="choice", kind="judgement", population="any")

CONSTANTS: tuple[Constant, ...] = (
    _pacing(
        key="pacing.pause_s",
        value=8,
        low=8,
        high=10,
        unit="s",
        meaning="rest of a place after a stroke of the wire, before the wire comes back to it",
        source="kalkwarf1983_speed",
        status="read",
        kind="measured",
        population="palatal mucosa of miniature swine, wire electrode",
        editable_down_to=8,
    ),
    _pacing(
        key="pacing.loop_pause_s",
        value=15,
        low=10,
        high=30,
        unit="s",
        meaning="rest of a place after a stroke of the loop; commonly taught, no study of it was found",
        source="common_practice",
        status="memory",
        kind="convention",
        population="any",
    ),
    _choice(
        key="pacing.repeat_factor",
        value=1.25,
        low=1,
        high=2,
        unit="1",
        meaning="a place stroked twice or more rests longer: from the lower to the upper end of what was measured",
    ),
    _choice(
        key="pacing.neighbour_s",
        value=2,
        low=1,
        high=10,
        unit="s",
        meaning="least time between the end of a stroke and a stroke at the place beside it",
    ),
    _choice(key="pacing.move_s", value=1, low=0.5, high=2, unit="s", meaning="time to lift, move and set on at another place"),
    _choice(
        key="pacing.position_s",
        value=8,
        low=0,
        high=60,
        unit="s",
        meaning="time to move hand, mirror and suction to another side of the tooth",
    ),
    _choice(key="pacing.wipe_s", value=3, low=0, high=60, unit="s", meaning="time to wipe the wire between two strokes"),
    _choice(
        key="pacing.change_s",
        value=20,
        low=0,
        high=300,
        unit="s",
        meaning="time to put in another form of the wire between two strokes",
    ),
    _choice(
        key="pacing.late_room_share",
        value=0.02,
        low=0,
        high=0.1,
        unit="1",
        meaning="room below the limits of heat for strokes that hands start later than they might: the dose can rise by it",
    ),
    _choice(
        key="pacing.longest_wait_s",
        value=30,
        low=15,
        high=60,
        unit="s",
        meaning="longest wait with idle hands that a round may ask for; what needs more is answered by fewer passes",
    ),
    _choice(
        key="pacing.tolerance_s",
        value=0.2,
        low=0,
        high=0.5,
        unit="s",
        meaning="what a stroke may come too soon or last too long before the log of the round says so",
        used_for="log of the round",
    ),
    _choice(key="pacing.sector_mm", value=5, low=3, high=7, unit="mm", meaning="length of one stroke along the margin"),
    _choice(
        key="pacing.depth_per_pass_mm",
        value=2,
        low=1,
        high=3,
        unit="mm",
        meaning="length of wire in the tissue that one pass takes; each pass is reckoned as if it swept the whole face again",
    ),
    _choice(
        key="pacing.pulp_share",
        value=0.35,
        low=0.2,
        high=0.5,
        unit="1",
        meaning="radius of the pulp at the neck beside the least radius of the root there",
    ),
    _choice(
        key="pacing.bone_plate_mm",
        value=1,
        low=0.5,
        high=2,
        unit="mm",
        meaning="thickness of the bone outside of the root at the crest",
    ),
    _choice(key="pacing.loop_width_mm", value=2, low=1, high=4, unit="mm", meaning="width of the loop that planes"),
    _choice(
        key="pacing.loop_to_bone_mm",
        value=1.5,
        low=1.5,
        high=3,
        unit="mm",
        meaning="a loop keeps this far from the crest",
        editable_down_to=1.5,
    ),
)
