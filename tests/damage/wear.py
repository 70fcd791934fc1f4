"""Pictures of a worn symbol as a camera sees it. All randomness comes from the given generator.

A symbol is drawn at a fine scale, worn there (blots, scratches, loss, dead print-head dots, growth
of the ink), then photographed: bent round a cylinder, turned, tilted, blurred, faded, glared on,
with noise. Lengths are in millimetres; the camera has ``SCALE`` pixels to the millimetre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from labels.qr import Symbol

Picture = NDArray[np.uint8]

BOX_MM = 28.2
SCALE = 8.0
MARGIN_MM = 6.0
_FINE = 24.0  # dots to the millimetre while wearing
_BENCH, _PAPER, _INK = 110.0, 235.0, 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """How one symbol suffered and how it was photographed; the default is a clean tag."""

    blot: float = 0.0  # share of the box under one dark blot
    loss: float = 0.0  # share of the box rubbed white
    scratches: int = 0
    scratch_mm: float = 0.2
    dead_dots: int = 0  # print-head dots that do not print: white lines along the feed
    growth: float = 0.0  # the ink's spread in modules, both edges together
    blur_mm: float = 0.0
    contrast: float = 1.0
    tilt: float = 0.0  # degrees
    cylinder_mm: float = 0.0  # diameter; 0 is flat
    turned: float = 0.0  # degrees the tag faces away on the cylinder
    glare_mm: float = 0.0  # width of a saturated stripe along the axis
    scale: float = SCALE
    noise: float = 3.0


def worn(symbol: Symbol, wear: Wear, source: np.random.Generator) -> Picture:
    """The symbol in its box, printed and worn, at the fine scale; paper 235, ink 25."""
    units = symbol.size + 8
    side = round(BOX_MM * _FINE)
    modules = np.array([[int(m) for m in row] for row in symbol.rows], dtype=np.uint8)
    full = np.zeros((units, units), dtype=np.uint8)
    full[4:-4, 4:-4] = modules
    ink = cv2.resize(full, (side, side), interpolation=cv2.INTER_NEAREST)
    module = side / units
    if wear.growth:
        spread = max(1, round(wear.growth * module / 2) * 2 + 1)
        ink = cv2.dilate(ink, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (spread, spread)))
    for _ in range(wear.dead_dots):
        at = int(source.integers(round(4 * module), round(side - 4 * module)))
        ink[:, at : at + round(_FINE / 8)] = 0
    paper = np.where(ink > 0, _INK, _PAPER).astype(np.float32)
    _blot(paper, wear.blot, _INK, source)
    _blot(paper, wear.loss, _PAPER, source)
    for _ in range(wear.scratches):
        _scratch(paper, wear.scratch_mm, source)
    return paper.astype(np.uint8)


def _blot(
    paper: NDArray[np.float32], share: float, tone: float, source: np.random.Generator
) -> None:
    """One irregular blot of the given share of the box, anywhere on it."""
    if not share:
        return
    side = paper.shape[0]
    radius = math.sqrt(share * side * side / math.pi)
    centre = source.uniform(radius / 2, side - radius / 2, 2)
    angles = np.linspace(0, 2 * math.pi, 40, endpoint=False)
    wobble = 1 + 0.25 * np.sin(3 * angles + source.uniform(0, 6.3))
    wobble += 0.12 * np.sin(7 * angles + source.uniform(0, 6.3))
    points = np.stack(
        [
            centre[0] + radius * wobble * np.cos(angles),
            centre[1] + radius * wobble * np.sin(angles),
        ],
        axis=1,
    )
    cv2.fillPoly(paper, [points.astype(np.int32)], tone)


def _scratch(paper: NDArray[np.float32], width_mm: float, source: np.random.Generator) -> None:
    """A nearly straight line: most rub ink off (light), a third are filled with dirt (dark)."""
    side = paper.shape[0]
    angle = source.uniform(0, math.pi)
    through = source.uniform(0.2 * side, 0.8 * side, 2)
    reach = side * source.uniform(0.15, 0.5)
    ends = [
        (
            int(through[0] + sign * reach * math.cos(angle)),
            int(through[1] + sign * reach * math.sin(angle + source.uniform(-0.05, 0.05))),
        )
        for sign in (-1, 1)
    ]
    tone = _PAPER if source.random() < 2 / 3 else _INK
    cv2.line(paper, ends[0], ends[1], tone, max(1, round(width_mm * _FINE)))


def photographed(tag: Picture, wear: Wear, source: np.random.Generator) -> Picture:
    """The camera's grey picture of a worn tag (one symbol or several side by side)."""
    height, width = tag.shape
    margin = round(MARGIN_MM * _FINE)
    scene = np.full((height + 2 * margin, width + 2 * margin), _BENCH, dtype=np.float32)
    scene[margin:-margin, margin:-margin] = tag
    if wear.glare_mm:
        _glare(scene, wear, source)
    if wear.glare_mm:
        _glare(scene, wear, source)
    scene = _bent(scene, wear)
    if wear.blur_mm:
        scene = cv2.GaussianBlur(scene, (0, 0), wear.blur_mm * _FINE).astype(np.float32)
    scene = _seen(scene, wear, source)
    scene = (scene - 128) * wear.contrast + 128
    scene = scene + source.normal(0, wear.noise, scene.shape)
    return np.clip(scene, 0, 255).astype(np.uint8)


def _bent(scene: NDArray[np.float32], wear: Wear) -> NDArray[np.float32]:
    """Seen from far on a cylinder whose axis is upright, the tag turned away by an angle."""
    if not wear.cylinder_mm:
        return scene
    radius = wear.cylinder_mm / 2 * _FINE
    height, width = scene.shape
    turned = math.radians(wear.turned)
    half = width / 2 / radius
    left = radius * math.sin(max(turned - half, -math.pi / 2 + 0.01))
    right = radius * math.sin(min(turned + half, math.pi / 2 - 0.01))
    seen = np.arange(left, right, dtype=np.float32)
    along = (np.arcsin(np.clip(seen / radius, -1, 1)) - turned) * radius + width / 2
    rows = np.arange(height, dtype=np.float32)
    map_x = np.repeat(along[None, :].astype(np.float32), height, axis=0)
    map_y = np.repeat(rows[:, None], len(seen), axis=1)
    return cv2.remap(
        scene, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=_BENCH
    ).astype(np.float32)


def _seen(
    scene: NDArray[np.float32], wear: Wear, source: np.random.Generator
) -> NDArray[np.float32]:
    """Tilted, turned at random in the picture, and sampled by the camera."""
    height, width = scene.shape
    shrink = wear.scale / _FINE
    narrow = math.cos(math.radians(wear.tilt))
    far = 1 - 0.12 * math.sin(math.radians(wear.tilt))  # the far edge is a little smaller
    corners = np.array(
        [
            [-width / 2 * far, -height / 2 * narrow],
            [width / 2 * far, -height / 2 * narrow],
            [width / 2, height / 2 * narrow],
            [-width / 2, height / 2 * narrow],
        ]
    )
    angle = source.uniform(0, 2 * math.pi)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    placed = corners @ turn.T * shrink
    placed -= placed.min(axis=0) - 4
    size = np.ceil(placed.max(axis=0) + 4).astype(int)
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)
    matrix = cv2.getPerspectiveTransform(flat, placed.astype(np.float32))
    smooth = cv2.GaussianBlur(scene, (0, 0), 0.4 / shrink)  # the lens, against aliasing
    return cv2.warpPerspective(
        smooth, matrix, (int(size[0]), int(size[1])), borderValue=_BENCH
    ).astype(np.float32)


def _glare(scene: NDArray[np.float32], wear: Wear, source: np.random.Generator) -> None:
    """A saturated stripe along the cylinder's axis, somewhere else in each picture."""
    width = scene.shape[1]
    at = source.uniform(0.1, 0.9) * width
    half = wear.glare_mm * _FINE / 2
    light = 255 * np.exp(-(((np.arange(width) - at) / half) ** 4))
    np.maximum(scene, light[None, :].astype(np.float32), out=scene)


def pair(left: Picture, right: Picture) -> Picture:
    """Two worn symbols as they stand on a tag, side by side."""
    return np.hstack([left, right])
