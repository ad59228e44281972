"""The marks of the key, painted by the same painters as the map."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from mapper.draw import marks, symbols
from mapper.draw.asburnt import STROKES, stroke
from mapper.draw.palette import DARK, LIGHT, Palette
from mapper.draw.scene import EXPOSED
from mapper.record.states import STATES
from mapper.window import looks

WIDE, HIGH, MM = 34, 19, 3.2
MOST = 12
Draw = Callable[[QPainter, Palette], None]


class Mark(QWidget):
    """One mark of the key."""

    def __init__(self, draw: Draw) -> None:
        super().__init__()
        self._draw = draw
        self.setFixedSize(WIDE, HIGH)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it as the map does."""
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw(p, DARK if looks.colours(self).dark else LIGHT)


def _line() -> Any:
    return np.array([[2.0, HIGH / 2], [WIDE - 2.0, HIGH / 2]])


def _teeth(solid: bool) -> Draw:
    return lambda p, ink: marks.teeth(p, _line() + np.array([0.0, 4.0]), -1.0, 2.6, ink, solid)


def _rows(colour: str, width: float, dashes: Qt.PenStyle = Qt.PenStyle.SolidLine) -> Draw:
    def draw(p: QPainter, ink: Palette) -> None:
        p.setPen(QPen(QColor(getattr(ink, colour)), width, dashes))
        for y in (5, 10, 15):
            p.drawLine(2, y, WIDE - 2, y)

    return draw


def _stroke(colour: str, width: float, dashes: Qt.PenStyle) -> Draw:
    def draw(p: QPainter, ink: Palette) -> None:
        p.setPen(QPen(QColor(getattr(ink, colour)), width, dashes))
        p.drawLine(2, HIGH // 2, WIDE - 2, HIGH // 2)

    return draw


def _burnt(state: str) -> Draw:
    return lambda p, ink: stroke(p, _line(), state, MM, ink, 0.8 * MM)


def _symbol(kind: str) -> Draw:
    return lambda p, ink: symbols.ASSET_SYMBOLS[kind](p, np.array([WIDE / 2, HIGH / 2]), 2.9, ink)


def _smoke(p: QPainter, ink: Palette) -> None:
    p.setPen(QPen(QColor(ink.soft), 1.8, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    for k in range(12):
        p.drawPoint(5 + 8 * (k % 4) + 4 * (k // 4 % 2), 4 + 6 * (k // 4))


def _points(shade: int) -> Draw:
    def draw(p: QPainter, ink: Palette) -> None:
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(QColor(ink.points[shade] if shade >= 0 else ink.track))
        for x in (6, 13, 20, 27):
            p.drawEllipse(QRectF(x - 2.5, HIGH / 2 - 2.5, 5, 5))

    return draw


def _heap(p: QPainter, ink: Palette) -> None:
    p.setPen(Qt.PenStyle.NoPen)
    p.setBrush(QColor(ink.ink))
    p.drawEllipse(QRectF(WIDE / 2 - 2.6, HIGH / 2 - 2.6, 5.2, 5.2))


def _dot(p: QPainter, ink: Palette) -> None:
    symbols.light_dot(p, np.array([WIDE / 2, HIGH / 2]), MM, ink, True)


def _out(p: QPainter, ink: Palette) -> None:
    marks.way_out(p, _line(), 2.4, ink)


def _strip(narrow: bool) -> Draw:
    return lambda p, ink: marks.break_strip(p, _line(), 5.0, narrow, 2.4, ink)


def _care(p: QPainter, ink: Palette) -> None:
    p.setPen(QPen(QColor(ink.soft), 1.2, Qt.PenStyle.DashLine))
    p.drawRoundedRect(QRectF(4, 3, WIDE - 8, HIGH - 6), 4, 4)


def marks_of(layers: Mapping[str, Any], hidden: set[str]) -> list[tuple[str, QWidget]]:
    """Return the marks of the layers that the map shows, the most telling first, at most twelve."""
    found: list[tuple[str, Draw]] = []
    if layers.get("track") is not None and "track" not in hidden:
        track = layers["track"]
        found += [
            (words, _points(k if "shade" in track.columns else -1)) for k, words in enumerate(track.attrs["words"])
        ]

    def have(layer: str, part: str = "") -> bool:
        return layers.get(layer) is not None and len(layers[layer]) > 0 and (part or layer) not in hidden

    if have("edges"):
        edges = layers["edges"]
        if (edges["label"] == EXPOSED).any():
            found.append(("Exposed at this hour", _teeth(True)))
        if ((edges["label_after"] == EXPOSED) & (edges["label"] != EXPOSED)).any():
            found.append(("Exposed after the change", _teeth(False)))
    if have("arrival"):
        found.append(("Fire there in so many minutes", _stroke("fire", 2.4, Qt.PenStyle.SolidLine)))
    if have("breaks"):
        short = layers["breaks"]["short_m"] > 0
        if short.any():
            found.append(("Break too narrow", _strip(True)))
        if (~short).any():
            found.append(("Break wide enough", _strip(False)))
    elif have("breaks_there"):
        found.append(("Break", _strip(False)))
    if have("row_parts"):
        states = set(layers["row_parts"]["state"])
        found += [(STATES.get(s, "Not written down"), _burnt(s)) for s in STROKES if s in states]
    if have("escapes"):
        found.append(("Fire that got away", _care))
    if have("pieces") and layers["pieces"]["lit_at"].notna().any() and "fronts" not in hidden:
        found.append(("Alight at this hour", _rows("fire", 2.0)))
        found.append(("Burnt by then", _rows("burnt", 1.8)))
    if have("pieces"):
        found.append(("Rows, every 5th bold", _rows("row", 1.0)))
        if (layers["pieces"]["left_reason"] != "").any():
            found.append(("Leave: do not light", _rows("row", 1.2, Qt.PenStyle.DotLine)))
    elif have("windrows"):
        load = layers["windrows"]["load_class"]
        for name, words, colour, width in (
            ("light", "Row, too light", "row_light", 1.0), ("heavy", "Row, too heavy", "row_heavy", 2.0),
        ):  # fmt: skip
            if (load == name).any():
                found.append((words, _rows(colour, width)))
        if (~load.isin(["light", "heavy"])).any():
            found.append(("Row", _rows("row", 1.2)))
    if have("heaps") and not have("pieces"):
        found.append(("Heap", _heap))
    if have("blocks"):
        found.append(("Block edge", _stroke("ink", 2.2, Qt.PenStyle.DashLine)))
    if have("lighting_points", "lighting"):
        found.append(("Light here", _dot))
    if have("ways_out"):
        found.append(("Way out", _out))
    if have("smoke"):
        found.append(("Smoke", _smoke))
    if have("buffers"):
        found.append(("Care distance", _care))
    if have("assets", "symbols"):
        kinds = set(layers["assets"]["kind"])
        for kind, words in (
            ("water", "Water"),
            ("gate", "Gate"),
            ("house", "House"),
            ("shed", "Shed"),
            ("tree", "Tree"),
        ):
            if kind in kinds and kind in symbols.ASSET_SYMBOLS:
                found.append((words, _symbol(kind)))
    return [(words, Mark(draw)) for words, draw in found[:MOST]]
