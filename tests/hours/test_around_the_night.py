"""The four judgements side by side, the nights to come, the patrol after."""

from datetime import date

import numpy as np
import pandas as pd

from mapper.hours.coming import nights_to_come
from mapper.hours.evening import night_hours
from mapper.hours.fourways import four_ways
from mapper.hours.patrol import patrol
from mapper.weather.wind import WindChange
from tests.hours.test_judge import PLACE, judged, limits
from tests.weather.hourly import forecast

NIGHT, ZONE = date(2026, 4, 17), PLACE[2]
RULES = limits(light_from=16)


def ways(table, rules=RULES):
    return four_ways(night_hours(judged(table, rules, changes=()), NIGHT, ZONE))


def test_each_judgement_has_its_own_hours_and_all_of_them_together():
    found = ways(forecast())
    assert found.words[0] == "Staying in the row: go all night."
    assert found.words[3] == "Bans and local rules: go 16:00 to 00:00."
    assert found.words[-1].startswith("All four together: go 16:00 to")
    assert found.quarrel == ()


def test_a_quarrel_is_shown_and_not_hidden():
    """Strong wind by day, a clear still night: containment asks for the night, smoke for the day."""
    hour = np.arange(48) % 24  # from noon
    day = (hour < 6) | (hour >= 19)
    table = forecast(wind_km_h=np.where(day, 26.0, 6.0), gust_km_h=np.nan, cloud_pct=0.0)
    found = ways(table)
    assert found.quarrel == ("Staying in the row and smoke have no good hour in common: you choose which gives way.",)
    assert found.quarrel[0] in found.words
    assert not found.spans["all"]
    assert "no hour is a go; with caution" in found.words[-1]


def test_no_hours_no_words_made_up():
    assert four_ways(judged().iloc[:0]).words == ("No hour of this night is known.",)


def test_the_nights_to_come():
    table = forecast(96)
    windy = np.full(96, 12.0)
    windy[24:48] = 30.0
    table["wind_km_h"], table["gust_km_h"] = windy, np.nan
    nights = nights_to_come(judged(table, RULES, changes=()), ZONE, RULES, (), 20)
    assert [n.night for n in nights] == [date(2026, 4, 17 + k) for k in range(4)]
    assert nights[0].words == "Fri 17 Apr: light 16:00 to 23:40 (go)."
    assert nights[1].windows == ()
    # A ban check of the day before is old by the third night.
    assert nights[2].windows[0].verdict == "caution"
    assert all(n.known for n in nights)


def test_a_night_the_forecast_does_not_hold_says_so():
    nights = nights_to_come(judged(forecast(8), RULES, changes=()), ZONE, RULES, (), 20)
    assert not nights[0].known
    change = WindChange(pd.Timestamp("2026-04-17T07:00Z").to_pydatetime(), 340, 230, 12, 20)
    none = nights_to_come(judged(forecast(8), RULES, changes=(change,)), ZONE, RULES, (change,), 300)
    assert none[0].windows == ()
    assert "no window" in none[0].words and "not all of the evening is in the forecast" in none[0].words


def test_the_patrol_sees_the_strongest_wind_and_when_it_passes_the_limit():
    wind = np.full(96, 8.0)
    wind[25:30] = [18, 24, 32, 28, 16]
    hours = judged(forecast(96, wind_km_h=wind, gust_km_h=np.nan, wind_from_deg=315.0), RULES, changes=())
    found = patrol(hours, NIGHT, ZONE, RULES)
    assert found.strongest_km_h == 32
    assert found.gust_km_h == 1.4 * 32
    assert pd.Timestamp(found.strongest_at) == hours["time_utc"].iloc[27]
    assert pd.Timestamp(found.over_from) == hours["time_utc"].iloc[26]
    assert found.complete
    assert found.words == (
        "Patrol: wind up to 32 km/h from NW about Sat 15:00, gusts to 45 km/h. Over your limit from Sat 14:00: every "
        "row dead out before then."
    )


def test_the_patrol_says_what_is_not_known():
    short = patrol(judged(forecast(20), RULES), NIGHT, ZONE, RULES)
    assert not short.complete
    assert "knows nothing after Sat 08:00" in short.words
    none = patrol(judged(forecast(6), RULES), NIGHT, ZONE, RULES)
    assert none.words == "Patrol: the wind of the next day is not known."
