"""The real window, driven as a person would."""

import threading
import time

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractSpinBox, QApplication, QLineEdit, QWidget

from mapper.hours.verdict import BanCheck
from mapper.window import edits
from mapper.window.frames import stale_blocks
from mapper.window.walk import step_state


def at(window, x, y):
    p = window.canvas.to_px((x, y))
    return QPoint(round(p.x()), round(p.y()))


def ink(window):
    """How many colours the map shows: a bare ground shows one."""
    image = window.canvas.grab().toImage()
    return len(
        {image.pixel(x, y) for x in range(100, image.width() - 100, 7) for y in range(60, image.height() - 120, 7)}
    )


def test_empty_window_says_what_to_do(window):
    panel = window.panels["paddock"]
    assert panel.lead_words.text().startswith("Start with a boundary")
    assert window.welcome.isVisible() and not window.top.print.isEnabled()
    assert [step_state(window.session, s)[0] for s in ("paddock", "rows", "order")] == ["todo"] * 3


def test_a_farm_is_drawn(farmed):
    assert not farmed.welcome.isVisible()
    assert ink(farmed) > 3
    assert step_state(farmed.session, "paddock")[0] == "done"


def test_draw_a_paddock_with_the_mouse_and_take_it_back(farmed, idle, qtbot):
    w, canvas = farmed, farmed.canvas
    x0, y0, x1, y1 = w.session.farm.paddocks.total_bounds
    w.canvas.show_bounds((x0, y0, x1 + 900, y1))
    idle()
    QTest.keyClick(canvas, Qt.Key.Key_D)
    canvas.take_tool("Draw a paddock")
    corners = [(x1 + 200, y0 + 100), (x1 + 200, y0 + 500), (x1 + 600, y0 + 500), (x1 + 600, y0 + 100)]
    for x, y in corners:
        QTest.mouseMove(canvas, at(w, x, y))
        QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, at(w, x, y))
    area, _, n = canvas.tool.figures()
    assert n == 4 and area == pytest.approx(16, rel=0.05)
    QTest.keyClick(canvas, Qt.Key.Key_Up)
    QTest.keyClick(canvas, Qt.Key.Key_Backspace)
    assert canvas.tool.figures()[2] == 3
    QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, at(w, *corners[3]))
    QTest.keyClick(canvas, Qt.Key.Key_Return)
    assert len(w.session.farm.paddocks) == 2 and canvas.tool.name == "Pick"
    made = w.session.farm.paddocks.iloc[-1]
    assert made.geometry.area == pytest.approx(160_000, rel=0.05)
    assert w.session.undo.undoText() == f"Draw {made['paddock']}"
    w.top.undo.click()
    assert len(w.session.farm.paddocks) == 1
    w.top.redo.click()
    assert len(w.session.farm.paddocks) == 2


def test_crossing_sides_are_said_beside_the_step_and_nothing_changes(farmed, idle):
    w, canvas = farmed, farmed.canvas
    x0, y0, x1, y1 = w.session.farm.paddocks.total_bounds
    w.canvas.show_bounds((x0, y0, x1 + 900, y1))
    canvas.take_tool("Draw a paddock")
    for x, y in ((x1 + 200, y0), (x1 + 600, y0 + 400), (x1 + 200, y0 + 400), (x1 + 600, y0)):
        QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, at(w, x, y))
    QTest.keyClick(canvas, Qt.Key.Key_Return)
    assert len(w.session.farm.paddocks) == 1
    assert "cross" in str(w.session.errors["paddock"])
    idle()
    assert step_state(w.session, "paddock") == ("stop", "1 to put right")
    QTest.keyClick(canvas, Qt.Key.Key_Escape)
    assert canvas.tool.name == "Pick"


def test_snapping_takes_the_fence(farmed, idle):
    w, canvas = farmed, farmed.canvas
    canvas.take_tool("Draw a paddock")
    corner = edits.rings_of(w.session.farm.paddock("Bottom Dam").geometry)[0][0][0]
    QTest.mouseMove(canvas, at(w, corner[0] + 2, corner[1] + 2))
    assert canvas.tool.snap is not None and (canvas.tool.snap.x, canvas.tool.snap.y) == corner
    assert canvas.tool.snap.words == "snaps to Bottom Dam corner"


def test_edit_a_corner_with_mouse_and_keys(farmed, idle):
    w, canvas = farmed, farmed.canvas
    w.session.pick("Bottom Dam")
    canvas.take_tool("Move corners")
    before = w.session.farm.paddock("Bottom Dam").geometry
    x, y = edits.rings_of(before)[0][0][1]
    start, end = at(w, x, y), at(w, x - 40, y + 40)
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, start)
    _drag(canvas, end)
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, end)
    moved = w.session.farm.paddock("Bottom Dam").geometry
    assert moved.area != pytest.approx(before.area, rel=1e-4)
    QTest.keyClick(canvas, Qt.Key.Key_Right)
    nudged = w.session.farm.paddock("Bottom Dam").geometry
    gap = np.array(edits.rings_of(nudged)[0][0][1]) - np.array(edits.rings_of(moved)[0][0][1])
    assert gap == pytest.approx([1.0, 0.0])
    w.session.undo.undo()
    w.session.undo.undo()
    assert w.session.farm.paddock("Bottom Dam").geometry.equals(before)


def _drag(canvas, to):
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QMouseEvent

    left, alt = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier
    event = QMouseEvent(QEvent.Type.MouseMove, QPointF(to), canvas.mapToGlobal(QPointF(to)), left, left, alt)
    QApplication.sendEvent(canvas, event)


def test_wheel_zooms_about_the_pointer_and_keys_move(farmed):
    canvas = farmed.canvas
    spot = QPointF(400, 300)
    before, scale = canvas.from_px(spot), canvas.view.px_per_m
    none = Qt.MouseButton.NoButton
    event = QWheelEvent(spot, canvas.mapToGlobal(spot), QPoint(), QPoint(0, 240), none,
                        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False)  # fmt: skip
    QApplication.sendEvent(canvas, event)
    assert canvas.view.px_per_m == pytest.approx(scale * 1.44)
    assert canvas.from_px(spot) == pytest.approx(before, abs=1e-6)
    centre = canvas.view.centre
    QTest.keyClick(canvas, Qt.Key.Key_Left)
    assert canvas.view.centre[0] < centre[0]
    QTest.keyClick(canvas, Qt.Key.Key_Minus)
    assert canvas.view.px_per_m < scale * 1.44


def test_the_plan_fills_the_walk_and_the_strip(planned, idle):
    s, table = planned.session, planned.strip.table
    assert step_state(s, "rows")[0] in {"done", "look", "stop"}
    assert s.may_print and planned.top.print.isEnabled()
    model = table.hours
    assert model.columnCount() == 24 and model.rowCount() >= 5
    words = [model.data(model.index(0, k), Qt.ItemDataRole.AccessibleTextRole) for k in range(24)]
    assert all("gust" in word and "km/h" in word for word in words)
    s.go_to("order")
    idle()
    assert planned.panels["order"].table.rows_model.rowCount() == len(s.plan.blocks)


def test_the_hour_moves_wind_and_edges(planned, idle):
    from mapper.window.frames import edges_at

    evening = planned.evening
    table = planned.strip.table
    before = planned.session.hour
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(500, 20))
    assert planned.session.hour != before
    assert planned.strip.table.shown == planned.session.hour
    edges = planned.session.layer("edges")
    shown = edges_at(edges, evening, planned.session.hour)
    wind = evening.at(planned.session.hour)["wind_from_deg"]
    off = np.abs((edges["facing_deg"] - wind + 360) % 360 - 180)
    assert (shown.loc[off < 60, "label"] == "downwind").all() and (shown.loc[off > 75, "label"] != "downwind").all()
    idle()


def test_an_edit_makes_stages_stale_and_turns_print_off(planned, idle):
    s = planned.session
    x, y = edits.rings_of(s.farm.paddock("Bottom Dam").geometry)[0][0][0]
    plan = s.plan
    s.edit("Move a corner", edits.move_corner(s.farm, "Bottom Dam", 0, 0, 0, (x + 8, y)))
    idle()
    assert {"rows", "ground", "order"} <= s.stale
    assert step_state(s, "order") == ("stale", "out of date")
    assert not s.may_print and not planned.top.print.isEnabled() and s.plan is plan
    assert planned.strip.table.stale
    assert (
        planned.top.print.toolTip() == "Print is off: the plan is out of date since: move a corner. Work it out again"
    )
    s.go_to("order")
    assert len(stale_blocks(s)) == len(plan.blocks)
    s.undo.undo()
    idle()
    assert s.stale == frozenset() and s.may_print and stale_blocks(s) == ()
    s.ask("Note the ban check", ban=BanCheck("none", s.now(), "the manager"))
    idle()
    assert "hours" in s.stale and "rows" not in s.stale
    planned.work.work_out()
    idle()
    assert s.plan.number == plan.number + 1 and s.plan.ban.state == "none"


def test_single_stages_without_a_plan(farmed, idle):
    farmed.work.work_out(("rows",))
    idle()
    s = farmed.session
    assert s.plan is None and s.known("rows") and len(s.layer("windrows")) > 10
    assert step_state(s, "rows")[0] != "todo" and step_state(s, "order")[0] == "todo"


def test_print_writes_the_sheets(planned, idle, tmp_path):
    planned.paper.write_sheets(str(tmp_path / "Gümüş paddock"))
    idle()
    found = sorted((tmp_path / "Gümüş paddock").glob("*.pdf"))
    assert len(found) >= 2 and all(p.read_bytes().startswith(b"%PDF") for p in found)
    assert planned.session.printed and step_state(planned.session, "sheets") == ("done", "printed")


def test_save_and_open_again(planned, idle, tmp_path):
    path = str(tmp_path / "farm.gpkg")
    planned.session.edit("Call it", planned.session.farm.with_(name="Saved farm"))
    assert planned.session.dirty
    planned.files.save_to(path)
    idle()
    assert not planned.session.dirty
    planned.files.open_path(path)
    idle()
    assert planned.session.farm.name == "Saved farm" and len(planned.session.farm.paddocks) == 1


def test_a_file_that_cannot_be_read_leaves_the_farm(farmed, idle, tmp_path):
    wrong = tmp_path / "broken.geojson"
    wrong.write_text("{ nothing")
    before = farmed.session.farm
    farmed.files.bring_in(
        __import__("mapper.window.bring", fromlist=["x"]).open_vectors(str(wrong), "assets", before), "paddock"
    )
    idle()
    assert farmed.session.farm is before and "broken.geojson" in str(farmed.session.errors["paddock"])


def test_stop_working(farmed, idle, monkeypatch):
    began = threading.Event()

    def endless(*args, cancelled=None, **kwargs):
        from mapper.farm.errors import Stopped

        began.set()
        while not (cancelled or args[-1])():
            time.sleep(0.002)
        raise Stopped

    monkeypatch.setattr("mapper.plan.job.run", endless)
    farmed.work.work_out()
    assert farmed.session.working and began.wait(10)
    farmed.work.stop_working()
    idle()
    assert not farmed.session.working and farmed.session.plan is None and farmed.session.errors == {}


def test_close_while_a_job_runs(farmed, monkeypatch, qtbot):
    began, ended = threading.Event(), threading.Event()

    def slow(*args, **kwargs):
        began.set()
        while not args[-1]():
            time.sleep(0.002)
        ended.set()
        raise RuntimeError("too late to be told")

    monkeypatch.setattr("mapper.plan.job.run", slow)
    farmed.work.work_out()
    assert began.wait(10)
    farmed._closing = True
    assert farmed.close()
    assert ended.is_set() and not farmed.isVisible()
    qtbot.wait(50)


def test_every_widget_that_takes_the_keyboard_has_a_name(planned, idle):
    nameless = []
    for step in ("paddock", "rows", "breaks", "evening", "order", "sheets"):
        planned.session.go_to(step)
        idle()
        for widget in planned.findChildren(QWidget):
            inner = isinstance(widget, QLineEdit) and isinstance(widget.parent(), QAbstractSpinBox)
            takes = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isVisible() and not inner
            if takes and not (widget.accessibleName() or getattr(widget, "text", str)()):
                nameless.append((step, type(widget).__name__, widget.objectName()))
    assert nameless == []


def test_every_key_is_used_once_and_named(window):
    from PySide6.QtGui import QShortcut

    keys = [(s.key().toString(), s.objectName()) for s in window.findChildren(QShortcut)]
    assert all(name for _, name in keys)
    assert len({k for k, _ in keys}) == len(keys)


def test_tab_goes_from_the_bar_to_the_tools_to_the_map(farmed):
    chain, at_ = [], farmed.top.switch
    for _ in range(400):
        chain.append(at_)
        at_ = at_.nextInFocusChain()
    order = [chain.index(x) for x in (
        farmed.top.switch, farmed.top.steps["paddock"], farmed.top.undo, farmed.tools.buttons["Pick"], farmed.canvas,
    )]  # fmt: skip
    assert order == sorted(order)


def test_light_and_dark(farmed, idle):
    light = farmed.grab().toImage().pixelColor(4, 4).lightness()
    farmed.turn_looks()
    idle()
    assert farmed.grab().toImage().pixelColor(4, 4).lightness() < light - 100


def test_measure_says_length_and_area(farmed):
    canvas = farmed.canvas
    canvas.take_tool("Measure")
    x0, y0, _, _ = farmed.session.farm.paddocks.total_bounds
    for x, y in ((x0, y0), (x0, y0 + 400), (x0 + 300, y0 + 400)):
        QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, at(farmed, x + 30, y + 30))
    assert canvas.tool.lines()[0].endswith(" m")


def test_the_sample_farm_opens_with_one_click(window, idle):
    window.files.open_sample()
    idle()
    assert len(window.session.farm.paddocks) >= 5 and window.session.farm.invented
    assert window.session.known("hours") and window.evening is not None
