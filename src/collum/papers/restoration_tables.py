"""The tables of the restoration sheet."""

from collections.abc import Iterable

from collum.papers.answer import Answer, number_line
from collum.papers.head import Content, mm, ratio
from collum.wire.restoration.document import RouteRestorationDocument, ToothRestorationDocument
from collum.wording import route_name, text

_COLUMNS = {
    "questions": ("question", "verdict", "chance", "because"),
    "changes": ("change", "share", "more", "costs"),
    "retention": ("cement", "force", "known"),
    "materials": ("material", "line", "axial", "occlusal", "height", "lacks", "across", "hazard"),
    "support": ("route", "ratio", "norm", "attached", "furcation", "grade"),
    "old_crown": ("side", "because", "source"),
    "pins": ("size", "number", "depth", "core", "state"),
}


def restoration_tables(found: ToothRestorationDocument, shown: RouteRestorationDocument, answer: Answer) -> Content:
    """Return columns and rows of every table."""
    rows = {
        "questions": _questions(shown),
        "changes": _changes(shown),
        "retention": _retention(shown),
        "materials": _materials(shown),
        "support": _support(found),
        "old_crown": _old_crown(found, answer),
        "pins": _pins(shown),
    }
    return {
        "tables": {
            name: {"columns": [text(f"cli.restoration.column.{column}") for column in columns], "rows": rows[name]}
            for name, columns in _COLUMNS.items()
        },
        "old_crown_said": [] if found.old_crown is None else [one.text for one in found.old_crown.said],
        "old_crown_absent": None if found.old_crown_absent is None else found.old_crown_absent.text,
        "numbers": [number_line(answer.constant(key)) for key in _keys(found, shown)],
    }


def _questions(shown: RouteRestorationDocument) -> list[list[str]]:
    return [
        [
            text(f"restoration.question.{part.id}"),
            text(f"restoration.verdict.{_key(part.verdict)}"),
            text("paper.none") if part.probability is None else text("paper.chance", {"share": part.probability}),
            " ".join(sentence.text for sentence in part.said),
        ]
        for part in shown.parts
    ]


def _changes(shown: RouteRestorationDocument) -> list[list[str]]:
    gains = [] if shown.stump is None else shown.stump.gains
    return [[one.said.text, _percent(one.weakest_share), mm(one.gained_mm2), mm(one.removed_mm3)] for one in gains]


def _retention(shown: RouteRestorationDocument) -> list[list[str]]:
    return [
        [
            text(f"restoration.cement.{one.cement}"),
            text("cli.restoration.range", {"low": f"{one.low_n:.0f}", "high": f"{one.high_n:.0f}"}),
            text(f"restoration.status.{one.status}"),
        ]
        for one in shown.retention
    ]


def _materials(shown: RouteRestorationDocument) -> list[list[str]]:
    return [
        [
            text(f"restoration.material.{one.material}"),
            mm(one.finish_line_mm),
            mm(one.axial_mm),
            mm(one.occlusal_mm),
            mm(one.height_mm),
            mm(one.height_short_mm),
            mm(min(one.across_facial_oral_mm, one.across_mesiodistal_mm)),
            text(f"restoration.hazard.{_key(one.hazard)}"),
        ]
        for one in shown.materials
    ]


def _support(found: ToothRestorationDocument) -> list[list[str]]:
    rows = []
    for one in found.support:
        known = one.before_ratio is not None and one.after_ratio is not None
        rows.append(
            [
                route_name(one.route),
                text("cli.restoration.to", {"before": one.before_ratio or 0, "after": one.after_ratio or 0})
                if known
                else text("paper.none"),
                text("paper.none") if one.norm_ratio is None else ratio(one.norm_ratio),
                text("cli.restoration.to", {"before": one.attached_before_share, "after": one.attached_after_share}),
                mm(min((furcation.finish_mm for furcation in one.furcations), default=None)),
                text(f"restoration.grade.{_key(one.grade_after)}"),
            ]
        )
    return rows


def _old_crown(found: ToothRestorationDocument, answer: Answer) -> list[list[str]]:
    grounds = [] if found.old_crown is None else found.old_crown.grounds
    return [
        [
            text(f"restoration.side.{_key(one.side)}"),
            one.said.text,
            ", ".join(dict.fromkeys(answer.constant(key).citation for key in one.evidence)) or text("paper.none"),
        ]
        for one in grounds
        if one.side != "not assessed"
    ]


def _pins(shown: RouteRestorationDocument) -> list[list[str]]:
    return [
        [
            text("cli.restoration.hundredths", {"mm": one.diameter_mm}),
            str(len(one.pins)),
            mm(one.in_dentine_mm),
            mm(one.core_mm),
            text(f"restoration.enough.{_key(one.state)}"),
        ]
        for one in shown.pins
    ]


def _keys(found: ToothRestorationDocument, shown: RouteRestorationDocument) -> Iterable[str]:
    """Return the constants that stand behind the verdicts, each once."""
    keys = [key for part in shown.parts for key in part.evidence]
    keys += [one.evidence for one in shown.retention]
    keys += [rule.evidence for post in shown.posts for rule in post.rules]
    keys += [key for support in found.support for key in support.evidence]
    return dict.fromkeys(keys)


def _percent(share: float | None) -> str:
    return text("paper.none") if share is None else f"{100 * share:.0f}"


def _key(word: str) -> str:
    return word.replace(" ", "_")
