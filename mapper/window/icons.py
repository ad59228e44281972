"""The window's own icons: strokes on a 20 grid, painted in any colour at any scale."""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPainterPath, QPen, QPixmap

# M move, L line, Q quadratic, C cubic, Z close, O circle (centre, radius), R rectangle (x, y, w, h).
STROKES: dict[str, str] = {
    "pick": "M 6 3 L 6 15 L 9 12.2 L 11.2 16.8 L 13 16 L 10.9 11.5 L 14.8 11.2 Z",
    "move": "M 10 3 L 10 17 M 3 10 L 17 10 M 8 5 L 10 3 L 12 5 M 8 15 L 10 17 L 12 15 M 5 8 L 3 10 L 5 12 "
    "M 15 8 L 17 10 L 15 12",
    "draw": "M 5 6 L 12 4 L 16 9 L 13.5 15.5 L 5.5 14.5 Z O 5 6 1.3 O 12 4 1.3 O 16 9 1.3 O 13.5 15.5 1.3 O "
    "5.5 14.5 1.3",
    "corners": "M 3.5 15 L 5 5 L 11 5 M 9.5 9.5 L 16 16 M 16 11.5 L 16 16 L 11.5 16 R 3.7 3.7 2.6 2.6",
    "split": "R 3 5 14 10 M 11.5 2.5 L 8.5 17.5",
    "merge": "R 3 5 6 10 R 11 5 6 10 M 6 10 L 14 10 M 8 8 L 6 10 L 8 12 M 12 8 L 14 10 L 12 12",
    "inside": "R 3 4 14 12 R 6 7 8 6",
    "water": "M 10 3 C 13 7 15 9.4 15 12 C 15 15 12.8 17 10 17 C 7.2 17 5 15 5 12 C 5 9.4 7 7 10 3 Z M 8 "
    "12.6 Q 8.4 14.4 10 14.6",
    "gate": "M 4 5 L 4 16 M 16 5 L 16 16 M 4 7.5 L 16 7.5 M 4 13.5 L 16 13.5 M 4 13.5 L 16 7.5",
    "house": "M 3.5 10 L 10 4 L 16.5 10 M 5.5 8.6 L 5.5 16 L 14.5 16 L 14.5 8.6 M 9 16 L 9 12 L 11.5 12 L 11.5 16",
    "tree": "O 10 7.5 4.5 M 10 12 L 10 17.5 M 10 9.5 L 12 7.8",
    "measure": "M 3.5 13 L 13 3.5 L 16.5 7 L 7 16.5 Z M 6.3 10.2 L 8 11.9 M 8.6 7.9 L 9.9 9.2 M 10.9 5.6 L 12.6 7.3",
    "row_draw": "M 3 6.5 L 12 6.5 M 3 10.5 L 9 10.5 M 3 14.5 L 12 14.5 M 15 8 L 15 13 M 12.5 10.5 L 17.5 10.5",
    "row_move": "M 3 5 L 17 5 M 3 15 L 17 15 M 3 10 L 6.5 10 M 13.5 10 L 17 10 M 10 7 L 10 13 M 8.2 8.6 L 10 6.8 "
    "L 11.8 8.6 M 8.2 11.4 L 10 13.2 L 11.8 11.4",
    "row_cut": "M 3 6 L 17 6 M 3 14 L 17 14 M 3 10 L 8 10 M 12 10 L 17 10 M 11.2 7.6 L 8.8 12.4",
    "row_end": "M 3 6 L 10 6 M 3 10 L 10 10 M 3 14 L 10 14 M 12.5 7.5 L 17 12 M 17 7.5 L 12.5 12",
    "fire": "M 10 3 C 11.2 6.2 15 8 15 12.2 C 15 15.2 12.8 17 10 17 C 7.2 17 5 15.2 5 12.2 C 5 10 6.4 8.8 7.2 7.4 "
    "C 7.8 9 8.6 9.4 9.2 9.4 C 9.6 7.4 9.2 5 10 3 Z",
    "undo": "M 7 4.5 L 3.5 8 L 7 11.5 M 3.5 8 L 12 8 C 17.5 8 17.5 15.5 12 15.5 L 9.5 15.5",
    "redo": "M 13 4.5 L 16.5 8 L 13 11.5 M 16.5 8 L 8 8 C 2.5 8 2.5 15.5 8 15.5 L 10.5 15.5",
    "print": "M 6 7 L 6 3 L 14 3 L 14 7 M 6 13.5 L 3.5 13.5 L 3.5 7 L 16.5 7 L 16.5 13.5 L 14 13.5 R 6 11 8 6",
    "open": "M 3 15.5 L 3 5 L 7.5 5 L 9 7 L 15 7 L 15 9 M 3 15.5 L 5.5 9 L 17.5 9 L 15 15.5 Z",
    "save": "M 10 3.5 L 10 12 M 6.5 9 L 10 12.5 L 13.5 9 M 4 14 L 4 16.5 L 16 16.5 L 16 14",
    "plus": "M 10 4.5 L 10 15.5 M 4.5 10 L 15.5 10",
    "minus": "M 4.5 10 L 15.5 10",
    "fit": "M 3.5 7 L 3.5 3.5 L 7 3.5 M 13 3.5 L 16.5 3.5 L 16.5 7 M 16.5 13 L 16.5 16.5 L 13 16.5 M 7 16.5 "
    "L 3.5 16.5 L 3.5 13",
    "key": "R 3.5 4 3 3 R 3.5 8.8 3 3 R 3.5 13.6 3 3 M 9 5.5 L 16.5 5.5 M 9 10.3 L 16.5 10.3 M 9 15.1 L 16.5 15.1",
    "layers": "M 10 3.5 L 17 7.2 L 10 11 L 3 7.2 Z M 3 10.6 L 10 14.3 L 17 10.6 M 3 13.8 L 10 17.4 L 17 13.8",
    "done": "M 4 10.5 L 8.2 14.7 L 16 5.8",
    "todo": "O 10 10 4.6",
    "look": "M 10 3.5 L 17.2 16.2 L 2.8 16.2 Z M 10 8 L 10 11.8 M 10 13.9 L 10 14.1",
    "stop": "O 10 10 7 M 10 6.2 L 10 10.8 M 10 13.4 L 10 13.6",
    "stale": "M 15.6 10 C 15.6 17.2 4.4 17.2 4.4 10 C 4.4 4.6 10 2.8 13.6 5.8 M 13.9 2.6 L 13.9 6.2 L 10.3 6.2",
    "down": "M 6 8 L 10 12 L 14 8",
    "close": "M 5.5 5.5 L 14.5 14.5 M 14.5 5.5 L 5.5 14.5",
    "forecast": "M 3 7.5 L 11 7.5 C 14 7.5 14 3.5 11.2 3.8 M 3 10.8 L 14.5 10.8 C 18 10.8 17.6 15.8 14.2 "
    "15.2 M 3 14 L 9.5 14",
    "log": "M 3.5 4.5 L 16.5 4.5 M 3.5 8.2 L 16.5 8.2 M 3.5 11.9 L 16.5 11.9 M 3.5 15.6 L 11 15.6",
    "image": "R 3 4 14 12 M 3 13.5 L 7.5 9.5 L 11 12.8 L 13.4 10.8 L 17 14 O 13 7.2 1.2",
    "go": "M 6 4 L 15.5 10 L 6 16 Z",
    "halt": "R 5.5 5.5 9 9",
    "more": "O 4.5 10 0.6 O 10 10 0.6 O 15.5 10 0.6",
}
FILLED = {"working": "O 10 10 4.8", "arrow": "M 10 2 L 15.6 10 L 12.2 10 L 12.2 18 L 7.8 18 L 7.8 10 L 4.4 10 Z"}


@lru_cache(maxsize=64)
def icon_path(name: str) -> QPainterPath:
    """Return the icon's path on the 20 grid. Raises KeyError for a name that is no icon."""
    text = STROKES.get(name) or FILLED[name]
    path, words = QPainterPath(), iter(text.split())

    def take(n: int) -> list[float]:
        return [float(next(words)) for _ in range(n)]

    for word in words:
        if word == "M":
            path.moveTo(*take(2))
        elif word == "L":
            path.lineTo(*take(2))
        elif word == "Q":
            path.quadTo(*take(4))
        elif word == "C":
            path.cubicTo(*take(6))
        elif word == "O":
            x, y, r = take(3)
            path.addEllipse(QPointF(x, y), r, r)
        elif word == "R":
            path.addRect(*take(4))
        else:
            path.closeSubpath()
    return path


def paint_icon(p: QPainter, name: str, box: QRectF, colour: QColor | str, turn_deg: float = 0.0) -> None:
    """Paint an icon into a square box."""
    p.save()
    p.setRenderHint(QPainter.RenderHint.Antialiasing)
    p.translate(box.center())
    p.rotate(turn_deg)
    p.scale(box.width() / 20, box.width() / 20)
    p.translate(-10, -10)
    if name in FILLED:
        p.fillPath(icon_path(name), QColor(colour))
    else:
        pen = QPen(QColor(colour), 1.6, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin)
        p.strokePath(icon_path(name), pen)
    p.restore()


def menu_icon(name: str, colour: QColor | str) -> QIcon:
    """Return a QIcon for menus, sharp at 1x and 2x."""
    icon = QIcon()
    for ratio in (1, 2):
        pixmap = QPixmap(20 * ratio, 20 * ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        p = QPainter(pixmap)
        paint_icon(p, name, QRectF(0, 0, 20 * ratio, 20 * ratio), colour)
        p.end()
        pixmap.setDevicePixelRatio(ratio)
        icon.addPixmap(pixmap)
    return icon
