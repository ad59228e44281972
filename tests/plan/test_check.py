from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import make_layer
from mapper.farm.limits import Limit, LocalLimits
from mapper.hours.verdict import Window
from mapper.plan.check import check_cover, check_crew, check_found, check_heat, check_overlap, stop_winds
from tests.farms import GRID, limits, small_farm

OPEN = (Window(datetime(2026, 4, 18, 8, tzinfo=UTC), datetime(2026, 4, 18, 10, tzinfo=UTC), "go"),)


def _night(temp=20.0, rh=40.0, moisture=9.0):
    times = pd.date_range("2026-04-18T02:00Z", periods=24, freq="h").astype("datetime64[ns, UTC]")
    return pd.DataFrame({"time_utc": times, "temp_c": temp, "rh_pct": rh, "moisture_pct": moisture})


def _rows(load_kg_m):
    line = shapely.LineString(small_farm().paddock("West").geometry.exterior.coords)
    n = len(load_kg_m)
    load = np.asarray(load_kg_m, dtype=float)
    data = {"row_id": [str(k) for k in range(n)], "paddock": ["West"] * n, "length_m": [100.0] * n,
            "load_kg_m": load, "load_t_ha": load * 10 / 0.6}  # fmt: skip
    return make_layer("windrows", data, [line] * n, GRID.crs)


def test_rows_too_light_or_damp_are_looked_at():
    farm = small_farm(limits=limits(row_load_min=20))
    assert check_heat(farm, _rows([2.0] * 10), _night(), OPEN, ("West",)) == ()
    (light,) = check_heat(farm, _rows([2.0] * 8 + [0.5] * 2), _night(), OPEN, ("West",))
    assert light.text.startswith("20% of the row length in West")
    (damp,) = check_heat(farm, _rows([2.0] * 10), _night(moisture=30.0), OPEN, ("West",))
    assert damp.text.startswith("100%")
    assert check_heat(farm, _rows([0.5]), _night(), (), ("West",)) == ()


@pytest.mark.parametrize(
    ("limit", "temp", "rh", "published"),
    # Published cells: SA Grain Harvesting Code of Practice, index 35 (35 degC, 14 %: 26 km/h); Tatiara District
    # Council, stubble burning, index 25 (24 degC, 23 %: 29 km/h).
    [(35, 35, 14, 26), (25, 24, 23, 29)],
)
def test_the_stop_wind_is_the_published_tables(limit, temp, rh, published):
    stop = Limit("index_stop", limit, "code", "2026-03-01", index="gfdi_mk4")
    (figure,) = stop_winds(small_farm(limits=LocalLimits({"index_stop": stop})), _night(temp, rh), OPEN)
    assert abs(figure.value - published) <= 1
    assert "10 m" in figure.source


def test_no_hours_no_stop_wind():
    assert stop_winds(small_farm(), _night(), ()) == ()
    assert stop_winds(small_farm(), pd.DataFrame({"time_utc": []}), OPEN) == ()


def test_crew_is_held_against_its_limits():
    farm = small_farm(limits=limits(people_min=5, water_min=6000))
    assert [r.level for r in check_crew(farm)] == ["stop", "stop"]
    assert check_crew(small_farm()) == ()


def test_no_crew_is_a_stop():
    assert check_crew(small_farm(crews=()))[0].level == "stop"


def test_rows_that_bare_too_much_are_looked_at():
    farm = small_farm()
    line = farm.paddock("West").geometry.exterior
    length_m = 0.7 * farm.paddock("West").geometry.area
    data = {"row_id": ["a"], "paddock": ["West"], "length_m": [length_m]}
    rows = make_layer("windrows", data, [shapely.LineString(line.coords)], GRID.crs)
    (found,) = check_cover(farm, rows, ("West", "East"))
    assert found.paddock == "West"
    assert "30 %" in found.text


def test_paddocks_that_share_ground_stop_the_plan():
    farm = small_farm()
    assert check_overlap(farm, ("West", "East")) == ()
    grown = farm.paddocks.assign(geometry=[farm.paddocks.geometry.iloc[0].buffer(60), farm.paddocks.geometry.iloc[1]])
    (stop,) = check_overlap(farm.with_(paddocks=grown), ("West",))
    assert stop.level == "stop"
    assert "West and East share 1." in stop.text
    assert check_overlap(farm.with_(paddocks=grown), ()) == ()


def test_rows_for_a_part_of_a_paddock_stop_the_plan():
    farm = small_farm()
    # West is 400 x 300 m, its header 12 m: 10 km of row.
    all_of_it = _rows([2.0] * 100)
    assert check_found(farm, all_of_it, ("West",)) == ()
    (stop,) = check_found(farm, all_of_it.iloc[:20], ("West", "East"))
    assert stop.level == "stop"
    assert "about 20 % of it" in stop.text
