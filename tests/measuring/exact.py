"""A neck known exactly: every draw is the same, nothing is left to chance, so that reserves are hand arithmetic."""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.healing import RegrowthDraws
from collum.plan import Prepared
from collum.plan.lengthening.levels.draws import RootDraws
from tests.making.teeth import case_of
from tests.measuring.necks import drawn_neck

DRAWS = 20
THICKNESS_MM = 1.0  # at 45 degrees also the bevel


def exact_neck(tooth: Tooth, **known_mm: float | np.ndarray) -> Prepared:
    """The neck of `tooth`: `sulcus`, `crest`, `own_height`, `sound`, `edge`, `junction` (mucogingival), `cej` all round. [mm]

    Depths of sulcus and crest are positive; the margin comes back whole.
    """
    made = drawn_neck(case_of(tooth), DRAWS)
    given = {
        "sulcus": 2.0,
        "crest": 4.2,
        "own_height": 3.7,
        "sound": 3.0,
        "edge": 5.5,
        "junction": -8.0,
        "cej": None,
        **known_mm,
    }
    level = {name: None if mm is None else _all_round(mm) for name, mm in given.items()}
    nothing = np.zeros(DRAWS)
    sulcus, crest, own_height = (level[name] for name in ("sulcus", "crest", "own_height"))
    assert sulcus is not None and crest is not None and own_height is not None
    return replace(
        made,
        inputs=replace(
            made.inputs, thickness_mm=np.full(36, THICKNESS_MM), keratinised_exempt=np.zeros(36, dtype=bool), wall_mm=None
        ),
        sulcus_mm=sulcus,
        crest_depth_mm=crest,
        own_height_mm=own_height,
        regrowth=RegrowthDraws(return_share=np.ones(DRAWS), noise=np.zeros((36, DRAWS)), share_deviate=nothing),
        sound_edge_mm=level["sound"],
        occlusal_edge_mm=level["edge"],
        mucogingival_mm=level["junction"],
        cej_mm=level["cej"],
        root=RootDraws(length=nothing, trunk=nothing, junction=nothing, surgery=nothing),
    )


def _all_round(mm: float | np.ndarray) -> np.ndarray:
    return np.repeat(np.broadcast_to(mm, 36)[:, None].astype(float), DRAWS, axis=1)
