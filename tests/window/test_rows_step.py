"""The Rows step, done as a person would: log points beside rows, the chart, edits by hand, settings fitted to ends."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from mapper.farm.farm import Harvester
from mapper.farm.layers import make_layer
from mapper.plan.job import work
from mapper.plan.request import NightRequest
from mapper.window.logpoints import log_points
from tests.farms import GRID, MADE_AT, small_farm
from tests.rows.scenes import SMALL, known_straw, paddock_of
from tests.rows.simulator import Scene, drive

LEFT, PLAIN = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


@pytest.fixture(scope="module")
def harvested():
    """A small paddock, the log of the harvester that cut it, and its rows as worked out."""
    scene = known_straw(Scene(SMALL, seed=5, harvester=Harvester("A", 12.0, threshing_delay_s=9.0, chute_behind_m=5.0)))
    log, truth = drive(scene)
    paddock = paddock_of(scene.paddock)
    data = {k: [v] for k, v in paddock.drop("geometry").items()}
    paddocks = make_layer("paddocks", data, [scene.paddock], GRID.crs)
    farm = small_farm(paddocks=paddocks, tracks={"A": log}, harvesters=(scene.harvester,))
    return farm, truth, work(farm, NightRequest(date(2026, 4, 18), MADE_AT), stages=("rows",))


@pytest.fixture
def logged(window, idle, harvested):
    """A farm with a harvester's log, its rows worked out, at the Rows step."""
    window.session.take_farm(harvested[0])
    window.session.take_workings(harvested[2])
    window.session.go_to("rows")
    idle()
    name = window.session.layer("windrows")["paddock"].iloc[0]
    window.show_paddock(str(name))
    idle()
    return window


def at(window, x, y):
    p = window.canvas.to_px((x, y))
    return QPoint(round(p.x()), round(p.y()))


def drag(widget, start, end):
    """Press, move and let go, as a hand does; the widget may move under the pointer."""
    ends = [QPointF(widget.mapToGlobal(p)) for p in (start, end)]
    QTest.mousePress(widget, LEFT, PLAIN, start)
    for to in ((ends[0] + ends[1]) / 2, ends[1]):
        event = QMouseEvent(QMouseEvent.Type.MouseMove, widget.mapFromGlobal(to), to, LEFT, LEFT, PLAIN)
        QApplication.sendEvent(widget, event)
    QTest.mouseRelease(widget, LEFT, PLAIN, widget.mapFromGlobal(ends[1].toPoint()))


def longest(window):
    rows = window.session.layer("windrows")
    mine = rows[rows["paddock"] == window.session.paddock]
    return mine.loc[mine["length_m"].idxmax()]


def middle_of(row):
    spot = row.geometry.interpolate(0.5, normalized=True)
    return spot.x, spot.y


def test_classes_hold_equal_counts_and_say_their_bounds():
    n = 1000
    rng = np.random.default_rng(1)
    track = pd.DataFrame({"x": np.arange(n), "y": np.zeros(n), "speed_m_s": rng.uniform(1, 3, n),
                          "yield_t_ha": np.full(n, np.nan), "t_s": np.arange(n)}).astype(float)  # fmt: skip
    points = log_points({"a": track}, "speed")
    assert np.bincount(points["shade"]) == pytest.approx([200] * 5, abs=1)
    assert points.loc[track["speed_m_s"].idxmax(), "shade"] == 0 and points.attrs["words"][0].startswith("over ")
    none = log_points({"a": track}, "yield")
    assert "shade" not in none and none.attrs["words"] == ("no yield in the log",)


def test_the_divider_parts_log_from_rows_and_is_dragged(logged, idle):
    divider, canvas = logged.divider, logged.canvas
    assert divider.isVisible() and "speed" in divider.choice.currentText()

    def colours(x0, x1):
        image = canvas.grab().toImage()
        return {image.pixelColor(x, y).name() for x in range(x0, x1, 2) for y in range(80, canvas.height() - 120, 2)}

    from mapper.draw.palette import LIGHT

    inks = {c.lower() for c in LIGHT.points}
    edge = round(canvas.divider)
    assert inks & colours(80, edge - 20) and not inks & colours(edge + 20, canvas.width() - 60)
    drag(divider, QPoint(9, 300), QPoint(9 + 240, 300))
    assert canvas.divider == pytest.approx(edge + 240, abs=2)
    assert inks & colours(edge + 40, edge + 220)
    divider.setFocus()
    QTest.keyClick(divider, Qt.Key.Key_Left)
    assert canvas.divider < edge + 230
    logged.session.go_to("paddock")
    idle()
    assert not divider.isVisible() and canvas.divider is None


def test_points_are_coloured_by_yield_when_asked(logged, idle):
    assert "km/h" in logged.key_card.accessibleName()
    choice = logged.divider.choice
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Down)
    choice.activated.emit(choice.currentIndex())
    idle()
    assert logged.divider.by == "yield"
    assert "t/ha" in logged.key_card.accessibleName() or "no yield" in logged.key_card.accessibleName()


def test_the_chart_shows_each_row_and_picks_with_mouse_and_keys(logged, idle):
    chart, s = logged.row_chart, logged.session
    rows = s.layer("windrows")
    mine = rows[rows["paddock"] == s.paddock]
    assert chart.isVisible() and len(chart.bars) == len(mine) and not logged.strip.isVisible()
    assert [b.length_m for b in chart.bars] == pytest.approx(list(mine["length_m"]))
    QTest.mouseClick(chart, LEFT, PLAIN, QPoint(chart.width() // 2, 120))
    idle()
    first = s.row_id
    assert first in set(mine["row_id"]) and first.rpartition("-")[2].lstrip("0") in chart.accessibleDescription()
    QTest.keyClick(chart, Qt.Key.Key_Right)
    idle()
    ids = list(mine["row_id"])
    assert ids.index(s.row_id) == ids.index(first) + 1
    panel = logged.panels["rows"]
    assert panel.load_line.isVisible() and len(panel.load_line.kg_m) >= 1
    assert "kg/m" in panel.row_facts["Lightest, heaviest"].text()


def test_a_row_deleted_moved_cut_and_drawn_by_hand_survives_a_new_derivation(logged, idle):
    s, canvas = logged.session, logged.canvas
    count = len(s.layer("windrows"))
    row = longest(logged)
    x, y = middle_of(row)
    QTest.mouseClick(canvas, LEFT, PLAIN, at(logged, x, y))
    assert s.row_id == row["row_id"]
    QTest.keyClick(canvas, Qt.Key.Key_Delete)
    idle()
    assert len(s.layer("windrows")) == count - 1 and s.undo.undoText().startswith("Delete row")
    canvas.take_tool("Cut a row")
    second = longest(logged)
    QTest.mouseClick(canvas, LEFT, PLAIN, at(logged, *middle_of(second)))
    idle()
    assert len(s.layer("windrows")) == count
    canvas.take_tool("Draw a row")
    box = s.farm.paddock(s.paddock).geometry.bounds
    for x, y in ((box[0] + 30, box[1] + 30), (box[0] + 150, box[1] + 38)):
        QTest.mouseClick(canvas, LEFT, PLAIN, at(logged, x, y))
    QTest.keyClick(canvas, Qt.Key.Key_Return)
    idle()
    rows = s.layer("windrows")
    assert len(rows) == count + 1 and rows["evidence"].str.contains("drawn by hand").sum() == 1
    canvas.take_tool("Move a row")
    third = longest(logged)
    x, y = middle_of(third)
    drag(canvas, at(logged, x, y), at(logged, x + 6, y + 6))
    idle()
    rows = s.layer("windrows")
    assert rows["evidence"].str.contains("moved by hand").sum() == 1
    machine = s.farm.harvesters[0]
    logged.panels["rows"].boxes["row_width_m"].setValue(machine.row_width_m + 0.1)
    logged.work.work_out(("rows",))
    idle()
    again = s.layer("windrows")
    assert again["evidence"].str.contains("drawn by hand").sum() == 1
    assert again["evidence"].str.contains("moved by hand").sum() == 1
    assert "4 edits by hand" in logged.panels["rows"].hand.by_hand.text()
    for _ in range(5):
        logged.top.undo.click()
    logged.work.work_out(("rows",))
    idle()
    assert len(s.layer("windrows")) == count and s.farm.row_edits == ()


def test_settings_are_fitted_to_marked_ends(logged, idle, harvested):
    s, canvas = logged.session, logged.canvas
    true = s.farm.harvesters[0].threshing_delay_s
    rows = [r for r in harvested[1].rows if r.length > 60][:6]
    ends = [c for line in rows for c in (line.coords[0], line.coords[-1])]
    panel = logged.panels["rows"]
    panel.boxes["threshing_delay_s"].setValue(true + 4)
    idle()
    QTest.mouseClick(panel.calibrate.mark, LEFT)
    assert canvas.tool.name == "Mark row ends"
    for x, y in ends:
        canvas.show_bounds((x - 20, y - 20, x + 20, y + 20))
        QTest.mouseClick(canvas, LEFT, PLAIN, at(logged, x, y))
    idle()
    assert panel.calibrate.fit.text() == f"Fit settings to {len(ends)} ends"
    QTest.mouseClick(panel.calibrate.fit, LEFT)
    idle()
    assert "threshing delay" in panel.calibrate.words.text()
    QTest.mouseClick(panel.calibrate.use, LEFT)
    idle()
    assert s.farm.harvesters[0].threshing_delay_s == pytest.approx(true, abs=1.5)
    assert s.undo.undoText().startswith("Fit settings")


def test_tools_of_the_step_are_offered_and_a_tool_of_another_is_laid_down(logged, idle):
    bar = logged.tools
    assert bar.buttons["Draw a row"].isVisible() and not bar.buttons["Draw a paddock"].isVisible()
    logged.canvas.take_tool("Cut a row")
    logged.session.go_to("breaks")
    idle()
    assert logged.canvas.tool.name == "Pick" and bar.buttons["Draw a paddock"].isVisible()


def test_rows_are_kept_for_next_season_and_compared(logged, idle):
    s, panel = logged.session, logged.panels["rows"]
    QTest.mouseClick(panel.hand.keep, LEFT)
    assert len(s.farm.rows_before) == len(s.layer("windrows"))
    logged.work.work_out(("rows",))
    idle()
    assert any("last season" in r.text for r in s.remarks("rows"))
    assert "are held" in panel.hand.season.text()


def test_rows_seen_are_drawn_for_the_pattern_and_forgotten(farmed, idle):
    """Without a log the rows are laid by a pattern; two rows drawn where they were seen turn and shift it."""
    s, canvas = farmed.session, farmed.canvas
    s.go_to("rows")
    farmed.show_paddock("Bottom Dam")
    idle()
    farmed.work.work_out(("rows",))
    idle()
    before = s.layer("windrows")
    hand = farmed.panels["rows"].hand
    x0, y0, _, _ = s.farm.paddock("Bottom Dam").geometry.bounds
    lines = [[(x0 + 300, y0 + 300 + k), (x0 + 700, y0 + 420 + k)] for k in (0.0, 60.0)]
    hand.line_is.setCurrentIndex(1)
    hand.line_is.activated.emit(1)
    assert canvas.tool.name == "Draw a row"
    for line in lines:
        for place in line:
            QTest.mouseClick(canvas, LEFT, PLAIN, at(farmed, *place))
        QTest.keyClick(canvas, Qt.Key.Key_Return)
        idle()
    assert len(s.farm.rows_seen) == 2 and "2 rows seen" in hand.by_hand.text()
    rows = s.layer("windrows")
    assert s.errors == {}

    def heading(layer):
        ends = [np.array(g.coords)[[0, -1]] for g in layer.geometry]
        return float(np.median([np.degrees(np.arctan2(*(b - a))) % 180 for a, b in ends]))

    seen = np.degrees(np.arctan2(400, 120)) % 180
    off = abs((heading(rows) - seen + 90) % 180 - 90)
    assert off < 3 < abs((heading(before) - seen + 90) % 180 - 90)
    QTest.mouseClick(hand.forget, LEFT)
    idle()
    again = s.layer("windrows")
    assert s.farm.rows_seen is None and len(again) == len(before)
    assert again.geometry.geom_equals_exact(before.geometry, 0.5, align=False).all()
