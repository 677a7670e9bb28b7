"""Numbers of bridges as a whole: root areas, rules of thumb, stiffness of ligament and material, bite forces, the arch.

The three old tables of root areas disagree by up to a factor of two and none of them could be read again: a ratio within one
table means something, a comparison of tables nothing. The newer measurement that was read holds three teeth only.
"""

from functools import partial

from collum.evidence.registry import Constant

_checked = partial(Constant, checked="2026-11-25")
_TABLES = {
    "jepsen": ("jepsen1963", "table of Jepsen"),
    "boyd": ("boyd_tylman", "table of Boyd, in Tylman's textbook"),
    "freeman": ("freeman1965", "table of Freeman"),
}
# kind: Jepsen, Boyd, Freeman; None where the table has no such tooth
_AREAS: dict[str, tuple[int | None, int | None, int | None]] = {
    "upper1": (204, 139, 230),
    "upper2": (179, 112, 194),
    "upper3": (273, 204, 282),
    "upper4": (234, 149, 312),
    "upper5": (220, 140, 254),
    "upper6": (433, 335, 533),
    "upper7": (431, 272, 450),
    "upper8": (None, 197, None),
    "lower1": (154, 103, 170),
    "lower2": (168, 124, 200),
    "lower3": (268, 159, 270),
    "lower4": (180, 130, 237),
    "lower5": (207, 135, 240),
    "lower6": (431, 352, 475),
    "lower7": (426, 282, 450),
    "lower8": (None, 190, None),
}
_NAMES = dict(
    zip(
        "12345678",
        (
            "central incisor",
            "lateral incisor",
            "canine",
            "first premolar",
            "second premolar",
            "first molar",
            "second molar",
            "third molar",
        ),
        strict=True,
    )
)
_SPREAD = 0.3


def _area(kind: str, table: str, mm2: float) -> Constant:
    source, title = _TABLES[table]
    return _checked(
        key=f"bridge.root_area.{table}.{kind}_mm2",
        value=mm2,
        low=round(mm2 * (1 - _SPREAD)),
        high=round(mm2 * (1 + _SPREAD)),
        unit="mm2",
        meaning=f"area of the root, {kind[:-1]} {_NAMES[kind[-1]]}, {title}",
        source=source,
        status="memory",
        kind="measured",
        population="extracted teeth; the range is ours",
        used_for="area of abutments against area of the teeth replaced, within this table alone; stiffness of an abutment",
    )


_mowry = partial(
    _checked,
    unit="mm2",
    source="mowry2002",
    status="read",
    kind="measured",
    population="extracted lower teeth; larger than most older studies say. The range is ours",
    used_for="area of abutments against area of the teeth replaced, within this table alone",
)
_rule = partial(_checked, unit="1", kind="guideline", used_for="which rules of bridges a design keeps")
_ligament = partial(_checked, used_for="how an abutment gives way to load and tipping")
_modulus = partial(_checked, unit="MPa", kind="measured", used_for="bending of a bridge")
_bite = partial(_checked, used_for="loads on a bridge")
_bite_choice = partial(_bite, unit="1", source="collum_decision", status="choice", kind="judgement", population="any")
_arch = partial(
    _checked,
    unit="mm",
    source="collum_decision",
    status="choice",
    kind="judgement",
    population="an average arch; a measured one stands above it",
    used_for="course of a bridge round the arch where places of the teeth were not measured",
)

CONSTANTS: tuple[Constant, ...] = (
    *(
        _area(kind, table, mm2)
        for kind, row in _AREAS.items()
        for table, mm2 in zip(_TABLES, row, strict=True)
        if mm2 is not None
    ),
    _mowry(key="bridge.root_area.mowry.lower3_mm2", value=275.88, low=193, high=359, meaning="area of the root, lower canine"),
    _mowry(
        key="bridge.root_area.mowry.lower4_mm2",
        value=251.45,
        low=176,
        high=327,
        meaning="area of the root, lower first premolar",
    ),
    _mowry(
        key="bridge.root_area.mowry.lower5_mm2",
        value=271.81,
        low=190,
        high=353,
        meaning="area of the root, lower second premolar",
    ),
    _rule(
        key="bridge.area_ratio_least",
        value=1.0,
        low=0.7,
        high=1.0,
        meaning="area of the abutments' roots over that of the teeth replaced; a guide, not confirmed by long-term trials",
        source="ante1926",
        status="read_second_hand",
        population="rule of one author; bridges on much reduced but healthy support did well",
    ),
    _rule(
        key="bridge.attached_share_least",
        value=0.5,
        low=0.5,
        high=0.67,
        meaning="share of its normal attachment an abutment should still have",
        source="tylman",
        status="read_second_hand",
        population="rule of one author",
    ),
    _rule(
        key="bridge.pontics_per_abutment_most",
        value=1.0,
        low=1.0,
        high=1.5,
        meaning="pontics for each abutment",
        source="abutment_rating",
        status="read",
        population="teaching module",
    ),
    _rule(
        key="bridge.units_on_root_filled_most",
        value=3.0,
        low=3.0,
        high=4.0,
        meaning="units of a bridge that stands on a root-filled abutment",
        source="bridge_lecture",
        status="read",
        population="a lecture note; weak",
    ),
    _ligament(
        key="bridge.ligament.modulus_mpa",
        value=50.0,
        low=2.7,
        high=66.7,
        unit="MPa",
        meaning="modulus of the periodontal ligament in linear models; papers differ by more than twenty times",
        source="fe_pmc4946000",
        status="read",
        kind="measured",
        population="finite-element models; the ends are of two other papers",
    ),
    _ligament(
        key="bridge.ligament.poisson",
        value=0.49,
        low=0.30,
        high=0.49,
        unit="1",
        meaning="Poisson's ratio of the periodontal ligament",
        source="fe_pmc4946000",
        status="read",
        kind="measured",
        population="finite-element models",
    ),
    _ligament(
        key="bridge.ligament.thickness_mm",
        value=0.2,
        low=0.1,
        high=0.35,
        unit="mm",
        meaning="thickness of the periodontal ligament",
        source="common_practice",
        status="memory",
        kind="measured",
        population="not known",
    ),
    _modulus(
        key="bridge.modulus.metal_mpa",
        value=205_000.0,
        low=85_000.0,
        high=218_000.0,
        meaning="modulus of a base metal (Ni-Cr); the lower end is that of gold alloys, from memory",
        source="fe_pmc4946000",
        status="read",
        population="finite-element models",
    ),
    _modulus(
        key="bridge.modulus.metal_ceramic_mpa",
        value=205_000.0,
        low=85_000.0,
        high=218_000.0,
        meaning="modulus of a metal framework (Ni-Cr), the ceramic not counted; the lower end is gold alloys, from memory",
        source="fe_pmc4946000",
        status="read",
        population="finite-element models",
    ),
    _modulus(
        key="bridge.modulus.lithium_disilicate_mpa",
        value=104_000.0,
        low=95_000.0,
        high=104_000.0,
        meaning="modulus of a glass-ceramic; lithium disilicate is 95,000 to 103,000 from memory",
        source="fe_pmc2584618",
        status="read",
        population="finite-element models",
    ),
    _modulus(
        key="bridge.modulus.monolithic_zirconia_mpa",
        value=210_000.0,
        low=100_000.0,
        high=250_000.0,
        meaning="modulus of zirconia",
        source="fe_pmc2584618",
        status="read",
        population="finite-element models",
    ),
    _checked(
        key="bridge.poisson",
        value=0.31,
        low=0.25,
        high=0.33,
        unit="1",
        meaning="Poisson's ratio of a framework (Ni-Cr); twist alone depends on it",
        source="fe_pmc4946000",
        status="read",
        kind="measured",
        population="finite-element models",
        used_for="twist of a curved bridge",
    ),
    _bite(
        key="bridge.bite.largest_n",
        value=847.0,
        low=216.0,
        high=847.0,
        unit="N",
        meaning="greatest bite on a molar: men; women of the same study 597, women of all ages 216",
        source="waltimo_kononen1993",
        status="read",
        kind="measured",
        population="30 dental students",
    ),
    _bite(
        key="bridge.bite.chewing_n",
        value=225.0,
        low=10.0,
        high=225.0,
        unit="N",
        meaning="force of chewing, as models use it",
        source="fe_pmc5308080",
        status="read",
        kind="convention",
        population="finite-element models",
    ),
    _bite(
        key="bridge.bite.share.incisor",
        value=0.44,
        low=0.40,
        high=0.48,
        unit="1",
        meaning="greatest bite on an incisor over that on the first molar: middle of the published range",
        source="ferrario2004",
        status="derived",
        kind="measured",
        population="52 young adults, 40 to 48 %",
    ),
    _bite_choice(
        key="bridge.bite.share.canine",
        value=0.6,
        low=0.44,
        high=0.8,
        meaning="the same on a canine; published is only that it rises towards the first molar",
    ),
    _bite_choice(
        key="bridge.bite.share.premolar",
        value=0.8,
        low=0.5,
        high=1.0,
        meaning="the same on a premolar; published is only that it rises towards the first molar",
    ),
    _arch(
        key="bridge.arch.upper_front_radius_mm", value=12.0, low=9.0, high=16.0, meaning="radius of the front of the upper arch"
    ),
    _arch(
        key="bridge.arch.lower_front_radius_mm", value=10.5, low=8.0, high=14.0, meaning="radius of the front of the lower arch"
    ),
)
