"""Words for what the inner parts say by key."""

from collections.abc import Mapping

from collum.case import Fault
from collum.plan import Sentence
from collum.wording import text


def words(sentence: Sentence) -> str:
    """Return the words of a sentence of the plan."""
    return text(sentence.key, sentence.parameters)


def fault_line(fault: Mapping[str, str | None]) -> str:
    """Return one line for a fault (`where`, `what`, `allowed`, `value`); what a line cannot show in it is replaced."""
    told = {name: printable(value) for name, value in fault.items() if value is not None}
    return text("cli.fault.line_with_value" if "value" in told else "cli.fault.line", told)


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
