"""`python -m tests.golden` compares every golden answer; `renew` keeps the new ones and prints what moved, for the commit."""

import sys

from tests.golden.comparing import all_answers, differences, table
from tests.golden.store import read_answers, write_answers

SHOWN = 40


def main(arguments: list[str]) -> int:
    """Compare, or renew; return 1 where something differs and is not renewed."""
    if arguments not in ([], ["renew"]):
        print("usage: python -m tests.golden [renew]", file=sys.stderr)
        return 2
    before, now = read_answers(), all_answers()
    found = differences(before, now)
    if arguments:
        write_answers(now)
        print("\n".join(table(found)) if before else "made for the first time")
        return 0
    for one in found[:SHOWN]:
        print(one)
    print(f"{len(found)} fields differ" if found else "every answer is as it was")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
