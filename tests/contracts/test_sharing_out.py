"""Which process runs which tests: every test once, browser tests in as few processes as keep all busy."""

from types import SimpleNamespace
from typing import Any

from xdist.remote import Producer

from tests.sharing_out import BROWSER, KNOWN_BEFOREHAND, ByFile

FILES = {"tests/app/test_a.py": 5, "tests/core/test_b.py": 1, "tests/web/test_c.py": 4, "tests/web/test_d.py": 1}
PAGES = {f"{BROWSER}test_e.py": 6, f"{BROWSER}test_f.py": 6}


class Process:
    """Stands in for a process of the run: keeps what it was given, in order, and how much of it at once."""

    def __init__(self, number: int, collected: list[str]) -> None:
        self.gateway = SimpleNamespace(id=f"gw{number}")
        self.collected, self.given, self.ran = collected, list[str](), list[str]()
        self.shutting_down = False

    def send_runtest_some(self, indices: list[int]) -> None:
        assert not self.shutting_down
        assert len(self.given) - len(self.ran) < KNOWN_BEFOREHAND, "it waits for this one while others may have none"
        self.given += [self.collected[index] for index in indices]

    def shutdown(self) -> None:
        self.shutting_down = True

    def next_test(self) -> str | None:
        """Return the test that runs now: as in a process, the last one only when it is known that none follows."""
        left = self.given[len(self.ran) :]
        return left[0] if len(left) >= KNOWN_BEFOREHAND or (left and self.shutting_down) else None


def shared_out(files: dict[str, int], processes: int = 3) -> list[Process]:
    """Run the tests of some files in turn in each process, and return what each ran."""
    collected = [f"{file}::test_{number}" for file, count in files.items() for number in range(count)]
    config: Any = SimpleNamespace(getvalue=lambda _: ["popen"] * processes, option=SimpleNamespace(loadscopereorder=False))
    sharing = ByFile(config, Producer("sharing", enabled=False))
    nodes: list[Any] = [Process(number, collected) for number in range(processes)]
    for node in nodes:
        sharing.add_node(node)
        sharing.add_node_collection(node, collected)
    sharing.schedule()
    while running := [(node, test) for node in nodes if (test := node.next_test()) is not None]:
        for node, test in running:
            node.ran.append(test)
            sharing.mark_test_complete(node, collected.index(test))
    assert sorted(test for node in nodes for test in node.ran) == sorted(collected)
    assert all(node.shutting_down for node in nodes)
    return nodes


def test_one_process_begins_with_the_browser_and_the_others_join_when_nothing_else_is_left() -> None:
    nodes = shared_out(FILES | PAGES)
    pages = [[test.startswith(BROWSER) for test in node.ran] for node in nodes]
    assert [of_node[0] for of_node in pages] == [True, False, False]
    assert all(of_node == sorted(of_node) for of_node in pages), "a process runs another test after one of the browser"
    assert sum(any(of_node) for of_node in pages) > 1


def test_the_others_take_no_browser_tests_while_there_is_something_else() -> None:
    nodes = shared_out({f"tests/app/test_{number}.py": 3 for number in range(20)} | PAGES)
    assert [any(test.startswith(BROWSER) for test in node.ran) for node in nodes] == [True, False, False]


def test_the_tests_of_a_file_stay_together_and_those_of_the_browser_need_not() -> None:
    nodes = shared_out(FILES | PAGES)
    for file in FILES:
        assert sum(any(test.startswith(file) for test in node.ran) for node in nodes) == 1
    alone = shared_out(PAGES)
    assert [len(node.ran) for node in alone] == [4, 4, 4]


def test_without_browser_tests_all_processes_run_the_others() -> None:
    assert all(node.ran for node in shared_out(FILES))
