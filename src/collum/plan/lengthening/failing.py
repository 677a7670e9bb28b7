"""A route that fails: it is not assessed, and the other routes do not fall with it.

The parts that compute know no log and make no ids: whoever asks for a plan hands in how a fault of our own is noted.
"""

from collections.abc import Callable
from typing import NoReturn

from collum.plan.lengthening.route import Route
from collum.vocabulary import RouteName

Note = Callable[[Exception], str]  # notes a fault of our own and returns the id it is found by


def raised(error: Exception) -> NoReturn:
    """Let a fault end the plan, where nobody notes it."""
    raise error


def attempted(name: RouteName, make: Callable[[], Route], note: Note) -> Route:
    """Return the route that `make` gives, or one that is not assessed where it fails."""
    try:
        return make()
    except Exception as error:  # whatever it is, it is one route that could not be worked out
        return failed_route(name, note(error))


def failed_route(name: RouteName, fault_id: str) -> Route:
    """Return a route that could not be worked out: nothing is offered, and nothing is said against it."""
    return Route(name=name, verdict="not assessed", set_aside="failed", fault_id=fault_id)
