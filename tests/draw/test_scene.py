import threading

import numpy as np
import pytest
import shapely
from PySide6.QtGui import QColor, QImage, QPainter

from mapper.draw.levels import Lines, Points
from mapper.draw.naming import number_every
from mapper.draw.palette import DARK, LIGHT
from mapper.draw.scene import Scene, Style, paint
from mapper.draw.strokes import hatch_lines
from mapper.draw.view import View, fit_view
from mapper.farm.errors import Stopped
from tests.demo import demo_plan


@pytest.fixture(scope="module")
def scene():
    plan = demo_plan(("Shed Hill",), curved=True, blocks=4)
    names = ("windrows", "pieces", "edges", "breaks", "buffers", "lighting_points", "blocks", "ways_out", "smoke")
    layers = {n: getattr(plan, n) for n in names}
    farm = plan.farm
    return Scene({**layers, "paddocks": farm.paddocks, "assets": farm.assets, "neighbours": farm.neighbours})


def _frame(scene, style, cancelled=None):
    view = fit_view(tuple(scene.layer("paddocks").total_bounds), (640.0, 480.0), 30.0)
    image = QImage(640, 480, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    try:
        painter.fillRect(0, 0, image.width(), image.height(), QColor(style.palette.ground))
        paint(painter, view, scene, style, cancelled)
    finally:
        painter.end()
    return np.frombuffer(image.constBits(), np.uint32).reshape(480, 640).copy()


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_paints_the_same_every_time_and_in_a_worker(scene, palette):
    style = Style(palette)
    first = _frame(scene, style)
    assert len(np.unique(first)) > 20
    found = []
    worker = threading.Thread(target=lambda: found.append(_frame(scene, style)))
    worker.start()
    worker.join()
    assert (found[0] == first).all()


def test_hidden_parts_leave_no_ink(scene):
    every = _frame(scene, Style(LIGHT))
    bare = _frame(scene, Style(LIGHT, frozenset({"pieces", "lighting", "blocks", "block_edges"})))
    assert (every != bare).mean() > 0.01


def test_stops_when_asked(scene):
    with pytest.raises(Stopped):
        _frame(scene, Style(LIGHT), lambda: True)


def test_a_changed_layer_keeps_the_others_levels(scene):
    lines = scene.lines("pieces")
    other = scene.with_layers(assets=scene.layer("assets").iloc[:3])
    assert other.lines("pieces") is lines


def test_levels_cull_and_thin():
    x = np.arange(0, 10_000, 0.25)
    shape = Lines(np.array([shapely.linestrings(np.column_stack([x, 0.05 * np.sin(x)]))]))
    far = View((5000.0, 0.0), 0.05, (600.0, 400.0))
    assert len(shape.segments(far)[0]) < 2000
    assert len(shape.segments(View((5000.0, 9000.0), 1.0, (100.0, 100.0)))[0]) == 0
    points = Points(np.random.default_rng(1).random((5000, 2)) * 100)
    assert len(points.seen(View((50.0, 50.0), 0.03, (600.0, 400.0)))) < 100
    assert len(points.seen(View((50.0, 50.0), 5.0, (600.0, 600.0)))) == 5000


def test_hatch_stays_inside():
    ring = shapely.Point(50, 50).buffer(30).difference(shapely.Point(50, 50).buffer(10))
    lines = hatch_lines(ring, 3.0, 45.0)
    assert len(lines) > 10
    assert ring.buffer(1e-6).contains(shapely.multilinestrings(lines.reshape(-1, 2, 2)))


@pytest.mark.parametrize(
    ("pitch", "tiers", "every"), [(2.4, 2, 1), (1.6, 2, 2), (0.8, 2, 5), (2.4, 1, 2), (0.4, 1, 20)]
)
def test_numbers_thin_as_the_pitch_does(pitch, tiers, every):
    # 2.4, 1.6, 0.8 mm in two tiers: the project's own design.
    assert number_every(pitch, tiers) == every
