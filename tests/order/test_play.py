"""Any paddock, any rows, any wind and change: an order played minute by minute keeps the rules (order/play.py)."""

from datetime import timedelta

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from mapper.farm.farm import Crew, RowBurn
from mapper.order.wishes import FixedStart, Wishes
from mapper.weather.wind import WindChange
from tests.farms import EAST, NORTH, evening_forecast
from tests.order.paddocks import START, layers_of, order_of, straight_rows, window
from tests.order.play import edges_out_first, play
from tests.order.test_burn import check_promises

SHAPES = {
    "square": shapely.box(0, 0, 240, 240),
    "L": shapely.Polygon([(0, 0), (300, 0), (300, 120), (130, 120), (130, 300), (0, 300)]),
    "U": shapely.Polygon([(0, 0), (320, 0), (320, 260), (220, 260), (220, 110), (100, 110), (100, 260), (0, 260)]),
    "hole": shapely.Polygon(shapely.box(0, 0, 280, 280).exterior, [shapely.box(110, 100, 180, 170).exterior]),
    "two parts": shapely.MultiPolygon([shapely.box(0, 0, 150, 240), shapely.box(170, 30, 320, 260)]),
    "triangle": shapely.Polygon([(0, 0), (330, 40), (120, 300)]),
}


def paddock(shape, heading, laps, wave):
    """Rows across a shape on a heading, curved by `wave` metres, inside laps along its boundary."""
    area = SHAPES[shape]
    rings = [area.buffer(-12.0 * (k + 0.5), join_style="mitre") for k in range(laps)]
    lines = [shapely.LineString(p.exterior.coords) for r in rings for p in shapely.get_parts(r) if not p.is_empty]
    inner = area.buffer(-12.0 * laps - 1.0, join_style="mitre")
    x = np.linspace(-300, 700, 101)
    for y in np.arange(-300, 700, 14.0):
        curve = shapely.LineString(np.column_stack([x, y + wave * np.sin(x / 120)]))
        cut = shapely.intersection(rotate(curve, heading, origin=(160, 150)), inner)
        lines += [g for g in shapely.get_parts(cut) if g.geom_type == "LineString" and g.length > 15]
    return translate(area, EAST, NORTH), [translate(g, EAST, NORTH) for g in lines], "P"


@settings(max_examples=14, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.sampled_from(sorted(SHAPES)), st.floats(0, 180), st.integers(0, 2), st.sampled_from([0.0, 15.0]),
    st.floats(0, 359), st.integers(1, 3), st.floats(1.0, 8.0),
)  # fmt: skip
def test_any_paddock_and_wind(shape, heading, laps, wave, from_deg, crews, hours):
    mine = paddock(shape, heading, laps, wave)
    gang = tuple(Crew(f"Crew {k}") for k in range(crews))
    order = order_of(mine, from_deg=from_deg, crews=gang, windows=(window(hours),), effort=0.1)
    check_promises(order, layers_of(mine)[1], from_deg + 180, window(hours).ends_at + timedelta(minutes=20))
    if not any("passes across" in r.text for r in order.remarks):
        play(order, gang, RowBurn(), lambda s: from_deg + 180.0, START)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.floats(0, 359), st.floats(40, 180), st.integers(1, 4), st.booleans())
def test_a_wind_change_in_the_midst_of_it(from_deg, turn, hour, bends):
    mine = paddock("square", 20.0 if bends else 90.0, 1, 10.0 if bends else 0.0)
    table = evening_forecast(from_deg=from_deg)
    at = START + timedelta(hours=hour)
    later = (table["time_utc"] >= at).to_numpy()
    table.loc[later, "wind_from_deg"] = (from_deg + turn) % 360
    change = WindChange(at, from_deg, (from_deg + turn) % 360, 8.0, 8.0, 30.0)
    order = order_of(mine, forecast=table, changes=(change,), windows=(window(7.0),), effort=0.1)
    play(order, (Crew("Crew 1"),), RowBurn(), lambda s: from_deg + 180.0 + (turn if s >= hour * 3600 else 0.0), START)


def test_edge_rows_are_out_first_and_no_more_rows_burn_at_once_than_the_limit():
    mine = straight_rows(24, 300.0, laps=1)
    gang = (Crew("Crew 1"), Crew("Crew 2"))
    order = order_of(mine, crews=gang, rows_alight_max=6)
    assert play(order, gang, RowBurn(), lambda s: 90.0, START, most_alight=6) > 40
    edges_out_first(order, START)
    free = order_of(mine, crews=gang)
    assert order.pieces["out_at"].max() > free.pieces["out_at"].max()


def test_a_mended_order_keeps_the_rules_too():
    mine = straight_rows(16, 300.0, laps=1)
    wishes = Wishes(unlit_rows=("P-8",), starts=(FixedStart(("P-5",), START + timedelta(hours=3)),))
    order = order_of(mine, wishes=wishes, effort=0.25)
    play(order, (Crew("Crew 1"),), RowBurn(), lambda s: 90.0, START)


def test_the_play_finds_a_broken_order():
    order = order_of(straight_rows(8, 300.0))
    pieces, points = order.pieces.copy(), order.lighting_points.copy()
    turned = {c: pieces[c].max() - (pieces[c] - pieces[c].min()) for c in ("lit_at", "out_at")}
    pieces = pieces.assign(**turned)
    points["lit_at"] = points["lit_at"].max() - (points["lit_at"] - points["lit_at"].min())
    broken = type(order)(pieces.assign(out_at=pieces["out_at"].max()), points, *(
        getattr(order, n) for n in ("blocks", "ways_out", "remarks", "figures")))  # fmt: skip
    with pytest.raises(AssertionError, match=r"before|lee"):
        play(broken, (Crew("Crew 1"),), RowBurn(), lambda s: 90.0, START)
