"""Set up what one target of the Makefile needs, then hand over to it: `python3 tools/bootstrap.py LEVEL [COMMAND ...]`.

Every Python can read this file, however old, so that one that is too old ends with a sentence and not with a fault of syntax.
What the levels are and how they are set up is in `tools/set_up.py`.
"""

import os
import sys

LOWEST = (3, 11)

if sys.version_info < LOWEST:
    sentence = "collum: Collum needs Python 3.11 or later; this one is %d.%d. Name another with PY=3.13.\n"
    sys.stderr.write(sentence % tuple(sys.version_info[:2]))
    sys.exit(1)

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))

from tools import set_up  # noqa: E402 - an older Python cannot even read it

if __name__ == "__main__":
    sys.exit(set_up.main(sys.argv[1:]))
