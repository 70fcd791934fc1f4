"""Drawings in a unit square, as filled polygons: the shape carries the meaning, not a colour.

``clean``: a ring with a tick. ``not_clean``: an eight-sided stop with a bar across. ``unknown``:
a triangle with an exclamation mark. Painted in order, black and white.
"""

from __future__ import annotations

import math
from typing import Literal

Point = tuple[float, float]
Polygon = tuple[Point, ...]
Painted = tuple[Polygon, Literal["black", "white"]]


def ring(sides: int, radius: float, turn: float = 0.0, centre: Point = (0.5, 0.5)) -> Polygon:
    """A regular polygon; ``turn`` in parts of one side."""
    steps = ((number + turn) * 2 * math.pi / sides for number in range(sides))
    return tuple(
        (centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle))
        for angle in steps
    )


def circle(centre: Point, radius: float) -> Polygon:
    """A circle as a polygon fine enough for 600 dots to the inch."""
    return ring(96, radius, centre=centre)


def _bar(start: Point, end: Point, thick: float) -> Polygon:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    ox, oy = -dy / length * thick / 2, dx / length * thick / 2
    return (
        (start[0] + ox, start[1] + oy),
        (end[0] + ox, end[1] + oy),
        (end[0] - ox, end[1] - oy),
        (start[0] - ox, start[1] - oy),
    )


def _triangle(inset: float) -> Polygon:
    return (
        (0.5, 0.04 + inset * 1.9),
        (0.98 - inset * 1.65, 0.92 - inset),
        (0.02 + inset * 1.65, 0.92 - inset),
    )


ICONS: dict[str, tuple[Painted, ...]] = {
    "clean": (
        (circle((0.5, 0.5), 0.5), "black"),
        (circle((0.5, 0.5), 0.41), "white"),
        (_bar((0.25, 0.51), (0.47, 0.73), 0.12), "black"),
        (_bar((0.40, 0.73), (0.74, 0.30), 0.12), "black"),
    ),
    "not_clean": (
        (ring(8, 0.5412, 0.5), "black"),
        (ring(8, 0.45, 0.5), "white"),
        (ring(8, 0.40, 0.5), "black"),
        (_bar((0.24, 0.5), (0.76, 0.5), 0.16), "white"),
    ),
    "unknown": (
        (_triangle(0.0), "black"),
        (_triangle(0.075), "white"),
        (_bar((0.5, 0.36), (0.5, 0.63), 0.10), "black"),
        (circle((0.5, 0.745), 0.06), "black"),
    ),
    "stop": (
        (ring(8, 0.5412, 0.5), "black"),
        (_bar((0.28, 0.28), (0.72, 0.72), 0.15), "white"),
        (_bar((0.72, 0.28), (0.28, 0.72), 0.15), "white"),
    ),
}
