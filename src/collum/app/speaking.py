"""Words for what the inner parts say by key."""

from collum.case import Fault
from collum.plan import Sentence
from collum.wording import text


def words(sentence: Sentence) -> str:
    """Return the words of a sentence of the plan."""
    return text(sentence.key, sentence.parameters)


def fault_line(fault: Fault) -> str:
    """Return one line for a fault: where, what, what is allowed."""
    found = "" if fault.value is None else f" ({fault.value})"
    return f"{fault.where}: {said(fault.what.key, fault.what.parameters)}{found}; {text('cli.allowed')}: {said(fault.allowed.key, fault.allowed.parameters)}"


def fault_document(fault: Fault) -> dict[str, str | None]:
    """Return a fault as the error shape has it: where, what, allowed, value."""
    return {
        "where": fault.where,
        "what": said(fault.what.key, fault.what.parameters),
        "allowed": said(fault.allowed.key, fault.allowed.parameters),
        "value": fault.value,
    }


said = text
