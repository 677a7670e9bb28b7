"""What a plan has to keep, on every route, written from the rules: reserves draw by draw. Heights from the margin. [mm]"""

from collections.abc import Callable
from dataclasses import dataclass, field, fields

import numpy as np

from benchmarks.peer.levels import THETA, Floats, M, Tooth
from collum.evidence import value

BEVEL_MM = 1.1  # phenotype unknown at 45 degrees; the palate counts as thick, 1.4
FACIAL, MESIAL, ORAL, DISTAL = 0, 9, 18, 27
HEIGHT_STATIONS = (0, 6, 12, 18, 24, 30)  # the six sites: the height of the preparation is judged there, read or not
DEFINITIVE = ("definitive_finish_line", "definitive_finish_line, full return")
ON_THE_HANDBOOK = ("crown_to_root", "attached_area")  # no root length and no junction is read: at best in doubt
TRUNKS = {  # registry keys of the distance from junction to entrance, by arch, position and station
    ("upper", 4): {MESIAL: ("upper4.trunk_mm",), DISTAL: ("upper4.trunk_mm",)},
    ("upper", 6): {s: (f"upper6.trunk_{side}_mm",) for s, side in ((MESIAL, "mesial"), (FACIAL, "facial"), (DISTAL, "distal"))},
    ("lower", 6): {FACIAL: ("lower6.trunk_facial_mm",), ORAL: ("lower6.trunk_oral_mm",)},
    ("lower", 7): {FACIAL: ("lower7.trunk_mm",), ORAL: ("lower7.trunk_mm",)},
}
TRUNKS["upper", 7] = {s: (*keys, "upper7.trunk_extra_mm") for s, keys in TRUNKS["upper", 6].items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """All that varies, (36, n) each; share of the way back and the standard deviates of what is not read, (n,).

    `crest_was`: height at which the crest met the tooth before anything was done; it stays on the tooth.
    """

    sulcus: Floats
    attachment: Floats
    own_height: Floats
    share: Floats
    noise: Floats
    edge: Floats
    sound: Floats
    junction: Floats
    crest_was: Floats
    share_deviate: Floats
    root: Floats
    trunk: Floats
    cej: Floats
    surgery: Floats

    @property
    def crest(self) -> Floats:
        """Depth of the crest."""
        return self.sulcus + self.attachment

    def each(self, change: Callable[[Floats], Floats]) -> "Draws":
        return Draws(**{f.name: change(getattr(self, f.name)) for f in fields(self)})

    def one(self, j: int) -> "Draws":
        """The draw number j alone."""
        return self.each(lambda x: x[..., j : j + 1])


def _with(draws: Draws, **changed: Floats) -> Draws:
    return Draws(**{f.name: changed.get(f.name, getattr(draws, f.name)) for f in fields(draws)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a route does: bone planned to go (36,), movement planned, the sectors (36,) by which a movement is measured."""

    route: str
    bone: Floats = field(default_factory=lambda: np.zeros(M))
    raised: float = 0.0
    loaded: Floats = field(default_factory=lambda: np.ones(M, dtype=bool))

    @property
    def flap(self) -> bool:
        return self.route == "soft tissue and bone"

    @property
    def lowers_crest(self) -> bool:
        return self.route in ("soft tissue and bone", "extrusion first")


SOFT = Done(route="soft tissue only")


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What was expected when the lines were made, (36,): sound edge over crest before, sound edge after the treatment."""

    room: Floats
    sound: Floats


def planned_on(draws: Draws, done: Done) -> Planned:
    room = (draws.sound + draws.crest).mean(axis=1)
    return Planned(room=room, sound=acted(draws, done, room).sound.mean(axis=1))


def acted(draws: Draws, done: Done, room: Floats) -> Draws:
    """Return the neck after the treatment: bone goes down to the planned distance from the sound edge, a tooth comes up to it.

    Both are measured at the operation, so what is found, not what was planned, decides, with the error of measuring.
    """
    found = draws.sound + draws.crest - room[:, None]
    if done.flap:
        taken = np.where(done.bone[:, None] > 0, np.maximum(done.bone[:, None] - found + 0.25 * draws.surgery, 0), 0)
        return _with(draws, sulcus=draws.sulcus + taken)
    if done.raised:
        raised = np.maximum(done.raised - found[done.loaded].mean(axis=0) + 0.4 * draws.surgery, 0)
        return _with(draws, sound=draws.sound + raised, crest_was=draws.crest_was + raised)
    return draws


def least_reserves(
    tooth: Tooth, draws: Draws, cut: Floats, finish: Floats, done: Done = SOFT, planned: Planned | None = None
) -> dict[str, Floats]:
    """Return the least reserve (n,) of every requirement, all draws at once."""
    return worse(both_reserves(tooth, draws, cut, finish, done, planned or planned_on(draws, done)))


def both_reserves(tooth: Tooth, draws: Draws, cut: Floats, finish: Floats, done: Done, planned: Planned) -> dict[str, Floats]:
    """Return the same, the definitive finish line under either forecast of the margin apart."""
    after = acted(draws, done, planned.room)
    return _least(tooth, after, after.sound - planned.sound[:, None], cut, finish, done)


def worse(least: dict[str, Floats]) -> dict[str, Floats]:
    """Return the reserves with the forecast under which the definitive finish line holds less often."""
    runs = [least[name] for name in DEFINITIVE if name in least]
    others = {name: reserve for name, reserve in least.items() if name not in DEFINITIVE}
    return {**others, DEFINITIVE[0]: min(runs, key=lambda reserve: float(np.mean(reserve >= 0)))}


def _least(tooth: Tooth, after: Draws, moved: Floats, cut: Floats, finish: Floats, done: Done) -> dict[str, Floats]:
    """`moved`: the line is placed from the sound edge, so it lies off its plan with it; so does a sutured margin."""
    line = finish[:, None] + moved
    lowest = lowest_line(after)
    top = after.edge - tooth.reduction_mm
    asked = ferrule_asked(tooth)[:, None]
    read = np.isin(np.arange(M), HEIGHT_STATIONS)
    least = _flap(tooth, after, cut[:, None] + moved) if done.flap else _cut(tooth, after, cut)
    least["clear_of_crest"] = smooth(line - lowest).min(axis=0)
    least["preparation_height"] = smooth(top - line - height_mm(tooth))[read].min(axis=0)
    least["resistance"] = np.min([smooth(top - line)[s] - mm for s, mm in half_wall(tooth).items()], axis=0)
    least["ferrule"] = smooth(np.minimum(after.sound, top) - line - asked).min(axis=0)
    by_height = np.where(read[:, None], top - height_mm(tooth), np.inf)
    highest = np.minimum(np.minimum(after.sound, top) - asked, by_height)
    if done.route == "restore without lengthening":
        healed = [np.zeros_like(lowest)]  # nothing is cut, nothing moves
    elif done.flap:
        healed = [_after_flap(after, cut[:, None] + moved)]
    else:
        healed = [_settled(after, cut[:, None], share) for share in (after.share, None)]
    for name, margin in zip(DEFINITIVE, healed, strict=False):
        least[name] = smooth(highest - np.maximum(lowest, margin + low_mm(tooth))).min(axis=0)
    return least | _furcation(tooth, after, line, healed[-1], done) | (_root(tooth, after, done) if done.lowers_crest else {})


def _cut(tooth: Tooth, after: Draws, cut: Floats) -> dict[str, Floats]:
    is_cut = cut < -0.05
    if not is_cut.any():
        return {}
    outer = (cut - bevel_mm(tooth))[:, None]
    return {
        "no_attachment_cut": smooth(cut[:, None] + after.sulcus)[is_cut].min(axis=0),
        "clear_of_bone": (outer + after.crest - 1.0)[is_cut].min(axis=0),
        "keratinised_tissue_left": smooth(outer - after.junction - keratinised_mm(tooth))[is_cut].min(axis=0),
    }


def _flap(tooth: Tooth, after: Draws, sutured: Floats) -> dict[str, Floats]:
    """No current: tissue over bone under the sutured margin; the flap keeps its keratinised tissue."""
    return {
        "clear_of_bone": (sutured + after.crest - 1.0).min(axis=0),
        "keratinised_tissue_left": smooth(-after.junction - keratinised_mm(tooth)).min(axis=0),
    }


def _furcation(tooth: Tooth, after: Draws, line: Floats, settled: Floats, done: Done) -> dict[str, Floats]:
    """Line 3 mm from the entrance, settled margin coronal of it (4 mm after bone work in lower molars), bone over it."""
    to_margin = 4.0 if done.lowers_crest and arch_of(tooth)[0] == "lower" else 0.0
    rooms = []
    for s, entrance in entrances(tooth, after).items():
        room = np.minimum(line[s] - 3.0, settled[s] - to_margin)
        rooms.append((np.minimum(room, -after.crest[s]) if done.lowers_crest else room) - entrance)
    return {"furcation": np.min(rooms, axis=0)} if rooms else {}


def entrances(tooth: Tooth, after: Draws) -> dict[int, Floats]:
    """Height of each entrance of the furcation: a trunk below the junction, under bone before the treatment."""
    found = {}
    for s, keys in TRUNKS.get(arch_of(tooth), {}).items():
        trunk = sum(value(f"tooth.{key}") for key in keys) + 0.8 * after.trunk
        found[s] = np.minimum(_cej(after)[s] - np.maximum(trunk, 0), after.crest_was[s])
    return found


def _root(tooth: Tooth, after: Draws, done: Done) -> dict[str, Floats]:
    """Crown to root on the proximal crest, with today's edge planned again, and the share of attached area left."""
    crown, length = handbook(tooth, "crown_length_mm"), handbook(tooth, "root_length_mm")
    root = length * (1 + 0.12 * after.root)
    bare = _cej(after) + after.crest
    ratios = [np.maximum(after.edge[s] + after.crest[s], 0) / np.maximum(root - bare[s], 1e-5) for s in (MESIAL, DISTAL)]
    most = max(1.0, 1.3 * (crown + 2) / (length - 2))
    power = 1.24 if arch_of(tooth) in TRUNKS else 1.42
    left = (1 - np.clip(bare.mean(axis=0) / root, 0, 1)) ** power / (1 - np.clip(1.15 / root, 0, 1)) ** power
    return {"crown_to_root": most - np.mean(ratios, axis=0), "attached_area": left - 0.5}


def _cej(after: Draws) -> Floats:
    """Height of the junction: not read, so as far above the crest of before as is usual."""
    return np.asarray(after.crest_was + 1.15 + 0.38 * after.cej)


def _settled(after: Draws, cut: Floats, share: Floats | None) -> Floats:
    """Where the margin comes to rest: a share of the way back to the own height, or with None all of it and no recession.

    Recession and noise fade in over 0.5 mm of cut.
    """
    distance = cut + after.crest
    fade = np.minimum(-cut / 0.5, 1)
    if share is None:
        back = np.clip(after.own_height - distance, 0, after.own_height)
    else:
        back = np.clip(share * (after.own_height - distance), -0.30, share * after.own_height)
        back = np.where(back < 0, back * fade, back)
    return np.asarray(np.minimum(cut + back + fade * _chance(after, distance), 0))


def _after_flap(after: Draws, sutured: Floats) -> Floats:
    """After a flap the law of bone surgery holds: 0.60 of the way back, 0.77 between the teeth, with its doubt."""
    distance = sutured + after.crest
    share = np.clip((0.60 + 0.17 * np.sin(np.deg2rad(THETA)) ** 2)[:, None] + 0.12 * after.share_deviate, 0, 1)
    back = np.clip(share * (after.own_height - distance), -0.30, share * after.own_height)
    return np.asarray(np.minimum(sutured + back + _chance(after, distance), 0))


def _chance(after: Draws, distance: Floats) -> Floats:
    return np.asarray(after.noise * (0.20 + 0.30 * np.maximum(2 - distance, 0)))


def lowest_line(draws: Draws) -> Floats:
    """The lowest place a finish line may have over the crest."""
    return -draws.crest + np.maximum(2.5, np.maximum(draws.attachment, 2.0) + 0.5)


def smooth(x: Floats) -> Floats:
    return 0.625 * x + 0.1875 * (np.roll(x, 1, axis=0) + np.roll(x, -1, axis=0))


def ferrule_asked(tooth: Tooth) -> Floats:
    """2 mm of sound tooth within 30 degrees of the loaded sides, 1 mm where a vital tooth needs its wall only; 0 elsewhere."""
    sides = [180] if tooth.upper_front else [0, 180]
    loaded = np.any([np.abs((THETA - side + 180) % 360 - 180) <= 30 for side in sides], axis=0)
    return np.where(loaded, 1.0 if tooth.wall_only else 2.0, 0.0)


def half_wall(tooth: Tooth) -> dict[int, float]:
    """Height by station from which half of the wall resists a crown that rolls over the other side: base sin(convergence).

    Grooves between the teeth halve the base from facial to oral.
    """
    across, along = handbook(tooth, "bl_cervix_mm"), handbook(tooth, "md_cervix_mm")
    sine = float(np.sin(np.deg2rad(tooth.convergence_deg)))
    across /= 2 if tooth.grooves else 1
    return {FACIAL: across * sine, ORAL: across * sine, MESIAL: along * sine, DISTAL: along * sine}


def height_mm(tooth: Tooth) -> float:
    return 4.0 if tooth.number % 10 >= 6 and not tooth.grooves else 3.0


def keratinised_mm(tooth: Tooth) -> float:
    return 3.0 if tooth.in_the_sulcus else 2.0


def low_mm(tooth: Tooth) -> float:
    return max(tooth.low_mm, -0.5)


def bevel_mm(tooth: Tooth) -> Floats:
    palate = (tooth.number // 10 in (1, 2)) & (THETA > 90) & (THETA < 270)
    return np.where(palate, 1.4, BEVEL_MM)


def arch_of(tooth: Tooth) -> tuple[str, int]:
    return ("upper" if tooth.number // 10 in (1, 2) else "lower"), tooth.number % 10


def handbook(tooth: Tooth, name: str) -> float:
    arch, position = arch_of(tooth)
    return value(f"tooth.{arch}{position}.{name}")


def verdict_of(name: str, probability: float, asked: float) -> str:
    """Return kept, in doubt or short: short is as sure a miss as kept is sure."""
    if probability >= asked:
        return "in doubt" if name in ON_THE_HANDBOOK else "kept"
    return "short" if 1 - probability >= asked else "in doubt"
