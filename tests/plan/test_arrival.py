"""Escapes over small invented farms. Figures follow from the farm's geometry and the published spread."""

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.errors import MapperError
from mapper.farm.heights import Heights
from mapper.farm.layers import make_layer, stack_layers
from mapper.farm.limits import LocalLimits
from mapper.fire.behaviour import behaviour
from mapper.hours.verdict import Window
from mapper.plan.arrival import escape_from
from mapper.plan.escapes import worst_escapes, worst_points
from mapper.plan.fireground import fire_ground
from mapper.plan.winds import winds_from
from mapper.weather.wind import WindChange
from tests.farms import EAST, GRID, NORTH, box, evening_forecast, limits, small_farm

AT = pd.Timestamp("2026-04-18T08:00Z").to_pydatetime()
HOUR = 3600.0
# A line north to south, east of the paddock.
ACROSS = shapely.LineString([(EAST + 760, NORTH - 3000), (EAST + 760, NORTH + 3000)])


def open_farm(**changes):
    """One bare-edged paddock of stubble, no assets but those given."""
    farm = small_farm()
    nothing = {n: getattr(farm, n).iloc[:0] for n in ("assets", "neighbours", "breaks_there")}
    return farm.with_(**{**nothing, "forecast": evening_forecast(15.0, 270.0), **changes})


def asset(kind, shape, name="A thing"):
    return make_layer("assets", {"asset": [name], "kind": [kind], "name": [name]}, [shape], GRID.crs)


def test_minutes_downwind_are_those_of_the_head():
    """West wind of 15 km/h, dead grass 4.5 t/ha beyond: the head's own time over 800 m of flat grass."""
    farm = open_farm(assets=asset("house", box(2000, -400, 20, 20)))
    ground = fire_ground(farm, AT, 4 * HOUR)
    escape = escape_from(ground, EAST + 800, NORTH - 390)
    head = behaviour(15.0, 20.0, 45.0, 100.0, 4.5, "natural").head_m_s
    x, y = escape.start.x + 800, escape.start.y
    assert escape.at(x, y) == pytest.approx(800 / float(head) / 60, rel=0.03)
    assert escape.reached.iloc[0]["name"] == "A thing"
    # The house stands 1,200 m off; cells beside it count as reached.
    assert escape.reached["minutes"].iloc[0] == pytest.approx(1190 / float(head) / 60, rel=0.05)
    assert np.isinf(escape.at(EAST - 9e6, NORTH))


def test_a_wander_of_the_wind_widens_what_is_reached():
    farm = open_farm()
    ground = fire_ground(farm, AT, 4 * HOUR)
    assert len(ground.to_deg) >= 3
    escape = escape_from(ground, EAST - 200, NORTH - 200)
    aside = escape.at(escape.start.x + 250, escape.start.y + 80)
    narrow = behaviour(15.0, 20.0, 45.0, 100.0, 4.5, "natural")
    c = np.sqrt(1 - 1 / float(narrow.lb) ** 2)
    back = (1 - c) / (1 + c)
    a, k = float(narrow.head_m_s) * (1 + back) / 2, float(narrow.head_m_s) * (1 - back) / 2
    straight = (a * np.hypot(250, 80) - k * 250) / (a * a - k * k) / 60
    assert aside < 0.8 * straight


@pytest.mark.parametrize(("breaks", "reached"), [("hold", False), ("fail", True)])
def test_a_road_holds_or_fails(breaks, reached):
    farm = open_farm(assets=asset("road", ACROSS, "Example Road"))
    ground = fire_ground(farm, AT, 2 * HOUR, breaks=breaks)
    escape = escape_from(ground, EAST + 400, NORTH - 200, 120)
    assert np.isfinite(escape.at(EAST + 900, NORTH - 200)) == reached


def test_breaks_by_chance_follow_the_limit():
    """A 30 m bare line against a head fire: Wilson's chance at 15 m is under 5 %, a 3 m one's is not."""
    for width, holds in ((30.0, True), (3.0, False)):
        farm = open_farm(breaks_there=make_layer("breaks_there", {"width_m": [width]}, [ACROSS], GRID.crs))
        ground = fire_ground(farm, AT, 2 * HOUR)
        assert (len(ground.failing) == 0) == holds
        escape = escape_from(ground, EAST + 400, NORTH - 200, 120)
        assert np.isinf(escape.at(EAST + 900, NORTH - 200)) == holds
    known = {k: v for k, v in farm.limits.limits.items() if k != "breach_chance"}
    unknown = farm.with_(limits=LocalLimits(known))
    assert len(fire_ground(unknown, AT, HOUR).failing) > 0


def test_stubble_slows_and_a_hill_speeds():
    farm = open_farm()
    flat = fire_ground(farm, AT, 4 * HOUR)
    in_stubble = escape_from(flat, EAST + 20, NORTH + 150)
    on_grass = escape_from(flat, EAST + 20, NORTH - 150)
    assert in_stubble.at(EAST + 350, NORTH + 150) > on_grass.at(EAST + 350, NORTH - 150)
    # Ten degrees up to the east, with the wind: twice as fast (McArthur).
    x = np.arange(300) * 20.0
    heights = Heights(np.tile(np.tan(np.radians(10)) * x, (300, 1)), EAST - 2000, NORTH + 3000, 20.0)
    hill = fire_ground(farm.with_(heights=heights), AT, 4 * HOUR)
    up = escape_from(hill, EAST + 20, NORTH - 150)
    assert up.at(EAST + 350, NORTH - 150) == pytest.approx(on_grass.at(EAST + 350, NORTH - 150) / 1.994, rel=0.04)


def test_a_wind_change_turns_the_fire():
    """South-west change an hour in: beyond it the fire runs north-east, and places north are reached."""
    change = WindChange(AT + timedelta(hours=1), 270.0, 180.0, 15.0, 25.0, 10.0)
    winds = winds_from(evening_forecast(15.0, 270.0), AT, 3 * HOUR, (change,))
    assert winds.starts_s.tolist()[:2] == [0.0, 3600.0]
    assert winds.wind_km_h[0] == 15
    assert winds.wind_km_h[1] == 25
    assert winds.from_deg[0] == pytest.approx(270, abs=1)
    assert winds.from_deg[1] == pytest.approx(180, abs=1)
    farm = open_farm()
    x, y = EAST + 400, NORTH - 600
    before = escape_from(fire_ground(farm, AT, 3 * HOUR), x, y, 180)
    after = escape_from(fire_ground(farm, AT, 3 * HOUR, (change,)), x, y, 180)
    assert after.at(x + 300, y + 500) < before.at(x + 300, y + 500)


def test_lines_of_equal_minutes_are_nested():
    farm = open_farm()
    escape = escape_from(fire_ground(farm, AT, 2 * HOUR), EAST + 100, NORTH - 150, 120)
    lines = escape.lines((5.0, 10.0, 20.0))
    assert lines.crs == GRID.crs
    far = [lines[lines["minutes"] == m].distance(escape.start).max() for m in (5.0, 10.0, 20.0)]
    assert 0 < far[0] < far[1]
    for minutes, line in zip(lines["minutes"], lines.geometry, strict=True):
        p = line.interpolate(0.5, normalized=True)
        assert escape.at(p.x, p.y) == pytest.approx(minutes, abs=1.5)


def test_what_is_not_known_or_cannot_be_is_said():
    farm = open_farm()
    with pytest.raises(MapperError, match="does not cover"):
        fire_ground(farm.with_(forecast=None), AT, HOUR)
    with pytest.raises(MapperError, match="does not cover"):
        fire_ground(farm, AT + timedelta(days=30), HOUR)
    blank = farm.forecast.assign(wind_from_deg=np.nan)
    with pytest.raises(MapperError, match="no wind or air"):
        fire_ground(farm.with_(forecast=blank), AT, HOUR)
    bare = farm.with_(assets=asset("bare", box(0, -500, 300, 300)))
    with pytest.raises(MapperError, match="nothing burns here"):
        escape_from(fire_ground(bare, AT, HOUR), EAST + 150, NORTH - 350)


def edges_of(farm, breach, reach):
    ends = ((400, 0, 400, 280), (400, 280, 400, 300), (0, 0, 400, 0))
    shapes = [shapely.LineString([(EAST + a, NORTH + b), (EAST + c, NORTH + d)]) for a, b, c, d in ends]
    return make_layer(
        "edges",
        {
            "edge_id": ["e1", "e2", "s1"], "paddock": ["West"] * 3, "facing_deg": [90.0, 90.0, 180.0],
            "label": ["downwind", "downwind", "flank"], "label_after": ["", "", "downwind"], "breach": breach,
            "reach_m": reach,
        },
        shapes, GRID.crs,
    )  # fmt: skip


def test_the_worst_point_of_each_exposed_side():
    farm = open_farm()
    worst = worst_points(edges_of(farm, [0.1, 0.5, 0.9], [100.0, 90.0, 20.0]))
    assert worst["edge_id"].tolist() == ["e2"]
    after = worst_points(edges_of(farm, [0.1, 0.5, 0.9], [100.0, 90.0, 20.0]), "label_after")
    assert after["side"].tolist() == ["south"]
    assert worst_points(edges_of(farm, [0.1] * 3, [1.0] * 3), paddocks=("East",)).empty


def test_escapes_of_a_plan():
    farm = open_farm(assets=asset("house", box(1000, 140, 20, 20), "Example House"))
    window = Window(AT, AT + timedelta(hours=2), "go")
    change = WindChange(AT + timedelta(hours=1), 270.0, 0.0, 15.0, 20.0, 10.0)
    edges = edges_of(farm, [0.5, 0.1, 0.9], [100.0, 90.0, 20.0])
    got = worst_escapes(farm, edges, (window,), (change,), ("West",))
    first = got.table.iloc[0]
    assert (first["paddock"], first["side"], first["name"]) == ("West", "east", "Example House")
    assert first["at"] == pd.Timestamp(AT)
    assert 5 < first["minutes"] < 60
    assert {"e1", "s1"} == set(got.lines["edge_id"])
    assert got.figures[0].value == pytest.approx(first["minutes"])
    assert (len(got.remarks) == 1) == (first["minutes"] <= 30)
    assert worst_escapes(farm, edges, (), (), ("West",)).table.empty
    gusty = farm.forecast.copy()
    gusty.loc[gusty["time_utc"] == pd.Timestamp(AT) + pd.Timedelta(hours=1), "wind_km_h"] = 19.0
    later = worst_escapes(farm.with_(forecast=gusty), edges, (window,), (), ("West",))
    assert later.table["at"].unique().tolist() == [pd.Timestamp(AT) + pd.Timedelta(hours=1)]
    quick = worst_escapes(farm.with_(limits=limits(response_time=240)), edges, (window,), (), ("West",))
    assert "Example House" in quick.remarks[0].text
    assert stack_layers("arrival", [got.lines], GRID.crs)["minutes"].max() <= 120
