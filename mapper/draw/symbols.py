"""Point symbols, drawn from paths so that they print black, sharp and alike at every size.

Each function draws round position `at` (painter units); `mm` is painter units per mm of paper. Sizes are those at
which the marks were still told apart in a third photocopy and under a red torch.
"""

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath

from mapper.draw.lettering import font
from mapper.draw.palette import Palette
from mapper.draw.strokes import path_of, pen, polygon
from mapper.farm.ranged import Array

Symbol = Callable[[QPainter, Array, float, Palette], None]


def _shape(
    painter: QPainter,
    at: Array,
    mm: float,
    corners: list[tuple[float, float]],
    fill: str,
    line: str = "",
    width: float = 0,
) -> None:
    painter.setPen(pen(line, width * mm) if line else Qt.PenStyle.NoPen)
    painter.setBrush(QColor(fill) if fill else Qt.BrushStyle.NoBrush)
    painter.drawPolygon(polygon(np.asarray(at) + np.array(corners) * mm))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _disc(
    painter: QPainter, at: Array | tuple[float, float], radius: float, fill: str, line: str = "", width: float = 0.0
) -> None:
    painter.setPen(pen(line, width) if line else Qt.PenStyle.NoPen)
    painter.setBrush(QColor(fill) if fill else Qt.BrushStyle.NoBrush)
    painter.drawEllipse(QPointF(float(at[0]), float(at[1])), radius, radius)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def light_dot(painter: QPainter, at: Array, mm: float, ink: Palette, heavy: bool = False) -> None:
    """Where to put fire to a row: a dot, larger on every fifth."""
    _disc(painter, at, (1.0 if heavy else 0.6) * mm, ink.fire, ink.ink, 0.22 * mm)


def start(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Where lighting starts: a disc with a triangle."""
    _disc(painter, at, 2.4 * mm, ink.ink, ink.plate, 0.4 * mm)
    _shape(painter, at, mm, [(-0.8, -1.25), (1.5, 0), (-0.8, 1.25)], ink.plate)


def finish(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Where lighting ends: a square with a hole."""
    _shape(painter, at, mm, [(-2.1, -2.1), (2.1, -2.1), (2.1, 2.1), (-2.1, 2.1)], ink.ink, ink.plate, 0.4)
    _shape(painter, at, mm, [(-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)], ink.plate)


def safe_ground(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Safe ground, where heads are counted: a ringed cross."""
    _disc(painter, at, 2.5 * mm, ink.plate, ink.ink, 0.3 * mm)
    _disc(painter, at, 2.0 * mm, ink.out)
    arm, half = 1.3, 0.42
    for w, h in ((arm, half), (half, arm)):
        _shape(painter, at, mm, [(-w, -h), (w, -h), (w, h), (-w, h)], ink.plate)


def water(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Water: a disc with two waves."""
    _disc(painter, at, 2.1 * mm, ink.water, ink.ink, 0.3 * mm)
    painter.setPen(pen(ink.plate, 0.45 * mm, flat=False))
    x = np.linspace(-1.25, 1.25, 13)
    for dy in (-0.55, 0.6):
        wave = np.column_stack([x, dy + 0.35 * np.sin(x * np.pi / 1.25)]) * mm
        painter.drawPath(path_of(wave + at))


def gate(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Gate: two posts and rails."""
    _shape(painter, at, mm, [(-1.7, -1.4), (1.7, -1.4), (1.7, 1.4), (-1.7, 1.4)], ink.plate)
    painter.setPen(pen(ink.ink, 0.5 * mm))
    for x in (-1.5, 1.5):
        painter.drawLine(QPointF(at[0] + x * mm, at[1] - 1.5 * mm), QPointF(at[0] + x * mm, at[1] + 1.5 * mm))
    painter.setPen(pen(ink.ink, 0.25 * mm))
    for y in (-0.7, 0.7):
        painter.drawLine(QPointF(at[0] - 1.5 * mm, at[1] + y * mm), QPointF(at[0] + 1.5 * mm, at[1] + y * mm))
    painter.drawLine(QPointF(at[0] - 1.5 * mm, at[1] + 0.7 * mm), QPointF(at[0] + 1.5 * mm, at[1] - 0.7 * mm))


def unit(painter: QPainter, at: Array, mm: float, ink: Palette, number: str = "1") -> None:
    """Fire unit: a box with its number."""
    _shape(painter, at, mm, [(-2.2, -1.5), (2.2, -1.5), (2.2, 1.5), (-2.2, 1.5)], ink.plate, ink.ink, 0.35)
    _shape(painter, at, mm, [(-2.2, -1.5), (-0.9, -1.5), (-0.9, 1.5), (-2.2, 1.5)], ink.ink)
    painter.setPen(QColor(ink.ink))
    painter.setFont(font(8, True, mm))
    painter.drawText(
        QRectF(at[0] - 0.9 * mm, at[1] - 1.6 * mm, 3.1 * mm, 3.2 * mm), Qt.AlignmentFlag.AlignCenter, number
    )


def house(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """House: solid, with a door."""
    roof = [(-1.9, -0.2), (0, -2.0), (1.9, -0.2), (1.5, -0.2), (1.5, 1.7), (-1.5, 1.7), (-1.5, -0.2)]
    _shape(painter, at, mm, roof, ink.ink, ink.plate, 0.3)
    _shape(painter, at, mm, [(-0.4, 0.4), (0.4, 0.4), (0.4, 1.7), (-0.4, 1.7)], ink.plate)


def shed(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Shed: hollow, with a slanting roof."""
    _shape(painter, at, mm, [(-1.7, -0.6), (1.7, -1.5), (1.7, 1.5), (-1.7, 1.5)], ink.plate, ink.ink, 0.4)


def haystack(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Hay stack: three bales."""
    painter.setBrush(QColor(ink.plate))
    painter.setPen(pen(ink.ink, 0.35 * mm))
    for x, y in ((-1.8, 0.0), (0.0, 0.0), (-0.9, -1.5)):
        painter.drawRect(QRectF(at[0] + x * mm, at[1] + y * mm, 1.8 * mm, 1.5 * mm))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def tree(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Tree: a scalloped crown."""
    turn = np.linspace(0, 2 * np.pi, 49)
    radius = 1.35 + 0.22 * np.abs(np.sin(3.5 * turn))
    crown = np.column_stack([np.cos(turn), np.sin(turn)]) * (radius * mm)[:, None]
    painter.setPen(pen(ink.ink, 0.28 * mm))
    painter.setBrush(QColor(ink.plate))
    painter.drawPath(path_of(crown + at, closed=True))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _disc(painter, at, 0.3 * mm, ink.ink)


def vine(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Vineyard: a bunch of three on a post."""
    painter.setPen(pen(ink.ink, 0.4 * mm))
    painter.drawLine(QPointF(at[0], at[1] - 1.9 * mm), QPointF(at[0], at[1] - 0.6 * mm))
    for x, y in ((-0.7, -0.2), (0.7, -0.2), (0.0, 1.0)):
        _disc(painter, np.asarray(at) + np.array([x, y]) * mm, 0.7 * mm, ink.ink, ink.plate, 0.15 * mm)


def pole(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Power pole: a ring with a dot."""
    _disc(painter, at, 0.9 * mm, ink.plate, ink.ink, 0.35 * mm)
    _disc(painter, at, 0.3 * mm, ink.ink)


def danger(painter: QPainter, at: Array, mm: float, ink: Palette) -> None:
    """Danger of electricity: a bolt in a triangle."""
    _shape(painter, at, mm, [(0, -2.2), (2.3, 1.8), (-2.3, 1.8)], ink.care, ink.ink, 0.45)
    bolt = [(0.35, -1.1), (-0.7, 0.55), (-0.05, 0.5), (-0.4, 1.5), (0.75, -0.05), (0.1, 0.0)]
    _shape(painter, at, mm, bolt, "#000000")


def wind_arrow(
    painter: QPainter,
    at: Array,
    mm: float,
    ink: Palette,
    towards_deg: float,
    length_mm: float = 14.0,
    hollow: bool = False,
) -> None:
    """An arrow flying with the wind; towards_deg clockwise from the picture's top. Hollow: after the change."""
    turn, half = np.radians(towards_deg), length_mm / 2
    ahead, right = np.array([np.sin(turn), -np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    shape = [(-half, 0.13), (0.05 * half, 0.13), (0.05 * half, 0.33), (half, 0.0),
             (0.05 * half, -0.33), (0.05 * half, -0.13), (-half, -0.13)]  # fmt: skip
    corners = np.array([ahead * a + right * s * length_mm for a, s in shape]) * mm + at
    path = QPainterPath()
    path.addPolygon(polygon(corners))
    path.closeSubpath()
    painter.setPen(pen(ink.ink, 0.4 * mm))
    painter.setBrush(QColor(ink.plate if hollow else ink.ink))
    painter.drawPath(path)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def north_arrow(painter: QPainter, at: Array, mm: float, ink: Palette, bearing_deg: float, letter: bool = True) -> None:
    """North arrow, half filled, turned to where grid north lies in the picture, its letter at the tip."""
    turn = np.radians(bearing_deg)
    ahead, right = np.array([np.sin(turn), -np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    at = np.asarray(at, dtype=float)
    tip, tail = at + ahead * 4 * mm, at - ahead * 2.2 * mm
    for side, fill in ((1, ink.ink), (-1, ink.plate)):
        wing = at - ahead * 3.6 * mm + right * side * 1.9 * mm
        painter.setPen(pen(ink.ink, 0.3 * mm))
        painter.setBrush(QColor(fill))
        painter.drawPolygon(polygon(np.array([tip, wing, tail])))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if letter:
        painter.setPen(QColor(ink.ink))
        painter.setFont(font(10, True, mm))
        centre = tip + ahead * 2.3 * mm
        box = QRectF(centre[0] - 3 * mm, centre[1] - 3 * mm, 6 * mm, 6 * mm)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, "N")


def magnetic_arrow(painter: QPainter, at: Array, mm: float, ink: Palette, bearing_deg: float) -> None:
    """Where a compass points: a thin line with half a head and an M, beside the north arrow."""
    turn = np.radians(bearing_deg)
    ahead, right = np.array([np.sin(turn), -np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    foot = np.asarray(at, dtype=float) - ahead * 3.6 * mm + np.array([3.4 * mm, 0.0])
    tip = foot + ahead * 7.0 * mm
    painter.setPen(pen(ink.ink, 0.3 * mm))
    painter.drawLine(QPointF(*foot), QPointF(*tip))
    painter.drawLine(QPointF(*tip), QPointF(*(tip - ahead * 2.0 * mm + right * 1.1 * mm)))
    painter.setFont(font(8, True, mm))
    centre = tip + ahead * 2.0 * mm
    painter.drawText(QRectF(centre[0] - 3 * mm, centre[1] - 3 * mm, 6 * mm, 6 * mm), Qt.AlignmentFlag.AlignCenter, "M")


# Symbols of asset kinds that stand as a point (farm/assets.py).
ASSET_SYMBOLS: dict[str, Symbol] = {
    "house": house, "shed": shed, "haystack": haystack, "tree": tree, "trees": tree, "vineyard": vine, "pole": pole,
    "water": water, "gate": gate, "town": house,
}  # fmt: skip
# Half the size in mm that a symbol covers, for keeping words off it.
SYMBOL_REACH_MM = 2.6
