"""The one reader of sentences: stored plans made before concessions were fields told them in `means` alone."""

from collum.plan.document import ConcessionsDocument, RouteDocument


def concessions_of(route: RouteDocument) -> ConcessionsDocument:
    """Return what a route of a plan gives up, whether the plan was stored with this field or before."""
    return from_old_sentences(route) if route.concessions is None else route.concessions


def from_old_sentences(route: RouteDocument) -> ConcessionsDocument:
    """Return the concessions of a route of an old plan, read from what it asks."""
    asked = {sentence.key: sentence.parameters for sentence in route.means}

    def figure(key: str, name: str) -> float | None:
        found = asked.get(key, {}).get(name)
        return None if found is None else float(found)

    return ConcessionsDocument(
        occlusal_reduction_mm=figure("plan.means.thinner", "reduction_mm"),
        convergence_deg=figure("plan.means.convergence", "convergence_deg"),
        grooves="plan.means.grooves" in asked,
        preparation_height_mm=figure("plan.means.height_with_grooves", "with_mm"),
    )
