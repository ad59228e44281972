"""From asks to painted words: the ink under the map, placing, and painting of plates, halos, cards and leaders."""

from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath

from mapper.draw.labels import Ask, InkMap, Obstacle, Placed, Placing, place
from mapper.draw.lettering import font, metrics
from mapper.draw.palette import Palette
from mapper.draw.strokes import pen
from mapper.draw.view import View

_CELL_MM = 0.5


def ink_under(view: View, draw: Callable[[QPainter], None]) -> InkMap:
    """Return how dark the map is, from a small picture of it; draw(painter) paints in the view's units on white."""
    cell = _CELL_MM * view.px_per_mm
    w, h = max(int(view.size[0] / cell), 1), max(int(view.size[1] / cell), 1)
    image = QImage(w, h, QImage.Format.Format_Grayscale8)
    image.fill(255)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(1 / cell, 1 / cell)
    draw(painter)
    painter.end()
    grey = np.frombuffer(image.constBits(), np.uint8).reshape(h, image.bytesPerLine())[:, :w]
    paper = float(np.bincount(grey.ravel(), minlength=256).argmax())
    return InkMap(np.abs(grey.astype(float) - paper) / 255.0, cell)


def place_words(view: View, asks: Sequence[Ask], ink: InkMap, obstacles: Sequence[Obstacle]) -> Placing:
    """Return the words placed inside the view, a little in from its frame."""
    inset = 0.8 * view.px_per_mm
    frame = (inset, inset, view.size[0] - inset, view.size[1] - inset)
    return place(asks, frame, ink, obstacles, view.px_per_mm)


def paint_words(painter: QPainter, placing: Placing, mm: float, ink: Palette) -> None:
    """Paint leaders first, then every label; mm is painter units per mm."""
    for one in placing.placed:
        if one.leader is not None:
            a, b = QPointF(*one.leader[:2]), QPointF(*one.leader[2:])
            for colour, width in ((ink.plate, 0.8), (ink.ink, 0.25)):
                painter.setPen(pen(colour, width * mm))
                painter.drawLine(a, b)
    for one in placing.placed:
        _label(painter, one, mm, ink)


def _label(painter: QPainter, one: Placed, mm: float, ink: Palette) -> None:
    left, top, right, bottom = one.box
    box = QRectF(left, top, right - left, bottom - top)
    if one.ask.look == "card":
        _card(painter, box, one.ask, mm, ink)
        return
    if one.ask.look == "plate":
        painter.setPen(pen(ink.ink, 0.25 * mm))
        painter.setBrush(QColor(ink.plate))
        painter.drawRect(box)
        painter.setBrush(Qt.BrushStyle.NoBrush)
    elif one.ask.look == "black":
        painter.fillRect(box, QColor(ink.ink))
    m = metrics(one.ask.size_pt, one.ask.bold, mm)
    line = box.height() / len(one.ask.lines)
    for k, words in enumerate(one.ask.lines):
        x = box.center().x() - m.horizontalAdvance(words) / 2
        y = box.top() + line * (k + 0.5) + (m.capHeight() / 2)
        if one.ask.look == "halo":
            _halo(painter, x, y, words, one.ask, mm, ink)
        painter.setPen(QColor(ink.plate if one.ask.look == "black" else ink.ink if one.ask.bold else ink.soft))
        painter.setFont(font(one.ask.size_pt, one.ask.bold, mm))
        painter.drawText(QPointF(x, y), words)


def _halo(painter: QPainter, x: float, y: float, words: str, ask: Ask, mm: float, ink: Palette) -> None:
    path = QPainterPath()
    path.addText(QPointF(x, y), font(ask.size_pt, ask.bold, mm), words)
    stroke = pen(ink.plate, 1.0 * mm, flat=False)
    painter.strokePath(path, stroke)


def _card(painter: QPainter, box: QRectF, ask: Ask, mm: float, ink: Palette) -> None:
    painter.setPen(pen(ink.ink, 0.4 * mm))
    painter.setBrush(QColor(ink.plate))
    painter.drawRoundedRect(box, mm, mm)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    head = metrics(16, True, mm)
    wide = head.horizontalAdvance(ask.lines[0]) + 2.6 * mm
    painter.setFont(font(16, True, mm))
    left = QRectF(box.left(), box.top(), wide, box.height())
    painter.drawText(left, Qt.AlignmentFlag.AlignCenter, ask.lines[0])
    if len(ask.lines) > 1:
        painter.setPen(pen(ink.ink, 0.2 * mm))
        painter.drawLine(QPointF(left.right(), box.top() + mm), QPointF(left.right(), box.bottom() - mm))
        painter.setPen(QColor(ink.ink))
        painter.setFont(font(ask.size_pt, True, mm))
        right = QRectF(left.right(), box.top(), box.right() - left.right(), box.height())
        painter.drawText(right, Qt.AlignmentFlag.AlignCenter, "\n".join(ask.lines[1:]))
