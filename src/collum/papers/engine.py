"""The typesetting engine: a template and data in, PDF bytes out; here, or as a program that sets one paper after another.

Run as a program (`typesetting.PROGRAM`) it imports nothing of Collum, so that it is there at once. It reads one paper a line
from its standard input and answers with the length of the PDF in a line, then the PDF. It ends with its input, and at the
first fault.
"""

import json
import signal
import sys
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

import typst

if TYPE_CHECKING:
    from typst import PDFStandard

_STANDARDS: "list[PDFStandard]" = ["a-2a", "ua-1"]


def compiled(source: str, inputs: Mapping[str, str], *, made_at: str, root: str) -> bytes:
    """Return the PDF of a template, given its inputs; the engine sees no file outside `root` and its own fonts alone.

    It checks that the PDF can be kept (PDF/A-2a) and read aloud (PDF/UA-1).
    """
    compiler = typst.Compiler(source.encode(), root=root, ignore_system_fonts=True, sys_inputs=dict(inputs))
    made = compiler.compile(format="pdf", pdf_standards=_STANDARDS, timestamp=datetime.fromisoformat(made_at))
    assert isinstance(made, bytes)
    return made


def main() -> None:
    """Set the papers of the standard input; the one argument is an empty folder."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C at the terminal is for whoever asks for papers
    _limit()
    for line in sys.stdin.buffer:
        pdf = compiled(**json.loads(line), root=sys.argv[1])
        sys.stdout.buffer.write(b"%d\n" % len(pdf) + pdf)
        sys.stdout.buffer.flush()


def _limit() -> None:
    """Let this process write no file and no image of itself, and open no file and no connection, where the platform can."""
    if sys.platform == "win32":
        return
    import resource

    for what, most in ((resource.RLIMIT_FSIZE, 0), (resource.RLIMIT_CORE, 0), (resource.RLIMIT_NOFILE, 3)):
        resource.setrlimit(what, (most, most))


if __name__ == "__main__":
    main()
