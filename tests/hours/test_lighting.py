"""Lighting an hour: what is lit in it must be out, with spare time, before trouble or a change less two sigma."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.hours.evening import windows
from mapper.hours.lighting import trouble_from
from mapper.weather.wind import WindChange
from tests.hours.test_evening import evening, local
from tests.hours.test_judge import judged, limits
from tests.weather.hourly import forecast

ALL_DAY = {"light_from": 0, "out_by": 48}


def windy(at, n=48):
    """Hour `at` blows over the limit of 20 km/h."""
    wind = np.full(n, 12.0)
    wind[at] = 25.0
    return forecast(n, wind_km_h=wind, gust_km_h=np.nan)


def test_an_hour_is_no_go_where_its_rows_would_burn_into_trouble():
    hours = judged(windy(8), limits(**ALL_DAY), burnout_min=45)
    # 45 min to burn out and 30 to spare: nothing may be lit in the hour before, part of the one before that.
    assert hours["stay_in_row"].iloc[6:8].tolist() == ["go", "go"]
    assert hours["lighting"].iloc[5:9].tolist() == ["go", "caution", "no-go", "go"]
    assert (
        "Light only until 18:45: from 20:00 on no-go or not known (45 min to burn out and 30 min to spare)"
        in (hours["lighting_why"].iloc[6])
    )
    assert "Rows lit now would burn into 20:00" in hours["reason"].iloc[7]
    assert hours["verdict"].iloc[7] == "no-go"


def test_the_spare_time_is_the_farms():
    more = judged(windy(8), limits(**ALL_DAY, burnout_margin=0), burnout_min=45)
    assert more["lighting"].iloc[6] == "go"


def test_a_change_less_two_sigma_must_lie_beyond():
    at = pd.Timestamp("2026-04-17T10:30Z").to_pydatetime()
    for sigma, margin, last in ((60.0, 30, "18:10"), (30.0, 30, "19:10"), (30.0, 150, "17:40")):
        change = WindChange(at, 340, 230, 12, 20, sigma)
        hours = judged(rules=limits(**ALL_DAY, change_margin=margin), changes=(change,), burnout_min=20)
        partly = hours[hours["lighting"] == "caution"].iloc[0]
        assert f"Light only until {last}" in partly["lighting_why"]
        night, rules = evening(rules=limits(light_from=12, change_margin=margin), changes=(change,))
        assert windows(night, (change,), rules, 20)[0].ends_at == local(f"2026-04-17 {last}")


def test_what_follows_a_gap_or_the_end_is_trouble():
    times = forecast(6)["time_utc"].drop(index=3).reset_index(drop=True)
    found = trouble_from(times, np.ones(5, bool))
    start = times.iloc[0].timestamp()
    assert ((found - start) / 3600).tolist() == [3, 3, 3, 6, 6]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(2, 30), min_size=12, max_size=12),
    st.floats(1, 300),
    st.floats(0, 180),
)
def test_no_hour_is_a_go_whose_rows_burn_into_a_no_go(wind, burnout, spare):
    table = forecast(12, wind_km_h=wind, gust_km_h=np.nan)
    hours = judged(table, limits(**ALL_DAY, burnout_margin=spare), burnout_min=burnout, changes=())
    stays = (hours["stay_in_row"] != "no-go").to_numpy()
    for i in np.flatnonzero((hours["verdict"] == "go").to_numpy()):
        last = i + 1 + (burnout + spare) / 60.0
        assert last <= 12 + 1e-6
        assert stays[i : min(12, int(np.ceil(last - 1e-6)))].all()


@pytest.mark.parametrize("burnout", [5, 60, 240])
def test_longer_burning_never_allows_more(burnout):
    rank = {"go": 0, "caution": 1, "no-go": 2}
    short, long = (
        judged(windy(9), limits(**ALL_DAY), burnout_min=b)["lighting"].map(rank).to_numpy()
        for b in (burnout, burnout + 45)
    )
    # In the hour of trouble itself the wind speaks, not the lighting.
    assert (long >= short).all()
