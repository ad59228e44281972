import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import LayerError
from mapper.weather.forecast import check_forecast
from tests.weather.hourly import forecast


def test_a_good_table_passes_as_it_is():
    table = forecast(cloud_pct=np.nan)
    assert check_forecast(table) is table


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda t: t.drop(columns="rain_mm"), "rain_mm"),
        (lambda t: t.assign(temp_c=t["temp_c"].astype("float32")), "temp_c"),
        (lambda t: t.assign(time_utc=t["time_utc"].dt.tz_localize(None)), "UTC"),
        (lambda t: t.assign(time_utc=t["time_utc"].dt.tz_convert("Australia/Perth")), "UTC"),
        (lambda t: t.iloc[::-1], "forward"),
        (lambda t: pd.concat([t, t.tail(1)]), "forward"),
        (lambda t: t.iloc[:0], "no hours"),
        (lambda t: t.assign(rh_pct=130.0), "cannot be"),
        (lambda t: t.assign(wind_km_h=-1.0), "cannot be"),
        (lambda t: t.assign(wind_from_deg=400.0), "cannot be"),
    ],
)
def test_a_spoilt_table_is_refused_with_a_sentence(spoil, says):
    with pytest.raises(LayerError, match=says):
        check_forecast(spoil(forecast()))


def test_hours_between_are_put_in_only_where_asked_and_only_over_short_gaps():
    from mapper.weather.forecast import filled_between

    rain = np.zeros(24)
    rain[6] = 3.0
    three = forecast(24, temp_c=np.arange(24.0), wind_from_deg=np.where(np.arange(24) < 12, 350.0, 20.0), rain_mm=rain)
    three = three.iloc[::3].drop(index=15).reset_index(drop=True)  # every third hour, and one line more missing
    filled, count = filled_between(three)
    assert count == 10
    hourly = filled.set_index("time_utc")
    start = three["time_utc"].iloc[0]
    assert hourly.loc[start + pd.Timedelta("1h"), "temp_c"] == pytest.approx(1.0)
    # Straight the short way round, across north.
    assert hourly.loc[start + pd.Timedelta("10h"), "wind_from_deg"] == pytest.approx(0.0, abs=1e-9)
    # The interval's 3 mm, an hour each; the sum stays.
    assert hourly.loc[start + pd.Timedelta("4h") : start + pd.Timedelta("6h"), "rain_mm"].tolist() == [1.0, 1.0, 1.0]
    assert filled["rain_mm"].sum() == pytest.approx(3.0)
    # The six-hour gap stays a gap, and known lines stay as they were.
    assert (filled["time_utc"].diff().max()) == pd.Timedelta("6h")
    kept = filled[filled["time_utc"].isin(three["time_utc"])].reset_index(drop=True)
    pd.testing.assert_frame_equal(kept.drop(columns="rain_mm"), three.drop(columns="rain_mm"))
    assert filled_between(forecast(5))[1] == 0


def test_what_is_not_known_is_not_made_up_between():
    from mapper.weather.forecast import filled_between

    three = forecast(10, rh_pct=np.where(np.arange(10) == 3, np.nan, 40.0)).iloc[::3].reset_index(drop=True)
    filled, _ = filled_between(three)
    assert filled["rh_pct"].isna().tolist() == [False, True, True, True, True, True, False, False, False, False]


def test_a_wind_change_is_not_smoothed_away():
    from mapper.weather.forecast import filled_between
    from mapper.weather.windchange import find_changes

    table = forecast(24, wind_from_deg=np.where(np.arange(24) < 12, 340.0, 290.0))
    three = table.iloc[::3].reset_index(drop=True)
    filled, _ = filled_between(three)
    assert set(filled["wind_from_deg"]) == {340.0, 290.0}
    assert len(find_changes(filled)) == len(find_changes(table)) == 1
