"""What a burn is worth and costs, on a small invented farm. Published values stand in tests/published/test_kill.py."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits
from mapper.hours.verdict import Window
from mapper.plan.worth import bridging, heavy_rows, lighting_explained, lighting_note, worth
from tests.farms import EAST, GRID, NORTH, limits, small_farm

OPEN = (Window(datetime(2026, 4, 18, 8, tzinfo=UTC), datetime(2026, 4, 18, 10, tzinfo=UTC), "go"),)


def night(moisture=9.0, wind=8.0):
    times = pd.date_range("2026-04-18T02:00Z", periods=24, freq="h").astype("datetime64[ns, UTC]")
    return pd.DataFrame(
        {"time_utc": times, "temp_c": 20.0, "rh_pct": 40.0, "moisture_pct": moisture, "wind_km_h": wind}
    )


def rows(load_t_ha, length_m=400.0):
    """Rows of a 0.6 m width."""
    n = len(load_t_ha)
    line = shapely.LineString([(EAST, NORTH), (EAST, NORTH + length_m)])
    load = np.asarray(load_t_ha, dtype=float)
    data = {"row_id": [f"r{k}" for k in range(n)], "paddock": ["West"] * n, "length_m": [length_m] * n,
            "load_kg_m": load * 0.06, "load_t_ha": load}  # fmt: skip
    return make_layer("windrows", data, [line] * n, GRID.crs)


def figures(*given):
    return {f.name.removeprefix("West: "): f for f in worth(*given, OPEN, ("West",))}


def test_a_good_row_kills_and_says_so_with_both_ends():
    got = figures(small_farm(), rows([25.0] * 30), night())
    kill = got["annual ryegrass seed in the row killed, at least"]
    assert kill.value == pytest.approx(98)
    assert kill.inputs.startswith("at most 99 %; wild radish in pods 98 to 99 %")
    fewer = got["fewer annual ryegrass seedlings next season, at least"]
    assert 20 < fewer.value < 40
    assert fewer.inputs.startswith("at most ")
    assert all(f.source for f in got.values())


def test_damp_windy_or_light_rows_promise_less():
    farm, good = small_farm(), "annual ryegrass seed in the row killed, at least"
    best = figures(farm, rows([20.0] * 30), night())[good].value
    assert figures(farm, rows([20.0] * 30), night(moisture=20.0))[good].value < best
    assert figures(farm, rows([11.0] * 30), night(wind=24.0))[good].value < best
    assert figures(farm, rows([9.0] * 30), night())[good].value < best


def test_the_head_fire_of_the_stubble_is_told():
    """Cut at 0.13 m it burns as grazed grass, at 0.5 m as standing: faster, with taller flames."""
    low = figures(small_farm(), rows([25.0] * 30), night())
    farm = small_farm()
    tall = figures(farm.with_(paddocks=farm.paddocks.assign(cut_height_m=0.5)), rows([25.0] * 30), night())
    assert "as grazed grass" in low["head fire in the stubble"].inputs
    assert tall["head fire in the stubble"].value > low["head fire in the stubble"].value > 0
    assert tall["flame length of that fire"].value > low["flame length of that fire"].value
    assert "flame height" in low["flame length of that fire"].inputs
    assert "over 200 degC for" in low["heat in the row, at least"].inputs


def test_costs_follow_the_straw():
    """30 rows of 400 m at 1.5 kg/m on 12 ha: 18 t, 1.5 t/ha; nitrogen 5 kg/t (Laycock 2021, read)."""
    got = figures(small_farm(), rows([25.0] * 30), night())
    assert got["nitrogen lost to the air"].value == pytest.approx(7.5)
    assert got["ground left bare by rows"].value == pytest.approx(10.0)
    assert got["nutrients lost, rows moved each year"].value > 0


def test_without_hours_only_costs_are_known():
    got = {f.name for f in worth(small_farm(), rows([25.0]), night(), (), ("West",))}
    assert not any("killed" in n for n in got)
    assert any("nitrogen" in n for n in got)
    assert worth(small_farm(), rows([np.nan]), night(), OPEN, ("West",)) == ()


def test_heavy_rows_are_looked_at():
    farm = small_farm()
    assert heavy_rows(farm, rows([25.0] * 10), ("West",)) == ()
    (remark,) = heavy_rows(farm, rows([25.0] * 9 + [80.0]), ("West",))
    assert remark.text.startswith("10% of the row length in West is heavier than your 60 t/ha")


def test_stubble_cut_higher_than_the_rows_are_apart_bridges():
    farm = small_farm()
    assert bridging(farm, ("West",)) == ()
    tall = farm.with_(paddocks=farm.paddocks.assign(cut_height_m=0.35))
    (remark,) = bridging(tall, ("West",))
    assert "cut at 0.35 m" in remark.text
    (unknown,) = bridging(farm.with_(limits=LocalLimits()), ("West",))
    assert "not known" in unknown.text
    assert bridging(farm.with_(limits=limits(row_spacing=0.1)), ("West",))


def test_lighting_is_explained_with_this_evenings_figures():
    front, single = lighting_explained(small_farm(), "West", night(), OPEN)
    assert "front" in front
    assert "single points" in single
    assert lighting_explained(small_farm(), "West", night(), ()) is None
    (note,) = lighting_note(small_farm(), night(), OPEN, ("West", "East"))
    assert note.level == "note"
    assert lighting_note(small_farm(), night(), (), ("West",)) == ()
