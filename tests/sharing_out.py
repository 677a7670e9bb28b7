"""How the tests are shared out to processes: by file, the browser tests to as few processes as keep all busy."""

from xdist.scheduler import LoadScopeScheduling
from xdist.workermanage import WorkerController

BROWSER = "tests/browser/"
# Long files without shared set-up, or with one that each process has once.
ONE_BY_ONE = (BROWSER, "tests/judged/test_generated_cases.py", "tests/demo/test_demo_practice.py")
KNOWN_BEFOREHAND = 2  # a process begins a test when it knows the next one


class ByFile(LoadScopeScheduling):
    """Gives the tests of a file to one process, but those of long files to whichever is free.

    One process begins with the browser tests: they wait for pages while the others compute, and all use one server and one
    browser. Others join when nothing else is left. Whoever has run one takes no other test any more: the driver of the
    browser leaves an event loop running. None is given more than it needs to go on, so that none waits at the end for another
    that holds several long tests.
    """

    def _split_scope(self, nodeid: str) -> str:
        return nodeid if nodeid.startswith(ONE_BY_ONE) else nodeid.split("::")[0]

    def _assign_work_unit(self, node: WorkerController) -> None:
        unit = self._next_for(node)
        if unit is not None:
            self.workqueue.move_to_end(unit, last=False)
            super()._assign_work_unit(node)

    def _reschedule(self, node: WorkerController) -> None:
        if node.shutting_down or self._pending_of(self.assigned_work[node]) >= KNOWN_BEFOREHAND:
            return
        if self._next_for(node) is None:
            node.shutdown()
        else:
            self._assign_work_unit(node)

    def _next_for(self, node: WorkerController) -> str | None:
        """Return the unit that a process is to be given next; None where there is none that it may run."""
        browser = next((unit for unit in self.workqueue if unit.startswith(BROWSER)), None)
        other = next((unit for unit in self.workqueue if not unit.startswith(BROWSER)), None)
        if self._is_at_the_browser(node):
            return browser
        if any(map(self._is_at_the_browser, self.nodes)):
            return other or browser
        return browser or other

    def _is_at_the_browser(self, node: WorkerController) -> bool:
        return any(unit.startswith(BROWSER) for unit in self.assigned_work[node])
