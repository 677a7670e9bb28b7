"""What was counted aloud at the time-out, held against what is planned."""

from dataclasses import dataclass

from collum.core import tooth as anatomy
from collum.core.tooth import Arch, Side
from collum.evidence.safety_layers import INSTRUMENT_OF, Instrument
from collum.evidence.safety_rules import Procedure


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """`planned` is the tooth of the plan; `position` was counted from the midline, 1 to 8, on one side of a jaw."""

    planned: int
    jaw: Arch
    side: Side
    position: int
    instrument: Instrument

    @property
    def tooth(self) -> int:
        """The tooth that was counted."""
        return anatomy.counted(self.jaw, self.side, self.position)


class WrongTimeOut(ValueError):
    """What was said is not what is planned; `what` is "tooth" or "instrument", with the two."""

    def __init__(self, what: str, *, said: str, planned: str) -> None:
        self.what = what
        self.said = said
        self.planned = planned
        super().__init__(f"{what}: {said} for {planned}")


def check_counted(counted: Counted, procedure: Procedure) -> None:
    """Raise WrongTimeOut where another tooth was counted, or another instrument named than the procedure needs."""
    if counted.tooth != counted.planned:
        raise WrongTimeOut("tooth", said=str(counted.tooth), planned=str(counted.planned))
    if counted.instrument != INSTRUMENT_OF[procedure]:
        raise WrongTimeOut("instrument", said=counted.instrument, planned=INSTRUMENT_OF[procedure])
