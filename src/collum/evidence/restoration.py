"""Numbers of restorations: how much tooth each kind of crown asks for, and what preparation and root should offer."""

from functools import partial

from collum.evidence.registry import Constant

_restoration = partial(Constant, checked="2026-11-25", unit="mm")
_reduction = partial(_restoration, used_for="what each class of material takes from the tooth", kind="guideline")
_cards = partial(_reduction, source="reduction_cards", status="read_second_hand", population="teaching rule of a dental school")
_lithium = partial(_reduction, source="nawafleh2017", status="read", population="crowns in the laboratory, fatigue")
_remembered = partial(_reduction, source="common_practice", status="memory", population="not known")
_form = partial(Constant, checked="2026-11-25", used_for="advice on the shape of a preparation", source="goodacre2001")

CONSTANTS: tuple[Constant, ...] = (
    _cards(key="restoration.metal.axial_mm", value=0.5, low=0.5, high=1.0, meaning="axial reduction, all-metal crown"),
    _cards(
        key="restoration.metal.occlusal_mm",
        value=1.5,
        low=1.0,
        high=1.5,
        meaning="occlusal reduction over a functional cusp, all-metal crown; over other cusps 0.5 to 1.0",
    ),
    _cards(
        key="restoration.metal_ceramic.axial_mm", value=1.3, low=1.2, high=1.5, meaning="axial reduction, metal-ceramic crown"
    ),
    _cards(
        key="restoration.metal_ceramic.occlusal_mm",
        value=1.8,
        low=1.3,
        high=2.0,
        meaning="occlusal reduction over a functional cusp, metal-ceramic crown",
    ),
    _lithium(
        key="restoration.lithium_disilicate.axial_mm",
        value=1.5,
        low=1.0,
        high=1.5,
        meaning="axial reduction, lithium disilicate crown, standard design",
    ),
    _lithium(
        key="restoration.lithium_disilicate.occlusal_mm",
        value=2.0,
        low=1.0,
        high=2.0,
        meaning="occlusal reduction, lithium disilicate crown, standard design",
    ),
    _remembered(
        key="restoration.monolithic_zirconia.axial_mm",
        value=0.75,
        low=0.5,
        high=1.0,
        meaning="axial reduction, monolithic zirconia crown",
    ),
    _remembered(
        key="restoration.monolithic_zirconia.occlusal_mm",
        value=1.0,
        low=0.5,
        high=1.0,
        meaning="occlusal reduction, monolithic zirconia crown",
    ),
    _cards(
        key="restoration.metal.finish_line_mm",
        value=0.5,
        low=0.3,
        high=0.5,
        meaning="width of the finish line, chamfer, all-metal crown",
    ),
    _cards(
        key="restoration.metal_ceramic.finish_line_mm",
        value=1.2,
        low=1.2,
        high=1.3,
        meaning="width of the finish line, shoulder, metal-ceramic crown where it shows; 0.5 where it is metal only",
    ),
    _cards(key="restoration.porcelain.axial_mm", value=1.0, low=1.0, high=1.0, meaning="axial reduction, porcelain crown"),
    _cards(
        key="restoration.porcelain.occlusal_mm",
        value=1.5,
        low=1.0,
        high=1.5,
        meaning="occlusal reduction over a functional cusp, porcelain crown",
    ),
    _cards(
        key="restoration.porcelain.finish_line_mm",
        value=1.0,
        low=1.0,
        high=1.0,
        meaning="width of the finish line, shoulder, porcelain crown",
    ),
    _cards(
        key="restoration.layered_core.axial_mm",
        value=1.5,
        low=1.5,
        high=1.5,
        meaning="axial reduction, porcelain on a core of alumina or zirconia",
    ),
    _cards(
        key="restoration.layered_core.occlusal_mm",
        value=2.0,
        low=1.5,
        high=2.0,
        meaning="occlusal reduction over a functional cusp, porcelain on a core of alumina or zirconia",
    ),
    _cards(
        key="restoration.layered_core.finish_line_mm",
        value=1.0,
        low=1.0,
        high=1.5,
        meaning="width of the finish line, chamfer, porcelain on a core of alumina or zirconia",
    ),
    _lithium(
        key="restoration.lithium_disilicate.finish_line_mm",
        value=1.0,
        low=0.8,
        high=1.0,
        meaning="width of the finish line, chamfer, lithium disilicate crown, standard design",
    ),
    _remembered(
        key="restoration.monolithic_zirconia.finish_line_mm",
        value=0.5,
        low=0.3,
        high=0.8,
        meaning="width of the finish line, chamfer, monolithic zirconia crown",
    ),
    _remembered(key="restoration.resin.axial_mm", value=1.25, low=1.0, high=1.5, meaning="axial reduction, composite crown"),
    _remembered(
        key="restoration.resin.occlusal_mm", value=1.75, low=1.5, high=2.0, meaning="occlusal reduction, composite crown"
    ),
    _remembered(
        key="restoration.resin.finish_line_mm",
        value=1.0,
        low=1.0,
        high=1.0,
        meaning="width of the finish line, shoulder or chamfer, composite crown",
    ),
    _form(
        key="restoration.convergence_least_deg",
        value=10.0,
        low=2.0,
        high=12.0,
        unit="deg",
        meaning="least advised total occlusal convergence of two opposing walls",
        status="read",
        kind="guideline",
        population="review, complete crowns",
    ),
    _form(
        key="restoration.convergence_most_deg",
        value=20.0,
        low=12.0,
        high=22.0,
        unit="deg",
        meaning="greatest advised total occlusal convergence of two opposing walls",
        status="read",
        kind="guideline",
        population="review, complete crowns",
    ),
    _form(
        key="restoration.height_to_width_least",
        value=0.4,
        low=0.4,
        high=0.5,
        unit="1",
        meaning="least ratio of the height of the preparation to its facial-oral width",
        status="read",
        kind="guideline",
        population="review, complete crowns; rests on a laboratory study of 1984",
    ),
    _restoration(
        key="restoration.sound_tooth_above_crest_mm",
        value=4.5,
        low=4.0,
        high=5.25,
        meaning="sound tooth wanted above the crest where a ferrule is needed: 2.5 for the tissue and 2.0 for the ferrule",
        source="mclean1998",
        status="read",
        kind="guideline",
        population="clinical paper; an older figure for a margin without ferrule is 4.0",
        used_for="sum of two limits of the plan",
    ),
)
