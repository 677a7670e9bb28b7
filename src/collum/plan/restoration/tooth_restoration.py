"""Will the restoration of a tooth hold: every route that is asked about, judged on its own finish line.

Judged on the line of the recommended route, else of each route that offers lines. Verdicts are over the draws of the plan;
the figures that are shown are those of the means, with the band that the draws give them.
"""

from dataclasses import dataclass

from collum.case.model import Patient, Tooth
from collum.core.crown.laboratory import MaterialFit, material_fits
from collum.core.crown.laboratory import Neck as Section
from collum.core.crown.retention import CEMENTS, Cement, RetentionRange, retention_range
from collum.plan.lengthening.planned import PlannedTooth
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.restoration.basis import RestorationBasis, basis_of
from collum.plan.restoration.ferrule import Ferrule, ferrule_of
from collum.plan.restoration.loss import Loss, loss_of
from collum.plan.restoration.parts import Part, joint_probability, parts_of, verdict_of
from collum.plan.restoration.posts import Pins, Post, pins_of, posts_of, pulp_mm
from collum.plan.restoration.preparation import NoPreparation, Preparation, preparation_of
from collum.plan.restoration.route_draws import route_draws
from collum.plan.restoration.support import Support, support_of
from collum.vocabulary import RouteName, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteRestoration:
    """The answer on one route. `preparation` is the reason if the route leaves no wall."""

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
        """The worst of the parts, or what the chance of all together makes of it."""
        return verdict_of(self.parts)

    @property
    def probability(self) -> float | None:
        """The share of draws in which every part holds; None where one is not assessed."""
        return joint_probability(self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothRestoration:
    """All that is said of one tooth. `support`: of every route that offers lines, judged in full or not.

    What is bonded over the cusps has no preparation to judge: such a route is among `support` alone.
    """

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
    crowned = [basis for basis in bases if not procedure_of(basis.route.name).bonds]
    recommended = [basis for basis in crowned if basis.route.name == planned.recommended]
    routes = tuple(_restoration(basis) for basis in recommended or crowned)
    return ToothRestoration(
        planned=planned,
        routes=routes,
        support=tuple((basis.route.name, support_of(basis)) for basis in bases),
        loss=loss_of(patient, planned, routes[0].posts if routes else ()),
    )


def _restoration(basis: RestorationBasis) -> RouteRestoration:
    draws = route_draws(basis)
    preparation, ferrule = preparation_of(basis, draws), ferrule_of(basis, draws)
    return RouteRestoration(
        basis=basis,
        preparation=preparation,
        retention=_retention(basis, preparation),
        ferrule=ferrule,
        posts=posts_of(basis, draws),
        pins=pins_of(basis),
        materials=_materials(basis),
        parts=parts_of(basis, draws, preparation, ferrule),
    )


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
