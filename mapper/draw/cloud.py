"""A cloud of points in a few colours, scattered straight into a picture: Qt's own points are thirty times slower."""

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter

from mapper.draw.strokes import Cancelled
from mapper.draw.view import View
from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array

# Long calls hold the interpreter and make the window stutter (measured).
_CHUNK = 65_536


def draw_cloud(
    painter: QPainter,
    view: View,
    xy_px: Array,
    shade: NDArray[np.integer],
    colours: tuple[str, ...],
    radius: float,
    cancelled: Cancelled | None = None,
) -> None:
    """Draw round dots at positions (n, 2) in painter units, each in colours[shade]. Raises Stopped when cancelled."""
    ratio = view.ratio
    reach = max(0, round(radius * ratio - 0.3))
    width, height = (int(np.ceil(side * ratio)) + 2 * reach for side in view.size)
    frame = np.zeros(width * height, dtype=np.uint32)
    inks = np.array([QColor(c).rgba() for c in colours], dtype=np.uint32)
    across = np.arange(-reach, reach + 1)
    dx, dy = (a.ravel() for a in np.meshgrid(across, across))
    disc = (dy * width + dx)[dx * dx + dy * dy <= (reach + 0.35) ** 2]
    for start in range(0, len(xy_px), _CHUNK):
        if cancelled is not None and cancelled():
            raise Stopped
        some = np.floor(xy_px[start : start + _CHUNK] * ratio).astype(np.int64) + reach
        inside = ((some >= reach) & (some < (width - reach, height - reach))).all(axis=1)
        at = some[inside, 1] * width + some[inside, 0]
        ink = inks[shade[start : start + _CHUNK][inside]]
        for offset in disc:
            frame[at + offset] = ink
    image = QImage(frame.data, width, height, 4 * width, QImage.Format.Format_ARGB32_Premultiplied)
    image.setDevicePixelRatio(ratio)
    painter.drawImage(QPointF(-reach / ratio, -reach / ratio), image)
