"""Numbers of safety: how long answers count, what the rules speak of, the return plate, doses of local anaesthetics.

They inform and they close; none of them is an adjustment of a device. The figures of the plate are those of its standard
test, so that a contact area can be judged, and no figure of any unit.
"""

from functools import partial

from collum.evidence.registry import Constant

_safety = partial(Constant, checked="2026-11-25", used_for="safety screening", kind="guideline")
_choice = partial(_safety, source="collum_decision", status="choice", kind="judgement", population="any")
_plate = partial(_safety, used_for="arithmetic of the return plate", population="test of the standard on people and gel")
_dose = partial(
    _safety,
    population="healthy adults; local rules and the maker's text go first",
    used_for="dose adder; first record until the practice enters its own",
)
_conflict = partial(_dose, source="anaesthetic_notes2011", status="read")

_RULES: tuple[Constant, ...] = (
    _choice(
        key="safety.answers_hours",
        value=12,
        low=1,
        high=12,
        unit="h",
        meaning="how long the answers of a visit count; after that everything is asked again",
        editable_up_to=12,
    ),
    _choice(
        key="safety.history_days",
        value=365,
        low=1,
        high=365,
        unit="d",
        meaning="how long a history that was asked in full may be read out instead of being asked again",
        editable_up_to=365,
    ),
    _choice(
        key="safety.clock_step_s",
        value=120,
        low=0,
        high=120,
        unit="s",
        meaning="by how much a clock may seem to have gone back before the gate closes",
        editable_up_to=120,
    ),
    _safety(
        key="safety.generator_distance_cm",
        value=8,
        low=8,
        high=8,
        unit="cm",
        meaning="both pacemakers that sensed noise had the tip within this distance of the generator",
        source="cheng_pacemakers",
        status="read",
        kind="measured",
        population="92 patients in hospital, no malfunction; not in the mouth",
    ),
    _safety(
        key="safety.metal_contact_s",
        value=0.4,
        low=0.0,
        high=1.0,
        unit="s",
        meaning="contact with a metal filling beyond this changed the pulp in most teeth; none is planned for",
        source="krejci1982",
        status="read",
        kind="measured",
        population="54 fillings at the neck, 9 dogs; one second harmed every pulp in monkeys",
    ),
    _safety(
        key="safety.suction_within_cm",
        value=5,
        low=5,
        high=5,
        unit="cm",
        meaning="suction nozzle from the place of the cut",
        source="niosh_hc11",
        status="read",
        population="smoke of surgery in general",
    ),
    _safety(
        key="safety.surgical_mask_factor",
        value=1.5,
        low=1.5,
        high=1.8,
        unit="1",
        meaning="by how much a surgical mask thins the smoke that is breathed",
        source="gao2016",
        status="read",
        kind="measured",
        population="surgical smoke, made",
    ),
    _safety(
        key="safety.respirator_factor",
        value=208,
        low=208,
        high=263,
        unit="1",
        meaning="the same for a fit-tested N95 respirator",
        source="gao2016",
        status="read",
        kind="measured",
        population="surgical smoke, made",
    ),
    _safety(
        key="safety.oxygen_off_min",
        value=1,
        low=1,
        high=10,
        unit="min",
        meaning="least time between the end of added oxygen or nitrous oxide and the cut",
        source="fire_task_force",
        status="read",
        population="surgery of the head and neck under open oxygen",
        editable_down_to=1,
    ),
)

_PLATE: tuple[Constant, ...] = (
    _plate(
        key="safety.plate.test_current_a",
        value=0.7,
        low=0.7,
        high=0.7,
        unit="A",
        meaning="current of the standard's heating test of a return plate",
        source="nessler_hf18",
        status="read",
    ),
    _plate(
        key="safety.plate.test_time_s",
        value=60,
        low=60,
        high=60,
        unit="s",
        meaning="its duration",
        source="nessler_hf18",
        status="read",
    ),
    _plate(
        key="safety.plate.heating_factor_a2s",
        value=30,
        low=29.4,
        high=30,
        unit="A2s",
        meaning="heating factor (current squared times time) that a plate is expected to bear",
        source="plate_burns_report",
        status="read",
    ),
    _plate(
        key="safety.plate.skin_rise_k",
        value=6,
        low=6,
        high=6,
        unit="K",
        meaning="largest rise of the skin under the plate that the test allows",
        source="hf18_plate_study",
        status="read",
    ),
    _plate(
        key="safety.plate.hurting_density_ma_cm2",
        value=100,
        low=100,
        high=100,
        unit="mA/cm2",
        meaning="current through each square centimetre of skin that hurts within about ten seconds",
        source="skin_current_density",
        status="read",
        kind="measured",
        population="skin under a plate",
    ),
    _choice(
        key="safety.plate.largest_contact_cm2",
        value=100,
        low=1,
        high=500,
        unit="cm2",
        meaning="contact area of a plate; the range is what may be entered",
        used_for="arithmetic of the return plate",
    ),
)

_DOSES: tuple[Constant, ...] = (
    _conflict(
        key="dose.lidocaine.mg_per_kg",
        value=4.4,
        low=4.4,
        high=7,
        unit="mg/kg",
        meaning="lidocaine with adrenaline, per weight",
    ),
    _conflict(key="dose.lidocaine.most_mg", value=300, low=300, high=500, unit="mg", meaning="the same, in all"),
    _conflict(key="dose.lidocaine.mg_per_ml", value=20, low=10, high=40, unit="mg/ml", meaning="lidocaine of two in a hundred"),
    _dose(
        key="dose.articaine.mg_per_kg",
        value=7,
        low=5,
        high=7,
        unit="mg/kg",
        meaning="articaine with adrenaline, per weight",
        source="haas_lennon_table",
        status="read",
    ),
    _dose(
        key="dose.articaine.most_mg",
        value=500,
        low=500,
        high=500,
        unit="mg",
        meaning="the same, in all",
        source="haas_lennon_table",
        status="read",
    ),
    _conflict(
        key="dose.articaine.mg_per_ml", value=40, low=20, high=40, unit="mg/ml", meaning="articaine of four in a hundred"
    ),
    _conflict(key="dose.mepivacaine.mg_per_kg", value=4.4, low=4.4, high=6.6, unit="mg/kg", meaning="mepivacaine, per weight"),
    _conflict(key="dose.mepivacaine.most_mg", value=300, low=300, high=400, unit="mg", meaning="the same, in all"),
    _conflict(
        key="dose.mepivacaine.mg_per_ml", value=30, low=20, high=30, unit="mg/ml", meaning="mepivacaine of three in a hundred"
    ),
    _conflict(key="dose.prilocaine.mg_per_kg", value=6, low=6, high=8, unit="mg/kg", meaning="prilocaine, per weight"),
    _conflict(key="dose.prilocaine.most_mg", value=400, low=400, high=500, unit="mg", meaning="the same, in all"),
    _conflict(
        key="dose.prilocaine.mg_per_ml", value=30, low=30, high=40, unit="mg/ml", meaning="prilocaine of three in a hundred"
    ),
    _conflict(key="dose.bupivacaine.mg_per_kg", value=1.3, low=1.3, high=2, unit="mg/kg", meaning="bupivacaine, per weight"),
    _conflict(key="dose.bupivacaine.most_mg", value=90, low=90, high=200, unit="mg", meaning="the same, in all"),
    _conflict(
        key="dose.bupivacaine.mg_per_ml", value=5, low=5, high=5, unit="mg/ml", meaning="bupivacaine of a half in a hundred"
    ),
    _choice(
        key="dose.range.weight_kg",
        value=70,
        low=10,
        high=300,
        unit="kg",
        meaning="weight of the patient",
        used_for="dose adder",
    ),
    _choice(
        key="dose.range.ml",
        value=1.8,
        low=0,
        high=100,
        unit="ml",
        meaning="volume of one solution given",
        used_for="dose adder",
    ),
    _choice(
        key="dose.range.mg_per_kg",
        value=4.4,
        low=0.1,
        high=20,
        unit="mg/kg",
        meaning="limit of a practice",
        used_for="dose adder",
    ),
    _choice(
        key="dose.range.most_mg", value=300, low=1, high=2000, unit="mg", meaning="limit of a practice", used_for="dose adder"
    ),
)

CONSTANTS: tuple[Constant, ...] = (*_RULES, *_PLATE, *_DOSES)
AGENTS = ("lidocaine", "articaine", "mepivacaine", "prilocaine", "bupivacaine")
