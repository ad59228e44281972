"""A file is shown before it changes anything: dropped on the window, looked at, brought in or left."""

import geopandas as gpd
import pytest
import shapely
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from mapper.window.preview import AskGrid, MiniMap, Preview
from mapper.window.tables import PlainTable
from tests.farms import EAST, GRID, NORTH

LEFT = Qt.MouseButton.LeftButton
PLAIN = Qt.KeyboardModifier.NoModifier


def drop(window, *paths):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    enter = QDragEnterEvent(QPoint(400, 400), Qt.DropAction.CopyAction, data, LEFT, PLAIN)
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(400, 400), Qt.DropAction.CopyAction, data, LEFT, PLAIN))


def square(x, y, side=300.0):
    return shapely.box(EAST + x, NORTH + y, EAST + x + side, NORTH + y + side)


def write(folder, name, crs=GRID.crs, at=(3000, 0), n=1):
    path = folder / f"{name}.gpkg"
    shapes = [square(at[0] + 400 * k, at[1]) for k in range(n)]
    gpd.GeoDataFrame({"paddock": [f"{name} {k}" for k in range(n)]}, geometry=shapes, crs=crs).to_file(path)
    return path


def test_the_first_boundary_is_shown_on_a_map_before_there_is_a_farm(window, idle, tmp_path):
    drop(window, write(tmp_path, "Creek", n=2))
    idle()
    shown = window.files.shown
    assert isinstance(shown, Preview) and window.session.farm is None
    assert "2 paddocks read" in shown.lines[0] and "GDA2020" in shown.lines[0]
    assert "2 new shapes" in shown.findChild(MiniMap).accessibleName()
    QTest.mouseClick(shown.take_button, LEFT)
    idle()
    assert list(window.session.farm.paddocks["paddock"]) == ["Creek 0", "Creek 1"] and window.files.shown is None


def test_left_means_nothing_has_changed(farmed, idle, tmp_path, monkeypatch):
    monkeypatch.setattr("mapper.window.farmfiles.pick_one", lambda *a: "paddocks")
    before = farmed.session.farm
    drop(farmed, write(tmp_path, "Creek"))
    idle()
    QTest.mouseClick(farmed.files.shown.leave_button, LEFT)
    idle()
    assert farmed.session.farm is before and not farmed.session.undo.canUndo() and farmed.files.shown is None


def test_repairs_are_shown_and_two_files_follow_one_another(farmed, idle, tmp_path, monkeypatch):
    monkeypatch.setattr("mapper.window.farmfiles.pick_one", lambda *a: "paddocks")
    corners = [(5000, 0), (5300, 300), (5300, 0), (5000, 300)]
    bow = shapely.Polygon([(EAST + x, NORTH + y) for x, y in corners])
    crossed = tmp_path / "bow.gpkg"
    gpd.GeoDataFrame({"paddock": ["Bow"]}, geometry=[bow], crs=GRID.crs).to_file(crossed)
    drop(farmed, crossed, write(tmp_path, "Creek"))
    idle()
    shown = farmed.files.shown
    assert any("Repaired" in line or "Left out" in line for line in shown.lines)
    words = " ".join(label.text() for label in shown.findChildren(QLabel))
    assert "Repaired" in words or "Left out" in words
    QTest.mouseClick(shown.take_button, LEFT)
    idle()
    second = farmed.files.shown
    assert isinstance(second, Preview) and second is not shown and "Creek" in second.lines[0]
    QTest.mouseClick(second.take_button, LEFT)
    idle()
    assert "Creek 0" in set(farmed.session.farm.paddocks["paddock"])
    farmed.top.undo.click()
    assert "Creek 0" not in set(farmed.session.farm.paddocks["paddock"])


def test_a_file_without_a_grid_asks_for_it_and_shows_where_it_lands(farmed, idle, tmp_path, monkeypatch):
    monkeypatch.setattr("mapper.window.farmfiles.pick_one", lambda *a: "paddocks")
    path = tmp_path / "bare.shp"
    gpd.GeoDataFrame({"paddock": ["Bare"]}, geometry=[square(3000, 0)], crs=GRID.crs).to_file(path)
    path.with_suffix(".prj").unlink()
    drop(farmed, path)
    idle()
    asked = farmed.files.shown
    assert isinstance(asked, AskGrid)
    QTest.mouseClick(asked.take_button, LEFT)
    idle()
    shown = farmed.files.shown
    assert isinstance(shown, Preview) and "as given" in shown.lines[0]
    QTest.mouseClick(shown.take_button, LEFT)
    idle()
    made = farmed.session.farm.paddock("Bare").geometry
    assert made.equals_exact(square(3000, 0).normalize(), 0.01) or made.symmetric_difference(square(3000, 0)).area < 1


def test_an_edit_made_meanwhile_is_not_lost(farmed, idle, tmp_path, monkeypatch):
    monkeypatch.setattr("mapper.window.farmfiles.pick_one", lambda *a: "paddocks")
    drop(farmed, write(tmp_path, "Creek"))
    idle()
    shown, s = farmed.files.shown, farmed.session
    s.edit("Call it", s.farm.with_(name="Called otherwise"))
    QTest.mouseClick(shown.take_button, LEFT)
    idle()
    again = farmed.files.shown
    assert isinstance(again, Preview) and s.farm.name == "Called otherwise" and len(s.farm.paddocks) == 1
    QTest.mouseClick(again.take_button, LEFT)
    idle()
    assert s.farm.name == "Called otherwise" and len(s.farm.paddocks) == 2


def test_a_forecast_shows_its_first_hours(farmed, idle, tmp_path):
    path = tmp_path / "hours.csv"
    rows = [f"2026-04-18 {h:02d}:00,{20 - h / 2},{40 + h},{10 + h},{18 + h},315" for h in range(12, 24)]
    path.write_text("time,temperature C,humidity %,wind km/h,gust km/h,wind direction\n" + "\n".join(rows))
    before = farmed.session.farm.forecast
    drop(farmed, path)
    idle()
    shown = farmed.files.shown
    assert isinstance(shown, Preview), farmed.session.errors
    table = shown.findChild(PlainTable)
    assert table.rows_model.rowCount() == 6 and "Wind km/h" in table.rows_model.heads
    assert farmed.session.farm.forecast is before
    QTest.mouseClick(shown.take_button, LEFT)
    idle()
    assert len(farmed.session.farm.forecast) == 12


@pytest.mark.parametrize("name", ["nothing.xyz"])
def test_what_is_no_file_of_ours_is_said(farmed, idle, tmp_path, name):
    (tmp_path / name).write_text("?")
    drop(farmed, tmp_path / name)
    idle()
    assert "not known" in str(farmed.session.errors["paddock"]) and farmed.files.shown is None
