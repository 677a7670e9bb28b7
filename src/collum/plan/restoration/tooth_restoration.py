"""Will the restoration of a tooth hold: every route that is asked about, judged on its own finish line.

Judged on the line of the recommended route, else of each route that offers lines. All figures stand on the means of the plan;
where the plan itself grades the same rule over its draws, the worse of both verdicts counts.
"""

from dataclasses import dataclass

from collum.case.model import Patient, Tooth
from collum.core.crown.guidance import meets_height_to_width
from collum.core.crown.laboratory import MaterialFit, material_fits
from collum.core.crown.laboratory import Neck as Section
from collum.core.crown.retention import CEMENTS, Cement, RetentionRange, retention_range
from collum.evidence.handed import Evidence
from collum.plan.document import ToothDocument
from collum.plan.lengthening.requirements.verdict import worst_verdict
from collum.plan.restoration.ferrule import Ferrule, ferrule_of
from collum.plan.restoration.ground import Ground, ground_of
from collum.plan.restoration.loss import Loss, loss_of
from collum.plan.restoration.posts import Pins, Post, pins_of, posts_of, pulp_mm
from collum.plan.restoration.stump import NoStump, Stump, stump_of
from collum.plan.restoration.support import Support, support_of
from collum.vocabulary import RouteName, Verdict

OF_THE_PLAN = ("crown_to_root", "attached_area", "furcation")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One question of the answer; `probability` is the plan's chance that the rule holds, None where it has none.

    `own`: the verdict on the means alone, None where the plan alone judges.
    """

    id: str
    verdict: Verdict
    own: Verdict | None
    probability: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteRestoration:
    """The answer on one route. `stump` says why where there is none."""

    ground: Ground
    stump: Stump | NoStump
    retention: tuple[tuple[Cement, RetentionRange], ...]
    ferrule: Ferrule
    posts: tuple[Post, ...]
    pins: tuple[Pins, ...]
    materials: tuple[MaterialFit, ...]
    parts: tuple[Part, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of the parts."""
        return worst_verdict([part.verdict for part in self.parts])


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothRestoration:
    """All that is said of one tooth. `support`: of every route that offers lines, judged in full or not."""

    tooth: Tooth
    planned: ToothDocument
    routes: tuple[RouteRestoration, ...]
    support: tuple[tuple[RouteName, Support], ...]
    loss: Loss | None


def restoration_of_tooth(tooth: Tooth, patient: Patient, planned: ToothDocument, evidence: Evidence) -> ToothRestoration:
    """Return the answer for one tooth from its plan."""
    grounds = [ground_of(tooth, planned, route, evidence) for route in planned.routes if route.finish_line is not None]
    recommended = [ground for ground in grounds if ground.route.name == planned.recommended_route]
    routes = tuple(_restoration(ground) for ground in recommended or grounds)
    return ToothRestoration(
        tooth=tooth,
        planned=planned,
        routes=routes,
        support=tuple((ground.route.name, support_of(ground)) for ground in grounds),
        loss=loss_of(tooth, patient, planned, routes[0].posts if routes else ()),
    )


def _restoration(ground: Ground) -> RouteRestoration:
    stump, ferrule = stump_of(ground), ferrule_of(ground)
    return RouteRestoration(
        ground=ground,
        stump=stump,
        retention=_retention(ground, stump),
        ferrule=ferrule,
        posts=posts_of(ground),
        pins=pins_of(ground),
        materials=_materials(ground),
        parts=_parts(ground, stump, ferrule),
    )


def _parts(ground: Ground, stump: Stump | NoStump, ferrule: Ferrule) -> tuple[Part, ...]:
    own: dict[str, Verdict] = {
        "resistance": _no_stump(stump) if isinstance(stump, str) else stump.verdict,
        "preparation_height": _height(ground),
        "ferrule": ferrule.verdict,
    }
    found = [_part(ground, name, verdict) for name, verdict in own.items()]
    return (*found, *(_part(ground, name, None) for name in OF_THE_PLAN if ground.verdict(name) is not None))


def _part(ground: Ground, name: str, own: Verdict | None) -> Part:
    """Return the worse of our own verdict and the plan's."""
    planned = ground.verdict(name)
    verdicts = [verdict for verdict in (own, None if planned is None else planned[0]) if verdict is not None]
    chance = None if planned is None else planned[1]
    return Part(id=name, verdict=worst_verdict(verdicts), own=own, probability=chance)


def _no_stump(reason: NoStump) -> Verdict:
    return "not assessed" if reason in ("edge_not_known", "no_angle") else "short"


def _height(ground: Ground) -> Verdict:
    """The mean of the walls and the lowest one that was read; height against width is advice and makes it doubtful only."""
    if ground.height_mm is None:
        return "not assessed"
    lowest, mean = float(ground.height_mm[ground.lowest()]), float(ground.height_mm[ground.read_stations()].mean())
    if mean < ground.height_limit_mm:
        return "short"
    broad = meets_height_to_width(mean, ground.neck.widest_mm[0])
    return "kept" if lowest >= ground.height_limit_mm and broad else "in doubt"


def _retention(ground: Ground, stump: Stump | NoStump) -> tuple[tuple[Cement, RetentionRange], ...]:
    if isinstance(stump, str):
        return ()
    return tuple((cement, retention_range(stump.wall_mm2, ground.convergence_deg, cement)) for cement in CEMENTS)


def _materials(ground: Ground) -> tuple[MaterialFit, ...]:
    """Return every class of material on the cross-section at the finish line, with the least height of the crown above it."""
    pulp_facial_oral, pulp_mesiodistal = pulp_mm(ground.tooth)
    above = None if ground.edge_mm is None else (ground.edge_mm - ground.finish_mm)[ground.read_stations()]
    return material_fits(
        Section(
            md_mm=ground.neck.mesiodistal_mm,
            bl_mm=ground.neck.facial_oral_mm,
            molar=ground.molar,
            pulp_md_mm=pulp_mesiodistal,
            pulp_bl_mm=pulp_facial_oral,
            edge_mm=None if above is None else max(0.0, float(above.min())),
            height_asked_mm=ground.height_limit_mm,
            from_handbook=not ground.neck.read,
        )
    )
