"""The farm's picture behind the map, washed out so that ink reads on it."""

from typing import Any

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from mapper.draw.view import View

# 55 % of the colour; lightness pressed into these bounds (of 255), so that ink keeps its contrast.
COLOUR, LIGHT_RANGE, DARK_RANGE = 0.55, (176, 236), (20, 58)


def washed(rgba: Any, dark: bool) -> Any:
    """Return the picture (h, w, 4, uint8) with less colour and its lightness pressed together."""
    rgb = rgba[..., :3].astype(np.float32)
    grey = rgb @ np.array([0.299, 0.587, 0.114], dtype=np.float32)
    low, high = DARK_RANGE if dark else LIGHT_RANGE
    pressed = low + grey * ((high - low) / 255.0)
    # Colour is not pressed with the lightness, or nothing of it would be seen.
    colour = (rgb - grey[..., None]) * COLOUR
    out = rgba.copy()
    out[..., :3] = np.clip(pressed[..., None] + colour, 0, 255).astype(np.uint8)
    return out


def paint_backdrop(p: QPainter, path: str, crs: Any, view: View, dark: bool) -> None:
    """Paint the picture into the view. A file that cannot be read leaves the ground bare; opening it said why."""
    from mapper.farm.errors import MapperError
    from mapper.files.rasters import read_window

    size = (int(view.size[0]), int(view.size[1]))
    try:
        rgba = read_window(path, view.bounds(), size, crs)
    except MapperError:
        return
    rgba = np.ascontiguousarray(washed(rgba, dark))
    image = QImage(rgba.data, rgba.shape[1], rgba.shape[0], rgba.shape[1] * 4, QImage.Format.Format_RGBA8888)
    p.drawImage(QRectF(0, 0, *view.size), image)
