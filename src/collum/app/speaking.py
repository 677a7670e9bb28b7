"""Words for what the inner parts say by key."""

from collum.case import Fault
from collum.plan import Sentence
from collum.wording import text


def words(sentence: Sentence) -> str:
    """Return the words of a sentence of the plan."""
    return text(sentence.key, sentence.parameters)


def fault_line(fault: Fault) -> str:
    """Return one line for a fault: where, what, what is allowed. What cannot be printed in a line is replaced."""
    told = {name: printable(value) for name, value in fault_document(fault).items() if value is not None}
    return text("cli.fault.line" if fault.value is None else "cli.fault.line_with_value", told)


def printable(found: str) -> str:
    """Return the text with every character that a line cannot show replaced."""
    return "".join(character if character.isprintable() else "?" for character in found)


def fault_document(fault: Fault) -> dict[str, str | None]:
    """Return a fault as the error shape has it: where, what, allowed, value."""
    return {
        "where": fault.where,
        "what": text(fault.what.key, fault.what.parameters),
        "allowed": text(fault.allowed.key, fault.allowed.parameters),
        "value": fault.value,
    }
