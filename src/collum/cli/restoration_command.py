"""`collum restoration`: a case file in, whether its restorations will hold out."""

from collections.abc import Callable, Mapping

from collum.cli.case_file import read_case
from collum.cli.options import AsJson, CaseFile, Draws, Errors, Seed, Tooth
from collum.cli.planned import planned_case, settings_of


def restoration(
    case: CaseFile,
    json: AsJson = False,
    seed: Seed = None,
    draws: Draws = None,
    tooth: Tooth = None,
    errors: Errors = "text",
) -> None:
    document = read_case(case)

    from collum.app.plans.restoration import restorations_of_plan

    found = restorations_of_plan(document, planned_case(document, seed, settings_of(draws), tooth))
    if json:
        print(found.model_dump_json())
        return
    from collum.cli.restoration_text import print_restorations

    print_restorations(found)


COMMANDS: Mapping[str, Callable[..., None]] = {"restoration": restoration}
