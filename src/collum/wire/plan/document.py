"""The plan as it leaves the program: the wire form `collum-plan/2`, its JSON Schema and nothing else.

A line has one value for each of `stations_deg`. `..._height_mm` is a height in the tooth frame, coronal positive;
`..._below_X_mm` counts from X, apical positive; `..._above_X_mm` counts from X, coronal positive. `margin` is the gingival
margin of today, `settled_margin` the forecast. Unknown is null with a reason.
"""

from typing import Literal

from collum.case.reading_kinds import ReadingKind
from collum.evidence.patient_rows import Act
from collum.evidence.registry import Status
from collum.evidence.safety_rules import Procedure
from collum.plan.patient.standing import Standing
from collum.vocabulary import Likelihood, RequirementId, RouteName, Unit, Verdict
from collum.wire.form import ConstantDocument, Line, SentenceDocument, Wire

PLAN_FORMAT = "collum-plan/2"


class QuestionDocument(SentenceDocument):
    """Something to find out. `reading`: the kind to read again, at `site`. Plans stored before these fields have null."""

    id: str | None = None
    site: str | None = None
    reading: ReadingKind | None = None


class LevelDocument(Wire):
    mean_height_mm: Line
    sd_mm: Line
    p05_height_mm: Line
    p95_height_mm: Line


class LevelsDocument(Wire):
    """A level that was never read is null; `absent` then says why, under the level's name.

    The crest is drawn even where no bone was read, from what is usual; `crest_read` is false then.
    """

    gingival_margin: LevelDocument | None
    probe_tip: LevelDocument | None
    sulcus_base: LevelDocument | None
    crest: LevelDocument | None
    crest_read: bool
    mucogingival_junction: LevelDocument | None
    sound_edge: LevelDocument | None
    occlusal_edge: LevelDocument | None
    planned_edge: LevelDocument | None
    cej: LevelDocument | None
    own_height: LevelDocument | None
    absent: dict[str, SentenceDocument]


class RestLineDocument(Wire):
    """The settled margin: the median of the forecast that decides, and the ends over every forecast that counts.

    Plans stored before `median_height_mm` have `mean_height_mm` instead, of the forecast with a spread return.
    """

    median_height_mm: Line | None = None
    mean_height_mm: Line | None = None
    p05_height_mm: Line
    p95_height_mm: Line


class RestLineIfDocument(Wire):
    full_return_height_mm: Line
    transferred_from_bone_surgery_height_mm: Line
    nothing_returns_height_mm: Line


class RequirementDocument(Wire):
    """`required`: it decides the verdict of the route; else it is a wish, shown and never decisive.

    `likelihood`: the word for its chance where the verdict is in doubt. Plans stored before this field have null.
    """

    id: RequirementId
    unit: Unit
    limit: float | None
    value: float | None
    worst_station_deg: float | None
    worst_station_probability: float | None
    probability: float | None
    confidence: float
    hard: bool
    required: bool
    verdict: Verdict
    reason: SentenceDocument
    short_by: float | None
    short_by_mm: float | None
    evidence: list[str]
    likelihood: Likelihood | None = None


class ClosedByDocument(Wire):
    """What decides against a route that is closed, short or in doubt and unlikely."""

    requirement: str
    station_deg: float | None
    short_by: float | None
    unit: str | None
    reason: SentenceDocument
    least_change: SentenceDocument | None


class LedgerRowDocument(Wire):
    """One line of the ledger at a site: `amount_mm` is what it brings (positive) or takes (negative)."""

    item: Literal["sound_edge_above_crest", "attachment", "room_under_finish_line", "ferrule_wanted", "spare"]
    amount_mm: float | None
    evidence: str | None


class SiteDocument(Wire):
    """What the chairside card and the ledger need at one site; `site` is the name typed in the case.

    `bone_read`: the crest was read at this very site; else what counts from it is an estimate, and null where it was read at
    no site of the tooth.
    """

    site: str
    station_deg: float
    cut: bool
    stop_below_margin_mm: float
    stop_below_landmark_mm: float | None
    landmark: SentenceDocument | None
    bone_read: bool
    bone_below_margin_mm: float | None
    bone_nearest_below_margin_mm: float | None
    attachment_below_margin_mm: float
    reserve_cut_to_attachment_mm: float
    reserve_cut_to_bone_mm: float | None
    reserve_finish_line_to_attachment_mm: float
    reserve_finish_line_to_crest_mm: float | None
    rest_below_margin_mm: float
    finish_above_settled_margin_mm: float
    finish_above_crest_mm: float | None
    lasting_gain_mm: float
    will_not_last: bool
    only_to_see: bool = False
    run_out: bool = False
    bone_reduction_mm: float
    crest_after_below_margin_mm: float | None
    sutured_above_crest_mm: float | None
    interim_below_margin_mm: float
    provisional_below_margin_mm: float | None
    ledger: list[LedgerRowDocument]


class TimingDocument(Wire):
    """The earliest time of one step, in weeks after the operation, with the rule it rests on."""

    step: Literal["extrusion_and_holding", "definitive_finish_line", "definitive_finish_line_visible"]
    weeks: float
    reason: SentenceDocument
    evidence: str


class CrownToRootDocument(Wire):
    """Part of the tooth outside bone to the part inside, on the proximal crest; `norm_ratio`: the handbook's."""

    before_ratio: float
    after_ratio: float
    after_worse_side_ratio: float
    norm_ratio: float
    root_length_measured: bool


class PriceDocument(Wire):
    """What a route takes: visits up to the finished restoration, what is taken of the tooth over its occlusal surface, of the
    opposing tooth and of bone, and the chance that a second step follows; null where that is not known. No sum of money.
    """

    visits: int
    weeks: float | None
    tooth_mm: float
    opposing_mm: float
    bone_mm: float
    second_step_probability: float | None


class SummaryDocument(Wire):
    """What stands beside the other routes; `papilla_probability` is a range, null where it does not apply or was not
    read. Plans stored before `price` have none.
    """

    lasting_gain_most_mm: float | None
    lasting_gain_deg: float | None
    bone_most_mm: float
    bone_neighbour_mm: float
    extrusion_mm: float
    crown_to_root: CrownToRootDocument | None
    papilla_probability: list[float] | None
    earliest_final_weeks: float | None
    operations: int
    survival: SentenceDocument
    price: PriceDocument | None = None


class ConcessionsDocument(Wire):
    """What a route takes from the dentist's wishes for the preparation; null: as wished.

    `preparation_height_mm`: the height asked for with grooves, where that is less than without. `opposing_mm`: taken of an
    over-erupted opposing tooth; `bite_mm`: all opposing contacts raised. Plans stored before these two have none.
    """

    occlusal_reduction_mm: float | None
    convergence_deg: float | None
    grooves: bool
    preparation_height_mm: float | None
    opposing_mm: float | None = None
    bite_mm: float | None = None


class RaisedSurfaceDocument(Wire):
    """A proximal surface whose margin is raised with composite, from one angle to another in the order of the stations.

    `below_margin_mm`: how far its sound edge is under the gum at the deepest; `above_crest_mm`: how far above the crest at
    the nearest, null where no bone was read; `seat_mm`: width of the dentine it sits on, null where it was not measured.
    """

    side: Literal["mesial", "distal"]
    from_deg: float
    to_deg: float
    arc_deg: float
    below_margin_mm: float
    above_crest_mm: float | None
    seat_mm: float | None


class WeakestDocument(Wire):
    """The decisive requirement that holds least often: its own chance, not that of all together."""

    id: RequirementId
    station_deg: float | None
    probability: float


class LooksDocument(Wire):
    """The verdict on looks, which counts nothing in that on function; `said` tells both, and what the wish was held to.

    `settled_above_wish_mm`: at `station_deg`, where it is worst; positive where the tooth looks shorter. A difference from
    `seen_from_mm` on is seen. `drawn`: the wish is the dentist's, else it is the margin of the mirror tooth.
    """

    verdict: Verdict
    probability: float | None
    likelihood: Likelihood | None
    station_deg: float | None
    settled_above_wish_mm: float | None
    seen_from_mm: float
    drawn: bool
    said: list[SentenceDocument]
    least_change: SentenceDocument | None


class WishedPointDocument(Wire):
    """A place at which the settled margin is wished."""

    station_deg: float
    above_margin_mm: float
    height_mm: float


class PassiveEruptionDocument(Wire):
    """The kind of altered passive eruption, by the facial site where the crest is nearest to the junction.

    `with_bone`: the crest has to be lowered. `excised`: the gum may be, else it is positioned apically; null where the
    keratinised width was not read.
    """

    site: str
    crest_below_cej_mm: float
    with_bone: bool
    excised: bool | None
    said: SentenceDocument


class PatientEffectDocument(Wire):
    """What a fact of the patient means for a procedure (`act`): why, what to do, and how the rule is known.

    An act that closes stands with a route that can be done by another instrument.
    """

    row: str
    act: Act
    standing: Standing
    why: SentenceDocument
    said: SentenceDocument
    citation: str
    status: Status


class ReasonDocument(SentenceDocument):
    """A reason against going ahead; `acted_on`: one of the first two in the order of acting.

    `unclassified`: the recorded words without a classification, where they are the reason.
    """

    step: str
    acted_on: bool
    unclassified: str | None


class RouteDocument(Wire):
    """A way to restore the tooth. A closed route, and one that is not needed, offers no lines.

    `means`: what this route asks of tooth and dentist; `staged`: its steps in order; `trough`: advice for the impression
    visit. `crest_after_height_mm`, `margin_after_height_mm`: crest and margin in the tooth frame after the treatment.
    `doubts` are part of `explanation` too, and so is `hand`: where a line that was moved or held is not one that a hand can
    make. `cautions`: of the patient. `likelihood`: the word for `joint_probability` where the verdict is in doubt.
    `lengthens`: it wins height by a cut or a movement; else nothing is cut. `raised`: surfaces whose margin is raised with
    composite. `operations`: whose questions and papers are this route's. `looks`: the verdict on looks, null where no margin is
    wished. Plans stored before `concessions`, `doubts`, `hand`, `cautions`, `likelihood`, `weakest`, `raised`, `lengthens`,
    `operations` and `looks` have null and none.
    """

    name: RouteName
    verdict: Verdict
    cut_line_height_mm: Line | None
    cut_line_outer_height_mm: Line | None
    finish_line_height_mm: Line | None
    rest_line: RestLineDocument | None
    rest_line_if: RestLineIfDocument | None
    lasting_gain_mm: Line | None
    bone_reduction_mm: Line | None
    extrusion_mm: float | None
    removed_mm: Line | None
    cut_above_margin_mm: Line | None
    finish_above_margin_mm: Line | None
    finish_range_mm: list[float | None]
    requirements: list[RequirementDocument]
    joint_probability: float | None
    closed_by: ClosedByDocument | None
    explanation: list[SentenceDocument]
    sites: list[SiteDocument]
    held_cut_deg: list[float]
    held_finish_deg: list[float]
    earliest_final_weeks: float | None
    means: list[SentenceDocument]
    staged: list[SentenceDocument]
    provisional: list[SentenceDocument]
    trough: list[SentenceDocument]
    timing: list[TimingDocument]
    interim_finish_line_height_mm: Line | None
    crest_after_height_mm: Line | None
    margin_after_height_mm: Line | None
    summary: SummaryDocument
    concessions: ConcessionsDocument | None = None
    doubts: list[SentenceDocument] = []
    hand: list[SentenceDocument] = []
    likelihood: Likelihood | None = None
    weakest: WeakestDocument | None = None
    cautions: list[PatientEffectDocument] = []
    raised: list[RaisedSurfaceDocument] = []
    lengthens: bool | None = None
    operations: list[Procedure] = []
    looks: LooksDocument | None = None


class OddReadingDocument(Wire):
    kind: str
    site: str
    position: int
    value_mm: float
    expected_mm: float
    probability: float
    reason: SentenceDocument


class ToothDocument(Wire):
    """`last_resort` is `closed_alike`, the one fact that closes every route, or else the fact of each, and then `remains`;
    plans stored before these two fields have neither. `readings`: what is known of the patient and bears on probing and
    sounding; `reasons`: all against going ahead, in the order of acting; `recommended_if`: what has to be so before
    gum is cut first. `wished_margin`: where the settled margin is wished; `passive_eruption`: its kind. Plans stored before
    them have none.
    """

    number: int
    universal: int
    name: SentenceDocument
    role: str
    stations_deg: Line
    arc_mm: Line
    perimeter_mm: float
    radius_mm: Line
    tissue_thickness_mm: Line
    occlusal_reduction_mm: float
    sites: list[str]
    sites_deg: Line
    levels: LevelsDocument
    routes: list[RouteDocument]
    recommended_route: RouteName | None
    recommended_because: SentenceDocument
    last_resort: list[SentenceDocument]
    next_readings: list[str] | None
    next_readings_absent: SentenceDocument
    odd_readings: list[OddReadingDocument]
    questions: list[QuestionDocument]
    clamped_share: float
    dropped_share: float
    closed_alike: SentenceDocument | None = None
    remains: list[SentenceDocument] = []
    recommended_if: list[SentenceDocument] = []
    readings: list[PatientEffectDocument] = []
    reasons: list[ReasonDocument] = []
    wished_margin: list[WishedPointDocument] = []
    passive_eruption: PassiveEruptionDocument | None = None


class PlanDocument(Wire):
    format: Literal["collum-plan/2"]
    program_version: str
    units: dict[str, str]
    case_reference: str
    invented: bool
    teeth: list[ToothDocument]
    cautions: list[SentenceDocument]
    constants: list[ConstantDocument]
    safety_cleared: bool
    safety_reason: SentenceDocument
    seed: int
    draws: int
    input_sha256: str

    def of_tooth(self, number: int) -> "PlanDocument":
        """Return the plan with one tooth alone; with none where the case does not plan it."""
        return self.model_copy(update={"teeth": [tooth for tooth in self.teeth if tooth.number == number]})
