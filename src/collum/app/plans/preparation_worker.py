"""The process in which a mesh file is read and judged: bytes on the standard input, the answer or one fault on the output.

Everything is imported first. Then the limits are set: memory, processor time, no file written and no further file or
connection opened, whatever the bytes make the readers do. On Windows, which has no such limits, the time alone is watched.
"""

import json
import sys

from collum.app.plans.preparation import ANSWER, MOST_MEGABYTES, MOST_SECONDS, ScanRefused, judge_bytes
from collum.plan.preparation import Wanted
from collum.readers import MOST_BYTES
from collum.wording import Names, keys, name_by

_MEGABYTE = 2**20


def main() -> int:
    """Judge the standard input as the first argument asks, in the names of the second. Return the exit status."""
    wanted = Wanted(**json.loads(sys.argv[1]))
    name_by(Names(**json.loads(sys.argv[2])))
    keys()  # reads the catalogue
    limit()
    try:
        found = judge_bytes(sys.stdin.buffer.read(MOST_BYTES + 1), wanted)
    except ScanRefused as refused:
        sys.stdout.write(json.dumps({"fault": refused.fault}))
        return 0
    sys.stdout.buffer.write(ANSWER + found.model_dump_json().encode() + b"}")
    return 0


def limit() -> None:
    """Set the limits of this process, where the platform has any."""
    if sys.platform == "win32":
        return
    import resource

    for what, most, hard in (
        (resource.RLIMIT_AS, MOST_MEGABYTES * _MEGABYTE, 0),
        (resource.RLIMIT_CPU, MOST_SECONDS, 1),  # one second later: the signal at the first limit says what it was
        (resource.RLIMIT_FSIZE, 0, 0),
        (resource.RLIMIT_CORE, 0, 0),
        (resource.RLIMIT_NOFILE, 3, 0),
    ):
        resource.setrlimit(what, (most, most + hard))


if __name__ == "__main__":
    sys.exit(main())
