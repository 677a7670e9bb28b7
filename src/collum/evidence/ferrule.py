"""Numbers of the ferrule: the published trade-off between its height and the crown-to-root ratio that bone surgery costs.

One laboratory study, 80 lower first premolars with roots cut 2 mm above the junction: in each group the ferrule grew and the
ratio with it, as after lengthening by bone. Strength rises, holds, and falls back to that of no ferrule.
"""

from functools import partial

from collum.evidence.registry import Constant

# crown to root, strength and its spread (kN) under a fibre post, the same under a cast post; one row for 0, 1, 2, 3 and 4 mm
_TABLE = (
    (0.6, 0.54, 0.09, 0.55, 0.09),
    (0.8, 1.03, 0.11, 0.88, 0.13),
    (0.9, 1.06, 0.17, 1.08, 0.17),
    (1.1, 0.85, 0.11, 1.05, 0.18),
    (1.3, 0.57, 0.10, 0.49, 0.09),
)
_row = partial(
    Constant,
    source="ferrule_lengthening2023",
    status="read",
    kind="measured",
    population="80 extracted lower first premolars in the laboratory; the range is one standard deviation",
    checked="2026-11-25",
    used_for="optimum of ferrule against crown-to-root ratio",
)


def _strength(mm: int, post: str, kn: float, spread_kn: float) -> Constant:
    return _row(
        key=f"ferrule.trade_off.{mm}mm.{post}_post_kn",
        value=kn,
        low=round(kn - spread_kn, 2),
        high=round(kn + spread_kn, 2),
        unit="kN",
        meaning=f"force at fracture with {mm} mm of ferrule won by bone, {post} post",
    )


def _ratio(mm: int, ratio: float) -> Constant:
    return _row(
        key=f"ferrule.trade_off.{mm}mm.crown_to_root",
        value=ratio,
        low=ratio,
        high=ratio,
        unit="1",
        meaning=f"crown-to-root ratio of the tested teeth with {mm} mm of ferrule",
        population="80 extracted lower first premolars in the laboratory; set by the design of the test",
    )


CONSTANTS: tuple[Constant, ...] = tuple(
    constant
    for mm, (ratio, fibre, fibre_sd, cast, cast_sd) in enumerate(_TABLE)
    for constant in (_ratio(mm, ratio), _strength(mm, "fibre", fibre, fibre_sd), _strength(mm, "cast", cast, cast_sd))
)
