"""Dots scattered into a picture."""

import numpy as np
from PySide6.QtGui import QColor, QImage, QPainter

from mapper.draw.cloud import draw_cloud
from mapper.draw.view import View


def painted(xy, shade, radius, ratio=1.0):
    view = View((0.0, 0.0), 1.0, (40.0, 30.0), ratio=ratio)
    image = QImage(int(40 * ratio), int(30 * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(QColor("#ffffff"))
    p = QPainter(image)
    draw_cloud(p, view, np.array(xy, dtype=float), np.array(shade), ("#ff0000", "#0000ff"), radius)
    p.end()
    return image


def test_each_dot_has_its_colour_and_place():
    image = painted([(10, 10), (30.5, 20.5)], [0, 1], 0.4)
    assert image.pixelColor(10, 10).name() == "#ff0000" and image.pixelColor(30, 20).name() == "#0000ff"
    assert sum(image.pixelColor(x, y).name() != "#ffffff" for x in range(40) for y in range(30)) == 2


def test_dots_grow_with_radius_and_device_and_leave_the_edge_whole():
    image = painted([(10, 10), (0, 0), (39.9, 29.9), (-50, 3), (900, 3)], [0] * 5, 2.0, ratio=2.0)
    ink = sum(image.pixelColor(x, y).name() == "#ff0000" for x in range(80) for y in range(60))
    assert 45 < ink < 110
    assert image.pixelColor(24, 20).name() == "#ff0000" and image.pixelColor(26, 20).name() == "#ffffff"
