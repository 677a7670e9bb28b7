"""How much each kind of treatment asks of the patient, and from which chance on it is recommended: what is cut stays cut."""

from dataclasses import dataclass

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.procedures.procedure import Procedure


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the burden of a treatment depends on. `two_operations`: the patient accepts a second one; None: not asked."""

    limits: PlanLimits
    visible: bool
    one_root: bool
    two_operations: bool | None

    @property
    def raised_before_bone(self) -> bool:
        """Whether the tooth is raised before bone is taken: bone taken beside it would show."""
        return self.visible and self.one_root


def circumstances_of(tooth: Tooth, limits: PlanLimits) -> Circumstances:
    """Return what the burden of treating a tooth depends on."""
    return Circumstances(
        limits=limits,
        visible=tooth.restoration.visible_zone is True,
        one_root=not anatomy.furcation_trunks_mm(tooth.number),
        two_operations=tooth.facts.two_operations_accepted,
    )


def burden_of(procedure: Procedure, around: Circumstances) -> float:
    """Return the burden of a procedure; a crown that neither cuts nor raises a margin has none."""
    limits = around.limits
    if procedure.raises_tooth:
        return limits.burden_extrusion_visible_one_root if around.raised_before_bone else limits.burden_extrusion
    if procedure.takes_bone:
        return limits.burden_bone_visible if around.visible else limits.burden_bone
    if procedure.raises_margin:
        return limits.burden_elevation
    return limits.burden_gum if procedure.lengthens else 0.0


def least_chance(procedure: Procedure, around: Circumstances) -> float:
    """Return the chance from which a procedure in doubt is recommended; a first cut of gum has conditions of its own."""
    limits = around.limits
    if procedure.moves_crest:
        return limits.least_chance_bone_or_extrusion_visible if around.visible else limits.least_chance_bone_or_extrusion
    return limits.least_chance_without_cutting
