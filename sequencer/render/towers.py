"""Loads as towers of bricks, drawn in lines: one brick for each 1 of load, filled where the load is high. No colour is needed."""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.render.html import Markup, el
from sequencer.scenario.base_schema import Loads

_WIDE, _HIGH, _GAP = 28, 10, 5
"""A brick in tenths of a millimetre, and the room between two."""

_MOST_BRICKS = 8
"""On a scale that goes further a tower stands for its share of the greatest load."""


def towers(loads: Sequence[int | None], scale: Loads) -> Markup:
    """One tower for each lesson, in order; None is a spare period, a line on the ground."""
    bricks_high = min(scale.most, _MOST_BRICKS)
    highest = max((_bricks(load, scale, bricks_high) for load in loads if load is not None), default=0)
    height = highest * (_HIGH + _GAP) + 8
    drawn: list[Markup] = []
    for place, load in enumerate(loads):
        left = 2 + place * (_WIDE + 8)
        drawn.append(el("rect", x=left, y=height - 4, width=_WIDE, height=1))
        count = 0 if load is None else _bricks(load, scale, bricks_high)
        filled = load is not None and load >= scale.high
        for level in range(count):
            top = height - 8 - (level + 1) * (_HIGH + _GAP) + _GAP
            drawn.append(el("rect", x=left, y=top, width=_WIDE, height=_HIGH, class_="brick full" if filled else "brick"))
    width = 4 + len(loads) * (_WIDE + 8)
    return el(
        "svg", el("title", in_words(loads, scale)), *drawn,
        class_="towers", role="img", aria_label=in_words(loads, scale),
        viewBox=f"0 0 {width} {height}", width=f"{width / 10}mm", height=f"{height / 10}mm",
    )  # fmt: skip


def _bricks(load: int, scale: Loads, bricks_high: int) -> int:
    if scale.most <= _MOST_BRICKS:
        return min(load, bricks_high)
    return max(1, round(load * bricks_high / scale.most)) if load else 0


def in_words(loads: Sequence[int | None], scale: Loads) -> str:
    """What the towers say, for who cannot see them: ``Loads 2, 4: 6 in all, 1 of them high``."""
    stated = [load for load in loads if load is not None]
    if not stated:
        return "No lesson"
    if len(stated) == 1:
        return f"Load {stated[0]}{', high' if stated[0] >= scale.high else ''}"
    high = sum(load >= scale.high for load in stated)
    return f"Loads {', '.join(map(str, stated))}: {sum(stated)} in all, {high or 'none'} of them high"


def key(scale: Loads, spare: bool = True) -> str:
    """What towers mean, for the foot of a sheet; ``spare`` periods may stand among them."""
    each = "a brick for each 1 of load" if scale.most <= _MOST_BRICKS else "the more bricks, the greater the load"
    ground = "; a bare line is a spare period" if spare else ""
    return f"Towers: {each}, filled where the load is high ({scale.high} or more){ground}."


STYLE = """
.towers { display: block; overflow: visible }
.towers rect { fill: #000 }
.towers .brick { fill: none; stroke: #000; stroke-width: 2 }
.towers .full { fill: #000; stroke: none }
"""
