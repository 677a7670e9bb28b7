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
from collum.plan.lengthening.planned import PlannedTooth
from collum.plan.lengthening.requirements.verdict import worst_verdict
from collum.plan.restoration.basis import RestorationBasis, basis_of
from collum.plan.restoration.ferrule import Ferrule, ferrule_of
from collum.plan.restoration.loss import Loss, loss_of
from collum.plan.restoration.posts import Pins, Post, pins_of, posts_of, pulp_mm
from collum.plan.restoration.preparation import NoPreparation, Preparation, preparation_of
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
    """The answer on one route. `preparation` says why where there is none."""

    basis: RestorationBasis
    preparation: Preparation | NoPreparation
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

    planned: PlannedTooth
    routes: tuple[RouteRestoration, ...]
    support: tuple[tuple[RouteName, Support], ...]
    loss: Loss | None

    @property
    def tooth(self) -> Tooth:
        return self.planned.tooth


def restoration_of_tooth(planned: PlannedTooth, patient: Patient) -> ToothRestoration:
    """Return the answer for one tooth from its plan."""
    bases = [basis_of(planned, route) for route in planned.routes if route.lines is not None]
    recommended = [basis for basis in bases if basis.route.name == planned.recommended]
    routes = tuple(_restoration(basis) for basis in recommended or bases)
    return ToothRestoration(
        planned=planned,
        routes=routes,
        support=tuple((basis.route.name, support_of(basis)) for basis in bases),
        loss=loss_of(patient, planned, routes[0].posts if routes else ()),
    )


def _restoration(basis: RestorationBasis) -> RouteRestoration:
    preparation, ferrule = preparation_of(basis), ferrule_of(basis)
    return RouteRestoration(
        basis=basis,
        preparation=preparation,
        retention=_retention(basis, preparation),
        ferrule=ferrule,
        posts=posts_of(basis),
        pins=pins_of(basis),
        materials=_materials(basis),
        parts=_parts(basis, preparation, ferrule),
    )


def _parts(basis: RestorationBasis, preparation: Preparation | NoPreparation, ferrule: Ferrule) -> tuple[Part, ...]:
    own: dict[str, Verdict] = {
        "resistance": _no_preparation(preparation) if isinstance(preparation, str) else preparation.verdict,
        "preparation_height": _height(basis),
        "ferrule": ferrule.verdict,
    }
    found = [_part(basis, name, verdict) for name, verdict in own.items()]
    return (*found, *(_part(basis, name, None) for name in OF_THE_PLAN if basis.verdict(name) is not None))


def _part(basis: RestorationBasis, name: str, own: Verdict | None) -> Part:
    """Return the worse of our own verdict and the plan's."""
    planned = basis.verdict(name)
    verdicts = [verdict for verdict in (own, None if planned is None else planned[0]) if verdict is not None]
    chance = None if planned is None else planned[1]
    return Part(id=name, verdict=worst_verdict(verdicts), own=own, probability=chance)


def _no_preparation(reason: NoPreparation) -> Verdict:
    return "not assessed" if reason in ("edge_not_known", "no_angle") else "short"


def _height(basis: RestorationBasis) -> Verdict:
    """The mean of the walls and the lowest one that was read; height against width is advice and makes it doubtful only."""
    if basis.height_mm is None:
        return "not assessed"
    lowest, mean = float(basis.height_mm[basis.lowest()]), float(basis.height_mm[basis.read_stations()].mean())
    if mean < basis.height_limit_mm:
        return "short"
    broad = meets_height_to_width(mean, basis.neck.widest_mm[0])
    return "kept" if lowest >= basis.height_limit_mm and broad else "in doubt"


def _retention(basis: RestorationBasis, preparation: Preparation | NoPreparation) -> tuple[tuple[Cement, RetentionRange], ...]:
    if isinstance(preparation, str):
        return ()
    return tuple((cement, retention_range(preparation.wall_mm2, basis.convergence_deg, cement)) for cement in CEMENTS)


def _materials(basis: RestorationBasis) -> tuple[MaterialFit, ...]:
    """Return every class of material on the cross-section at the finish line, with the least height of the crown above it."""
    pulp_facial_oral, pulp_mesiodistal = pulp_mm(basis.tooth)
    above = None if basis.edge_mm is None else (basis.edge_mm - basis.finish_mm)[basis.read_stations()]
    return material_fits(
        Section(
            md_mm=basis.neck.mesiodistal_mm,
            bl_mm=basis.neck.facial_oral_mm,
            molar=basis.molar,
            pulp_md_mm=pulp_mesiodistal,
            pulp_bl_mm=pulp_facial_oral,
            edge_mm=None if above is None else max(0.0, float(above.min())),
            height_asked_mm=basis.height_limit_mm,
            from_handbook=not basis.neck.read,
        )
    )
