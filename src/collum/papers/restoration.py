"""The restoration sheet: will it hold, question by question, with sections, rings, post window, materials and support.

It shows an answer that was worked out from the plan; below it says by which version of the program.
"""

from collections.abc import Iterable
from typing import Any

from collum.papers.answer import Answer, worked_out
from collum.papers.head import Content, PaperHead, Plan, head_content
from collum.papers.restoration_rings import rings_svg
from collum.papers.restoration_section import section_svg
from collum.papers.restoration_tables import restoration_tables
from collum.papers.restoration_walls import Walls, walls_said
from collum.papers.restoration_window import window_svg
from collum.plan.sentence import Sentence
from collum.wire.restoration.document import RouteRestorationDocument, ToothRestorationDocument
from collum.wording import side_name, text

_TITLES = (
    "questions",
    "changes",
    "retention",
    "optimum",
    "posts",
    "materials",
    "laboratory",
    "support",
    "old_crown",
    "assumed",
    "not_assessed",
    "limits",
    "numbers",
)
_SIDES = ("facial", "mesial", "oral", "distal")
_RULES = ("apical_seal", "molar_most", "crown_height", "half_of_root_in_bone", "two_thirds_of_root")
_STATES = ("none", "thin wall", "short", "not assessed", "enough, wall not measured", "enough")
_PERCENT = 100


def restoration_content(
    plan: Plan, tooth: Plan, found: ToothRestorationDocument, answer: Answer, head: PaperHead, walls: Walls
) -> Content:
    """Return what stands on the sheet."""
    shown = _shown(found, tooth)
    return {
        **head_content(plan, tooth, head, "restoration", None),
        **restoration_tables(found, shown, answer),
        "titles": {name: text(f"paper.restoration.heading.{name}") for name in _TITLES},
        "verdict_line": text(f"paper.restoration.verdict.{shown.verdict.replace(' ', '_')}", {"route": shown.route}),
        "because": found.because.text,
        "answer": [sentence.text for sentence in shown.answer[1:]],
        "others": [one.answer[0].text for one in found.routes if one.route != shown.route],
        "section_said": _section_said(found.number, shown),
        "walls_said": [] if shown.stump is None else walls_said(walls, found.number, post=_may_carry_post(shown)),
        "rings_said": text("paper.restoration.rings_said"),
        "stump_absent": None if shown.stump_absent is None else shown.stump_absent.text,
        "optimum": [one.said.text for one in shown.ferrule.optimum] + [one.text for one in shown.ferrule.optimum_said],
        "posts": [
            {"root": text(f"restoration.root.{post.root}"), "said": [one.text for one in post.said] + _opened(post.openers)}
            for post in shown.posts
        ],
        "windows": [name for name, _ in _windows(shown)],
        "laboratory": [sentence.text for sentence in shown.laboratory],
        "assumed": [sentence.text for sentence in found.assumed],
        "not_assessed": [sentence.text for sentence in found.not_assessed] or [text("paper.restoration.nothing_more")],
        "limits": [sentence.text for sentence in answer.limits],
        "worked_out": worked_out(answer),
    }


def restoration_drawings(tooth: Plan, found: ToothRestorationDocument, answer: Answer, walls: Walls) -> dict[str, str]:
    """Return the drawings by name: sections, rings, and one window for every root that may carry a post."""
    shown = _shown(found, tooth)
    sides = {side: side_name(side, found.number) for side in _SIDES}
    weakest = 0 if shown.stump is None else int(_PERCENT * shown.stump.weakest_share)
    ring = {
        **sides,
        **{state: text(f"restoration.sector.{state.replace(',', '_').replace(' ', '_')}") for state in _STATES},
        "loaded": text("paper.restoration.loaded"),
        "no_stump": text("paper.restoration.no_stump"),
        "weakest": text("paper.restoration.percent", {"percent": weakest}),
    }
    convergence = text("paper.restoration.degrees", {"convergence_deg": shown.convergence_deg})
    return {
        "section": section_svg(found.number, shown, {**sides, "convergence": convergence}, answer.value, walls),
        "rings": rings_svg(found.number, shown, ring),
        **dict(_windows(shown)),
    }


def _windows(shown: RouteRestorationDocument) -> list[tuple[str, str]]:
    labels = {rule: text(f"restoration.rule.{rule}") for rule in _RULES}
    labels["length"] = text("paper.restoration.length")
    drawn = [post for post in shown.posts if any(rule.length_mm is not None for rule in post.rules)]
    return [(f"window_{post.root}", window_svg(post, labels)) for post in drawn]


def _shown(found: ToothRestorationDocument, tooth: Plan) -> RouteRestorationDocument:
    """Return the route shown whole: of several the likeliest to keep its rules."""
    chance = {route["name"]: route["joint_probability"] or 0 for route in tooth["routes"]}
    return max(found.routes, key=lambda one: chance.get(one.route, 0))


def _may_carry_post(shown: RouteRestorationDocument) -> bool:
    return any(post.status != "no post" for post in shown.posts)


def _section_said(number: int, shown: RouteRestorationDocument) -> str:
    widths: dict[str, str | float] = {
        "inner": side_name("oral", number),
        "facial_oral_mm": shown.facial_oral_mm,
        "mesiodistal_mm": shown.mesiodistal_mm,
    }
    return text("paper.restoration.section_said" if shown.stump else "paper.restoration.section_without_stump", widths)


def _opened(openers: Iterable[Any]) -> list[str]:
    return [opener.said.text for opener in openers]


def words(sentence: Sentence) -> str:
    """Return the words of a sentence of the plan."""
    return text(sentence.key, sentence.parameters)
