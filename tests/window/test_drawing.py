"""Drawing as a person does it: mouse on the map, keys, fields in the panel."""

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from mapper.farm.layers import make_layer
from tests.demo import demo_farm
from tests.farms import GRID

LEFT = Qt.MouseButton.LeftButton
PLAIN, ALT, SHIFT = (
    Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ShiftModifier,
)  # fmt: skip
E, N = 600_000.0, 5_990_000.0
WEST = [(E, N), (E, N + 600), (E + 500, N + 600), (E + 500, N)]
EAST = [(E + 500, N), (E + 500, N + 600), (E + 1000, N + 600), (E + 1000, N)]


@pytest.fixture
def two(window, idle):
    """Two square paddocks with one fence between them, nothing else."""
    farm = demo_farm(("Bottom Dam",))
    areas = [shapely.Polygon(WEST), shapely.Polygon(EAST)]
    paddocks = make_layer("paddocks", {"paddock": ["West", "East"], "crop": ["wheat", "barley"]}, areas, GRID.crs)
    window.session.take_farm(farm.with_(paddocks=paddocks, assets=farm.assets[:0], neighbours=farm.neighbours[:0]))
    idle()
    window.canvas.show_bounds((E - 200, N - 200, E + 1300, N + 900))
    idle()
    return window


def px(window, place):
    p = window.canvas.to_px(place)
    return QPoint(round(p.x()), round(p.y()))


def move(window, place, keys=PLAIN, buttons=Qt.MouseButton.NoButton):
    spot = QPointF(px(window, place))
    event = QMouseEvent(
        QMouseEvent.Type.MouseMove, spot, window.canvas.mapToGlobal(spot), Qt.MouseButton.NoButton, buttons, keys
    )
    QApplication.sendEvent(window.canvas, event)


def click(window, place, keys=ALT):
    move(window, place, keys)
    QTest.mouseClick(window.canvas, LEFT, keys, px(window, place))


def drag(window, start, end, keys=ALT):
    QTest.mousePress(window.canvas, LEFT, keys, px(window, start))
    move(window, end, keys, LEFT)
    QTest.mouseRelease(window.canvas, LEFT, keys, px(window, end))


def take(window, name):
    window.tools.buttons[name].click()
    window.canvas.setFocus()


def key(window, which):
    QTest.keyClick(window.canvas, which)


def draw(window, kind, corners, keys=ALT):
    take(window, "Draw a paddock")
    what = window.panels["paddock"].drawing_part.what
    what.setCurrentIndex(what.findData(kind))
    what.activated.emit(what.currentIndex())
    for corner in corners:
        click(window, corner, keys)


def shape(window, name):
    return window.session.farm.paddock(name).geometry


@pytest.mark.parametrize("kind", ["road", "power_line", "track", "railway"])
def test_lines_are_drawn_and_taken_back(two, idle, kind):
    draw(two, kind, [(E - 100, N - 100), (E + 400, N - 100), (E + 900, N - 150)])
    key(two, Qt.Key.Key_Return)
    made = two.session.farm.assets.iloc[-1]
    assert made["kind"] == kind and made["name"] and made.geometry.length == pytest.approx(1002, abs=4)
    assert two.canvas.tool.name == "Pick" and two.session.undo.undoText().startswith("Draw a")
    two.top.undo.click()
    assert two.session.farm.assets.empty


@pytest.mark.parametrize("kind", ["trees", "crop", "bare", "green", "reserve", "water"])
def test_cover_areas_are_drawn_and_closed_on_the_first_corner(two, idle, kind):
    corners = [(E + 600, N + 100), (E + 600, N + 300), (E + 800, N + 300), (E + 800, N + 100)]
    draw(two, kind, [*corners, corners[0]])
    made = two.session.farm.assets.iloc[-1]
    assert made["kind"] == kind and made.geometry.area == pytest.approx(40_000, rel=0.03)


def test_a_firebreak_is_drawn_with_its_width_and_ended_by_a_double_click(two, idle):
    draw(two, "break", [(E, N - 20)])
    idle()
    part = two.panels["paddock"].drawing_part
    QTest.mouseClick(part.break_width, LEFT)
    idle()
    QTest.keyClicks(part.break_width, "5,5")
    QTest.keyClick(part.break_width, Qt.Key.Key_Tab)
    end = (E + 500, N - 20)
    click(two, end)
    QTest.mouseDClick(two.canvas, LEFT, ALT, px(two, end))
    made = two.session.farm.breaks_there.iloc[-1]
    assert made["width_m"] == 5.5 and made.geometry.length == pytest.approx(500, abs=3)
    assert two.session.undo.undoText() == "Draw a firebreak"


def test_neighbours_land_is_drawn_and_named(two, idle):
    draw(two, "neighbour", [(E + 1000, N), (E + 1000, N + 600), (E + 1250, N + 600)])
    name = two.panels["paddock"].drawing_part.name
    QTest.keyClicks(name, "Neighbour 7")
    key(two, Qt.Key.Key_Return)
    assert list(two.session.farm.neighbours["name"]) == ["Neighbour 7"]


def test_a_typed_length_and_bearing_and_a_typed_place_are_corners(two, idle):
    take(two, "Draw a paddock")
    idle()
    part = two.panels["paddock"].drawing_part
    QTest.keyClicks(two.canvas, "6")
    assert part.next.text() == "6"
    QTest.keyClicks(part.next, "00000 5991000")
    assert part.understood.text() == "Enter: to 600000.0 E 5991000.0 N"
    QTest.keyClick(part.next, Qt.Key.Key_Return)
    assert two.canvas.hasFocus()
    for text in ("250,5 90", "300 180"):
        QTest.keyClicks(two.canvas, text[0])
        QTest.keyClicks(part.next, text[1:])
        QTest.keyClick(part.next, Qt.Key.Key_Return)
    lon, lat = GRID.to_lonlat(E, N + 700)
    part.next.setFocus()
    QTest.keyClicks(part.next, f"{lat:.7f} {lon:.7f}")
    QTest.keyClick(part.next, Qt.Key.Key_Return)
    want = [(E, N + 1000), (E + 250.5, N + 1000), (E + 250.5, N + 700), (E, N + 700)]
    assert np.allclose(two.canvas.tool.corners, want, atol=0.02)
    QTest.keyClicks(part.next, "250 400")
    assert "makes no sense" in part.understood.text()
    QTest.keyClick(part.next, Qt.Key.Key_Return)
    assert len(two.canvas.tool.corners) == 4
    part.next.clear()
    QTest.keyClick(part.next, Qt.Key.Key_Return)
    assert shape(two, "Paddock 3").area == pytest.approx(250.5 * 300, abs=20)


def test_a_length_alone_goes_the_way_the_pointer_points(two, idle):
    take(two, "Draw a paddock")
    click(two, (E, N + 700))
    move(two, (E + 200, N + 700), ALT)
    part = two.panels["paddock"].drawing_part
    QTest.keyClicks(two.canvas, "1")
    QTest.keyClicks(part.next, "20")
    QTest.keyClick(part.next, Qt.Key.Key_Return)
    (x0, y0), (x1, y1) = two.canvas.tool.corners
    assert x1 - x0 == pytest.approx(120, abs=0.1) and abs(y1 - y0) < 2


def test_right_angles_edges_and_corners_are_snapped_to_by_name(two, idle):
    take(two, "Draw a paddock")
    tool = two.canvas.tool
    click(two, (E + 1150, N + 100))
    click(two, (E + 1150, N + 400))
    move(two, (E + 1250, N + 406))
    assert tool.snap.words == "right angle to the side before" and tool.at[1] == pytest.approx(tool.corners[1][1])
    move(two, (E + 1155, N + 700))
    assert tool.snap.words == "straight on from the side before"
    move(two, (E + 1003, N + 250))
    assert tool.snap.words == "snaps to East fence" and tool.at[0] == E + 1000
    move(two, (E + 1004, N + tool.corners[1][1] - N - 4))
    assert tool.snap.words == "right angle to East fence"
    move(two, (E + 996, N + 604))
    assert tool.snap.words == "snaps to East corner"
    move(two, (E + 1003, N + 250), ALT)
    assert tool.snap is None


def test_live_area_side_and_bearing(two, idle):
    take(two, "Draw a paddock")
    for corner in ((E, N + 650), (E, N + 850)):
        click(two, corner)
    move(two, (E + 300, N + 850), ALT)
    tool = two.canvas.tool
    card = tool._card([])
    assert card[0] == "3.0 ha so far" and card[1].startswith("this side 30") and card[1].endswith("bearing 90°")
    idle()
    assert two.panels["paddock"].drawing_part.area.text() == "3.0 ha"


def test_sides_that_cross_are_marked_while_drawn_and_refused(two, idle):
    take(two, "Draw a paddock")
    for corner in ((E, N + 650), (E + 300, N + 850), (E, N + 850)):
        click(two, corner)
    move(two, (E + 300, N + 650), ALT)
    (place,) = two.canvas.tool.crossed()
    assert np.allclose(place, (E + 150, N + 750), atol=4)
    before = two.canvas.grab().toImage()
    click(two, (E + 300, N + 650))
    key(two, Qt.Key.Key_Return)
    assert len(two.session.farm.paddocks) == 2
    assert "the sides cross near" in str(two.session.errors["paddock"])
    # The place is marked: the map there is not as it was beside it.
    spot = px(two, place)
    colours = {before.pixel(spot.x() + dx, spot.y() + dy) for dx in range(-12, 13) for dy in range(-12, 13)}
    assert len(colours) > 3
    key(two, Qt.Key.Key_Backspace)
    key(two, Qt.Key.Key_Return)
    assert len(two.session.farm.paddocks) == 3


def test_a_shared_fence_moves_together_and_alone_with_shift(two, idle):
    two.session.pick("West")
    take(two, "Move corners")
    drag(two, (E + 500, N + 600), (E + 440, N + 640))
    corner = np.array(shapely.get_coordinates(shape(two, "West")))
    assert shape(two, "West").intersection(shape(two, "East")).area < 1e-6
    whole = shape(two, "West").union(shape(two, "East"))
    assert whole.geom_type == "Polygon" and not whole.interiors
    moved = corner[np.argmin(np.hypot(*(corner - (E + 440, N + 640)).T))]
    assert shapely.Point(moved).distance(shape(two, "East").boundary) < 1e-6
    two.top.undo.click()
    assert shape(two, "West").equals(shapely.Polygon(WEST)) and shape(two, "East").equals(shapely.Polygon(EAST))
    drag(two, (E + 500, N + 600), (E + 440, N + 600), ALT | SHIFT)
    assert shape(two, "East").equals(shapely.Polygon(EAST)) and not shape(two, "West").equals(shapely.Polygon(WEST))


def test_a_corner_added_on_a_shared_fence_bends_both_and_is_taken_out_of_both(two, idle):
    two.session.pick("West")
    take(two, "Move corners")
    drag(two, (E + 500, N + 300), (E + 560, N + 300))
    assert [two.session.undo.text(i) for i in (0, 1)] == ["Add a corner to West", "Move a corner of West"]
    assert shape(two, "West").area == pytest.approx(300_000 + 18_000, rel=0.01)
    assert shape(two, "East").area == pytest.approx(300_000 - 18_000, rel=0.01)
    key(two, Qt.Key.Key_Delete)
    assert shape(two, "West").area == pytest.approx(300_000) and shape(two, "East").area == pytest.approx(300_000)


def test_corners_of_a_drawn_line_are_moved_added_and_taken_out(two, idle):
    draw(two, "road", [(E - 100, N - 100), (E + 900, N - 100)])
    key(two, Qt.Key.Key_Return)
    take(two, "Move corners")
    click(two, (E + 300, N - 100))
    drag(two, (E + 400, N - 100), (E + 400, N - 160))
    road = two.session.farm.assets.geometry.iloc[-1]
    assert len(road.coords) == 3 and road.coords[1][1] == pytest.approx(N - 160, abs=3)
    key(two, Qt.Key.Key_Delete)
    assert len(two.session.farm.assets.geometry.iloc[-1].coords) == 2
    key(two, Qt.Key.Key_Delete)
    assert two.session.farm.assets.empty
    two.top.undo.click()
    assert len(two.session.farm.assets) == 1


def test_a_house_is_dragged_and_taken_away(two, idle):
    two.tools.place("house")
    click(two, (E + 1100, N + 100))
    take(two, "Move corners")
    drag(two, (E + 1100, N + 100), (E + 1150, N + 200))
    assert two.session.farm.assets.geometry.iloc[0].x == pytest.approx(E + 1150, abs=3)
    assert two.session.undo.undoText() == "Move House 1"
    key(two, Qt.Key.Key_Delete)
    assert two.session.farm.assets.empty


def test_two_paddocks_become_one_and_are_split_again(two, idle):
    two.session.pick("West")
    take(two, "Merge paddocks")
    click(two, (E + 750, N + 300))
    assert list(two.session.farm.paddocks["paddock"]) == ["West"]
    assert shape(two, "West").area == pytest.approx(600_000)
    take(two, "Split a paddock")
    click(two, (E + 200, N - 100))
    click(two, (E + 200, N + 700))
    key(two, Qt.Key.Key_Return)
    assert sorted(two.session.farm.paddocks["paddock"]) == ["West 1", "West 2"]
    two.top.undo.click()
    two.top.undo.click()
    assert sorted(two.session.farm.paddocks["paddock"]) == ["East", "West"]


def test_paddocks_apart_are_not_merged(two, idle):
    draw(two, "paddock", [(E + 1100, N), (E + 1100, N + 200), (E + 1250, N)])
    key(two, Qt.Key.Key_Return)
    two.session.pick("West")
    take(two, "Merge paddocks")
    click(two, (E + 1130, N + 60))
    assert len(two.session.farm.paddocks) == 3 and "share no fence" in str(two.session.errors["paddock"])


def test_a_piece_is_left_out_of_a_paddock(two, idle):
    two.session.pick("West")
    draw(two, "hole", [(E + 100, N + 100), (E + 100, N + 200), (E + 200, N + 200), (E + 200, N + 100)])
    key(two, Qt.Key.Key_Return)
    assert len(shape(two, "West").interiors) == 1
    assert shape(two, "West").area == pytest.approx(290_000, rel=0.005)
    assert two.session.undo.undoText() == "Leave a piece out of West"


def test_a_break_inside_the_fence_along_a_side_and_all_the_way_round(two, idle):
    two.session.pick("West")
    take(two, "Break inside the fence")
    idle()
    part = two.panels["paddock"].break_part
    assert part.isVisible()
    part.break_width.setFocus()
    part.break_width.selectAll()
    QTest.keyClicks(part.break_width, "6")
    QTest.keyClick(part.break_width, Qt.Key.Key_Tab)
    click(two, (E + 3, N + 300))
    breaks = two.session.farm.breaks_there
    assert len(breaks) == 1 and breaks["width_m"].iloc[0] == 6
    line = breaks.geometry.iloc[0]
    assert line.length == pytest.approx(594, abs=1) and line.bounds[0] == pytest.approx(E + 3, abs=0.1)
    part.round.click()
    ring = two.session.farm.breaks_there.geometry.iloc[-1]
    assert ring.is_ring and ring.length == pytest.approx(2 * (494 + 594), abs=1)
    assert two.session.undo.undoText() == "Break of 6 m inside West, all the way round"
