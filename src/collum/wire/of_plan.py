"""What every answer on a plan repeats of it, so that it can be read alone."""

from typing import Any

from collum.wire.plan.document import PlanDocument

_REPEATED = ("case_reference", "invented", "safety_cleared", "safety_reason", "seed", "draws", "input_sha256")


def of_plan(plan: PlanDocument) -> dict[str, Any]:
    """Return the fields of a plan that restoration, bridge and heat have too."""
    return {name: getattr(plan, name) for name in _REPEATED}
