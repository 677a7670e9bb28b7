"""The numbers a plan used: those its requirements rest on in full, all others in one line each."""

from collum.papers.head import Content, Plan
from collum.wording import text

_ALWAYS = ("neck.attachment.mean_mm", "healing.own_height.mid_mm", "healing.own_height.proximal_mm")


def numbers_content(plan: Plan, tooth: Plan) -> Content:
    """Return both tables of constants."""
    rules = {key for route in tooth["routes"] for r in route["requirements"] for key in r["evidence"]}
    times = {step["evidence"] for route in tooth["routes"] for step in route.get("timing", [])}
    named = rules | times | set(_ALWAYS)
    resting = [c for c in plan["constants"] if c["key"] in named]
    others = [c for c in plan["constants"] if c["key"] not in named]
    return {
        "resting_columns": [text(f"paper.plan.constant_{name}") for name in ("meaning", "value", "range", "source", "status")],
        "resting": [
            [c["meaning"], _amount(c["value"], c["unit"]), _range(c), c["citation"], text(f"paper.status.{c['status']}")]
            for c in resting
        ],
        "others": [
            text(
                "paper.plan.constant_line",
                {
                    "key": c["key"],
                    "value": _amount(c["value"], c["unit"]),
                    "range": _range(c),
                    "status": text(f"paper.status.{c['status']}"),
                    "source": c["source"],
                },
            )
            for c in others
        ],
    }


def _amount(number: float, unit: str) -> str:
    return _plain(number) if unit == "1" else f"{_plain(number)} {unit}"


def _range(constant: Plan) -> str:
    return text("paper.plan.constant_span", {"low": _plain(constant["low"]), "high": _plain(constant["high"])})


def _plain(number: float) -> str:
    """Return the number as the registry holds it, with a true minus."""
    return f"{number:g}".replace("-", "\N{MINUS SIGN}")
