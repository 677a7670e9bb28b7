"""All procedures in the order of their burden, looked up by name once: a plan or a paper asks the procedure, not its name."""

from collections.abc import Mapping

from collum.plan.lengthening.procedures.bone_surgery import BONE_SURGERY
from collum.plan.lengthening.procedures.extrusion import EXTRUSION
from collum.plan.lengthening.procedures.margin_elevation import MARGIN_ELEVATION
from collum.plan.lengthening.procedures.partial_coverage import PARTIAL_COVERAGE
from collum.plan.lengthening.procedures.procedure import Procedure
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.lengthening.procedures.without_lengthening import WITHOUT_LENGTHENING

PROCEDURES: tuple[Procedure, ...] = tuple(
    sorted(
        (WITHOUT_LENGTHENING, MARGIN_ELEVATION, PARTIAL_COVERAGE, SOFT_TISSUE, BONE_SURGERY, EXTRUSION),
        key=lambda procedure: procedure.burden,
    )
)
_BY_NAME: Mapping[str, Procedure] = {procedure.id: procedure for procedure in PROCEDURES}


def procedure_of(name: str) -> Procedure:
    """Return the procedure of a route. Raises KeyError for a name that no version knows."""
    return _BY_NAME[name]
