"""The post window of a root as a drawing in SVG: each rule as a line over the lengths it allows, in tenths of a millimetre."""

from collections.abc import Mapping
from html import escape

from collum.wire.restoration.parts_document import PostDocument

WIDTH = 1760
_LEFT, _RIGHT, _ROW, _HEAD = 640, 60, 40, 30


def window_svg(post: PostDocument, labels: Mapping[str, str]) -> str:
    """Return the drawing of one root; `labels` names the rules by their key and the axis under "length"."""
    rules = [rule for rule in post.rules if rule.length_mm is not None]
    longest = max([rule.length_mm or 0 for rule in rules] + [post.root_mm or 1])
    height = _HEAD + _ROW * len(rules) + 66
    floor = _HEAD + _ROW * len(rules)

    def x(mm: float) -> float:
        return _LEFT + max(mm, 0) / longest * (WIDTH - _LEFT - _RIGHT)

    body = []
    if post.clash is None and post.low_mm is not None and post.high_mm is not None:
        low, high = x(post.low_mm), x(post.high_mm)
        body.append(
            f'<rect x="{low:.1f}" y="{_HEAD - 24}" width="{high - low:.1f}" height="{floor - _HEAD + 38}" fill="#ddd"/>'
        )
    for row, rule in enumerate(rules):
        mm, y = rule.length_mm or 0, _HEAD + _ROW * row
        end = WIDTH - _RIGHT if rule.at_least else _LEFT
        body.append(f'<path d="M{x(mm):.1f} {y}H{end}" stroke="black" stroke-width="6"/>')
        body.append(f'<path d="M{x(mm):.1f} {y - 14}v28" stroke="black" stroke-width="4"/>')
        body.append(f'<text x="{_LEFT - 20}" y="{y + 10}" text-anchor="end">{escape(labels[rule.rule])} {mm:.1f}</text>')
    body.append(f'<path d="M{_LEFT} {floor + 14}H{WIDTH - _RIGHT}" stroke="black" stroke-width="1.5"/>')
    for mm in range(0, int(longest) + 1, 2):
        body.append(f'<path d="M{x(mm):.1f} {floor + 14}v10" stroke="black" stroke-width="1.5"/>')
        body.append(f'<text x="{x(mm):.1f}" y="{floor + 56}" text-anchor="middle">{mm}</text>')
    body.append(
        f'<text x="{_LEFT - 20}" y="{floor + 56}" text-anchor="end" font-style="italic">{escape(labels["length"])}</text>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" font-family="Libertinus Serif" font-size="30">'
        f"{''.join(body)}</svg>"
    )
