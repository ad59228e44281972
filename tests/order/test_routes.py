"""Drives between rows: never across what burns, out of smoke where there is another way. Our rules, no source."""

import numpy as np
import pandas as pd
import shapely

from mapper.farm.farm import Crew
from mapper.farm.layers import check_layer, empty_layer, make_layer
from mapper.order.danger import Spread
from mapper.order.routes import way_round
from mapper.order.wayground import way_ground
from tests.farms import EAST, GRID, NORTH
from tests.order.paddocks import order_of, straight_rows, window

WIND = Spread(90.0, 15.0)


def ground(area):
    return way_ground(area, (), empty_layer("assets", GRID.crs), empty_layer("buffers", GRID.crs))


def test_round_the_end_of_a_live_row_upwind_of_it():
    cells = ground(shapely.box(0, 0, 600, 400))
    row = shapely.LineString([(300, 100), (300, 300)])
    found = way_round(shapely.Point(200, 200), shapely.Point(400, 200), (row,), cells, WIND)
    # 100 m over and 100 m up to the row's end, twice, is 283 m; cells of 10 m and room beside the row add to it.
    assert not found.intersects(row) and 283 < found.length < 400
    assert found.coords[0] == (200, 200) and found.coords[-1] == (400, 200)


def test_none_where_a_live_row_bars_the_whole_ground():
    cells = ground(shapely.box(0, 0, 600, 400))
    row = shapely.LineString([(300, -200), (300, 600)])
    assert way_round(shapely.Point(200, 200), shapely.Point(400, 200), (row,), cells, WIND) is None


def test_smoke_is_driven_round_where_that_is_not_far():
    cells = ground(shapely.box(0, 0, 600, 400))
    row = shapely.LineString([(100, 300), (100, 330)])
    start, end = shapely.Point(150, 250), shapely.Point(450, 250)

    def smoke_m(drive):
        places = shapely.get_coordinates(shapely.segmentize(drive, 5.0))
        return 5.0 * (np.degrees(np.arctan2(np.abs(315 - places[:, 1]), places[:, 0] - 100)) < 30).sum()

    # Its end lies in the lee, so some smoke there is; south of it the air is clear.
    found = way_round(start, end, (row,), cells, WIND)
    assert smoke_m(found) < 0.7 * smoke_m(shapely.LineString([start, end]))


def test_no_drive_of_an_order_crosses_what_burns():
    paddock = straight_rows(24, 400.0, laps=2)
    line = shapely.LineString([(EAST - 5, NORTH - 50), (EAST - 5, NORTH + 500)])
    there = make_layer("breaks_there", {"width_m": [10.0], "made_by": ["grader"]}, [line], GRID.crs)
    crews = (Crew("1"), Crew("2"))
    order = order_of(paddock, crews=crews, windows=(window(10.0),), breaks_there=there, effort=0.1)
    check_layer("routes", order.routes)
    assert len(order.routes) > 40 and (order.routes["note"] != "").any()
    pieces = order.pieces[order.pieces["order_no"] > 0].set_index("order_no")
    for drive in order.routes.itertuples():
        # What is alight all through the drive and lit to its end before it: two minutes for 400 m.
        until = drive.leaves_at + pd.Timedelta(seconds=drive.length_m / (20 / 3.6))
        live = pieces[(pieces["lit_at"] + pd.Timedelta(minutes=3) < drive.leaves_at) & (pieces["out_at"] > until)]
        live = live[~live.index.isin([drive.from_no, drive.to_no])]
        ends = shapely.MultiPoint([drive.geometry.coords[0], drive.geometry.coords[-1]]).buffer(1.5)
        assert not live.intersects(drive.geometry.difference(ends)).any(), (drive.from_no, drive.to_no)
