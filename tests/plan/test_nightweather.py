"""What a plan says of the night's weather beside its hours."""

from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
import pytest

from mapper.farm.issues import ForecastIssue
from mapper.hours.evening import night_hours, windows
from mapper.hours.judge import judge_hours
from mapper.hours.verdict import BanCheck
from mapper.plan.nightweather import fuel_of, night_weather, weather_words
from mapper.plan.request import NightRequest
from mapper.weather.readings import add_reading
from tests.farms import evening_forecast, small_farm

NIGHT = date(2026, 4, 18)
NOW = datetime(2026, 4, 18, 2, tzinfo=UTC)
BAN = BanCheck("none", NOW, "invented")
SOAK = datetime(2026, 3, 1, tzinfo=UTC)


def told(farm, table=None):
    table = farm.forecast if table is None else table
    judged = judge_hours(table, 141.6, -36.2, farm.zone, farm.limits, BAN, fuel_of(farm))
    night = night_hours(judged, NIGHT, farm.zone)
    open_ = windows(night, (), farm.limits, farm.row_burn.burnout_min)
    weather = night_weather(farm, NightRequest(NIGHT, NOW, ban=BAN), judged, night, open_)
    return weather, weather_words(weather, night, open_)


def test_the_issue_used_is_named_and_the_others_kept():
    old = ForecastIssue("thursday.csv", evening_forecast(6.0), datetime(2026, 4, 16, 6, tzinfo=UTC))
    new = ForecastIssue("friday.csv", evening_forecast(), datetime(2026, 4, 17, 6, tzinfo=UTC))
    farm = small_farm(last_soak=SOAK).with_issue(old).with_issue(new)
    weather, _ = told(farm)
    assert weather.issue == "friday.csv, issued 17 Apr 16:00"
    assert weather.others == ("thursday.csv, issued 16 Apr 16:00",)
    # Read again, an issue takes the place of itself.
    again = farm.with_issue(ForecastIssue("friday.csv", evening_forecast(7.0), new.issued_at))
    assert [i.source for i in again.forecasts] == ["thursday.csv", "friday.csv"]
    typed, _ = told(farm.with_(forecast=evening_forecast(9.0)))
    assert typed.issue == "typed in, issue time not known"
    assert len(typed.others) == 2


def test_rows_stop_winds_and_nights():
    weather, words = told(small_farm(last_soak=SOAK))
    assert weather.rows.words == "Rows are dry."
    assert len(weather.stop_winds) == 2
    assert [n.night for n in weather.coming][:2] == [date(2026, 4, 17), NIGHT]
    assert not weather.patrol.complete
    # The forecast ends before the patrol does: said.
    assert any("knows nothing after" in r.text for r in words)


def test_a_reading_off_the_forecast_wants_eyes():
    readings = add_reading(None, time_utc=datetime(2026, 4, 18, 7, tzinfo=UTC), wind_km_h=17.0, temp_c=20.0)
    weather, words = told(small_farm(last_soak=SOAK, readings=readings))
    assert len(weather.readings) == 1
    assert any("The last reading differs from the forecast. Read wind 17 km/h at 2 m" in r.text for r in words)
    none, _ = told(small_farm(last_soak=SOAK))
    assert none.readings.empty


def test_wet_rows_and_a_quarrel_want_eyes():
    farm = small_farm(last_soak=datetime(2026, 4, 12, tzinfo=UTC))
    weather, words = told(farm)
    assert weather.rows.state == "soaked"
    assert any("Rows are soaked: wait until about" in r.text for r in words)
    table = evening_forecast()
    still = table["time_utc"].between(pd.Timestamp("2026-04-18T08:00Z"), pd.Timestamp("2026-04-18T20:00Z"))
    table["wind_km_h"], table["gust_km_h"] = np.where(still, 6.0, 30.0), np.nan
    table["cloud_pct"] = 0.0
    _, words = told(small_farm(last_soak=SOAK, forecast=table))
    assert any("no good hour in common" in r.text for r in words)


def test_what_is_past_its_range_is_said():
    table = evening_forecast()
    table["rh_pct"] = 78.0
    _, words = told(small_farm(last_soak=SOAK, forecast=table))
    assert any("Past the range its equation was made for" in r.text and "Mark 4" in r.text for r in words)
    _, words = told(small_farm(last_soak=SOAK))
    assert not any("Past the range" in r.text for r in words)


def test_no_forecast_no_words():
    farm = small_farm().with_(forecast=None)
    assert farm.issue is None
    assert weather_words(None, pd.DataFrame(), ()) == ()


@pytest.mark.parametrize(
    ("heights", "state"), [((0.08, 0.09), "eaten_out"), ((0.08, 0.3), "grazed"), ((0.1, float("nan")), "natural")]
)
def test_the_fire_behaviour_index_takes_the_highest_stubble(heights, state):
    farm = small_farm()
    farm = farm.with_(paddocks=farm.paddocks.assign(cut_height_m=list(heights)))
    assert fuel_of(farm).state == state


def test_a_night_without_an_hour_says_what_is_missed_least():
    farm = small_farm(last_soak=SOAK)
    gale = farm.forecast.assign(wind_km_h=np.where(farm.forecast.index == 20, 24.0, 55.0), gust_km_h=30.0)
    _, remarks = told(farm, gale)
    (text,) = [r.text for r in remarks if "misses least" in r.text]
    assert "18:00: " in text and "4 km/h over your limit of 20 km/h" in text and "Outside your hours" not in text
    assert not [r for r in told(farm)[1] if "misses least" in r.text]
