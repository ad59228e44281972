"""Hours judged on invented forecasts: every limit, every reason, and what is not known."""

import time
from datetime import UTC, date, datetime
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import LayerError
from mapper.farm.limits import Limit, LocalLimits, Permit
from mapper.hours.fuel import Fuel
from mapper.hours.judge import judge_hours, no_hours
from mapper.hours.verdict import BanCheck
from tests.weather.hourly import forecast

PLACE = (141.6, -36.2, "Australia/Melbourne")
SET = {"wind_max": 20, "index_max": 12, "light_from": 12, "out_by": 24, "soaking_rain": 10, "dry_days": 10}
NONE = BanCheck("none", datetime(2026, 4, 17, 2, tzinfo=UTC), "invented")
PARTS = ("stay_in_row", "heat", "smoke", "local_rules", "lighting")
DRY = Fuel(last_soak=datetime(2026, 2, 1, tzinfo=UTC))


NO_PERMIT_NEEDED = Permit("not needed", "invented for a test")


def limits(days_off=(), dates_off=(), permit=NO_PERMIT_NEEDED, **more):
    """Limits as typed in; a tuple gives (value, extra fields)."""
    made = {}
    for key, given_ in {**SET, **more}.items():
        value, fields = given_ if isinstance(given_, tuple) else (given_, {})
        if value is None:
            continue
        if key.startswith("index_"):
            fields = {"index": "gfdi_mk4", **fields}
        made[key] = Limit(key, value, "invented for a test", "2026-03-01", **fields)
    return LocalLimits(made, days_off, dates_off, permit)


def judged(table=None, rules=None, ban=NONE, **kwargs):
    kwargs.setdefault("fuel", DRY)
    return judge_hours(
        forecast() if table is None else table, *PLACE, limits() if rules is None else rules, ban, **kwargs
    )


def test_a_good_hour_is_a_go():
    """Noon to midnight of a dry, steady afternoon; 02:00 UTC is 12:00 at Melbourne in winter time."""
    hours = judged()
    assert hours["time_local"].iloc[0] == pd.Timestamp("2026-04-17 12:00", tz="Australia/Melbourne")
    assert hours.loc[0, [*PARTS, "verdict"]].tolist() == ["go"] * 6
    assert list(hours.columns) == [
        "time_utc", "time_local", "temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg", "rain_mm", "cloud_pct",
        "moisture_pct", "moisture_low_pct", "moisture_high_pct", "gfdi_mk3", "gfdi_mk4", "gfdi_mk5", "fbi", "outside",
        "stability", "is_night", "still", "lead_h", "row_state",
        "stay_in_row", "stay_in_row_why", "heat", "heat_why", "smoke", "smoke_why", "local_rules", "local_rules_why",
        "lighting", "lighting_why", "verdict", "why", "reason",
    ]  # fmt: skip


# Limit, weather, part, words that must stand in the reason.
BROKEN = [
    ({}, {"wind_km_h": 22.0}, "stay_in_row", "Wind 22 km/h is 2 km/h over your limit of 20 km/h (10 m, 10-min mean)"),
    ({"gust_max": 15}, {}, "stay_in_row", "Gust 17 km/h (forecast) is 2 km/h over your limit of 15 km/h"),
    ({"gust_max": 15}, {"gust_km_h": np.nan}, "stay_in_row", "estimated 1.4 times the wind"),
    ({"index_max": 3}, {}, "stay_in_row", "Mark 4: 4.1 is 1.1 over your limit to light of 3"),
    ({"index_stop": 3}, {}, "stay_in_row", "over your limit to stop of 3"),
    ({"temperature_max": 18}, {}, "stay_in_row", "20 degC is 2 degC over your limit of 18 degC"),
    ({"humidity_min": 45}, {}, "stay_in_row", "Humidity 40 % is 5 % under your limit of 45 %"),
    ({"wind_min": 15}, {}, "heat", "Wind 12 km/h is 3 km/h under your least of 15 km/h"),
    ({"humidity_max": 35}, {}, "heat", "Humidity 40 % is 5 % over your limit of 35 %"),
    ({"index_min": 8}, {}, "heat", "under your least of 8"),
    ({}, {"rain_mm": 0.6}, "heat", "Rain in this hour, 0.6 mm"),
    ({"light_from": 16}, {}, "local_rules", "Outside your hours: light from 16:00, out by midnight"),
    ({"days_off": (4,)}, {}, "local_rules", "Nothing is lit on a Friday here"),
    ({"dates_off": (date(2026, 4, 17),)}, {}, "local_rules", "Nothing is lit on 17 Apr here"),
    ({"permit": Permit("held", "council", "A7", last=date(2026, 4, 16))}, {}, "local_rules", "A7 ended on 16 Apr"),
    ({"permit": Permit("held", "council", first=date(2026, 4, 20))}, {}, "local_rules", "Permit holds from 20 Apr on"),
]  # fmt: skip


@pytest.mark.parametrize(("rules", "weather", "part", "words"), BROKEN)
def test_a_broken_limit_is_a_no_go_and_says_figure_and_limit(rules, weather, part, words):
    hour = judged(forecast(**weather), limits(**rules)).iloc[0]
    assert hour[part] == "no-go"
    assert hour["verdict"] == "no-go"
    assert words in hour[f"{part}_why"]
    assert words in hour["why"]


def test_every_reason_is_said_and_not_only_the_first():
    hour = judged(forecast(wind_km_h=30.0, gust_km_h=45.0, rh_pct=8.0), limits(gust_max=40, humidity_min=20)).iloc[0]
    for words in ("Wind 30", "Gust 45", "Humidity 8", "Mark 4"):
        assert words in hour["stay_in_row_why"]


def test_a_value_that_rounds_to_its_limit_shows_that_it_is_over():
    assert "Wind 20.3 km/h is 0.3 km/h over your limit of 20" in judged(forecast(wind_km_h=20.3)).iloc[0]["why"]
    assert judged(forecast(wind_km_h=20.0, gust_km_h=28.0), limits(index_max=50)).iloc[0]["stay_in_row"] == "go"


def test_a_limit_at_two_metres_is_held_to_the_safe_side():
    """Forecast 10 m wind of 17 may be 13.6 at 2 m (ratio 0.80): over a limit of 13, under one of 14."""
    table = forecast(wind_km_h=17.0, gust_km_h=24.0)
    over, under = (judged(table, limits(wind_max=(v, {"height_m": 2.0}), index_max=50)).iloc[0] for v in (13, 14))
    assert over["stay_in_row"] == "no-go"
    assert "2 m, 10-min mean" in over["stay_in_row_why"]
    assert under["stay_in_row"] == "go"
    # A least wind at 2 m takes the smallest ratio: 17 at 10 m may be only 11.1 there.
    assert judged(table, limits(wind_min=(11.5, {"height_m": 2.0}))).iloc[0]["heat"] == "no-go"


def test_a_shorter_mean_blows_harder():
    table = forecast(wind_km_h=18.0, gust_km_h=25.0)
    assert judged(table, limits(index_max=50)).iloc[0]["stay_in_row"] == "go"
    assert judged(table, limits(index_max=50, wind_max=(20, {"averaging_min": 1.0}))).iloc[0]["stay_in_row"] == "no-go"


def test_which_index_a_limit_means_is_part_of_it():
    """25 degC, 20 %, 29 km/h: Mark 4 24.2, Mark 3/4 26.2, Mark 5 29.4 against 25."""
    table = forecast(temp_c=25.0, rh_pct=20.0, wind_km_h=29.0, gust_km_h=40.0)
    verdicts = [
        judged(table, limits(wind_max=60, index_max=(25, {"index": k}))).iloc[0]["stay_in_row"]
        for k in ("gfdi_mk4", "gfdi_mk3", "gfdi_mk5", "fbi")
    ]
    assert verdicts == ["go", "no-go", "no-go", "no-go"]
    # Measured at 2 m the wind put in is lighter, so Mark 5 of 25 allows it.
    low = limits(wind_max=60, index_max=(25, {"index": "gfdi_mk5", "height_m": 2.0}))
    assert judged(table, low).iloc[0]["stay_in_row"] == "go"


@pytest.mark.parametrize("column", ["temp_c", "rh_pct", "wind_km_h", "wind_from_deg", "rain_mm"])
def test_unknown_weather_is_never_a_go(column):
    values = {"temp_c": 20.0, "rh_pct": 40.0, "wind_km_h": 12.0, "wind_from_deg": 315.0, "rain_mm": 0.0}[column]
    gappy = np.full(48, values)
    gappy[3] = np.nan
    hours = judged(forecast(**{column: gappy}))
    assert hours["verdict"].iloc[3] == ("caution" if column == "rain_mm" else "no-go")
    assert "not known" in hours["why"].iloc[3]
    assert hours["verdict"].iloc[1] == "go"


@pytest.mark.parametrize("key", ["wind_max", "index_max", "light_from", "out_by", "soaking_rain", "dry_days"])
def test_a_limit_not_known_is_never_a_go(key):
    hours = judged(rules=limits(**{key: None}))
    assert "go" not in set(hours["verdict"])
    assert "not known" in hours["why"].iloc[0]


def test_a_permit_nobody_speaks_of_is_never_a_go():
    hours = judged(rules=limits(permit=None))
    assert "go" not in set(hours["verdict"])
    assert "Whether a permit is held or needed is not known" in hours["local_rules_why"].iloc[0]
    held = limits(permit=Permit("held", "a council", "A7", date(2026, 4, 1), date(2026, 4, 17)))
    assert judged(rules=held)["verdict"].iloc[0] == "go"


def test_a_starting_value_is_a_caution_and_says_so():
    hours = judged(rules=limits(wind_max=(20, {"starting": True})))
    assert hours["local_rules"].iloc[0] == "caution"
    assert "nobody has set it here: Wind, at most" in hours["why"].iloc[0]


@pytest.mark.parametrize(
    ("ban", "verdict", "words"),
    [
        (BanCheck(), "caution", "Not a go until a ban check is typed in"),
        (BanCheck("none"), "caution", "Not a go until a ban check is typed in"),
        (BanCheck("declared", NONE.checked_at), "no-go", "A ban is declared"),
        (BanCheck("declared", NONE.checked_at, kinds=("harvest ban",)), "no-go", "A ban is declared: harvest ban"),
    ],
)
def test_bans(ban, verdict, words):
    hours = judged(ban=ban)
    assert hours["local_rules"].iloc[0] == verdict
    assert words in hours["why"].iloc[0]
    assert "go" not in set(hours["verdict"])


def test_a_ban_check_grows_old():
    hours = judged(rules=limits(light_from=0, out_by=48), ban=NONE)
    assert hours["local_rules"].iloc[24] == "go"
    assert hours["local_rules"].iloc[25] == "caution"
    assert "look again" in hours["local_rules_why"].iloc[25]


def test_no_limits_at_all_is_no_go_nowhere_and_go_nowhere():
    assert set(judge_hours(forecast(), *PLACE, LocalLimits())["local_rules"]) == {"caution"}


def test_soaked_rows():
    rain = np.zeros(48)
    rain[1] = 12.0
    hours = judged(forecast(rain_mm=rain))
    assert hours["heat"].iloc[30] == "no-go"
    assert "Soaking rain 1.2 days before; rows need 10 to dry" in hours["heat_why"].iloc[30]
    # Rain before the table is only known where somebody says so.
    nobody = judged(fuel=Fuel()).iloc[0]
    assert "Rain before 17 Apr 12:00 is not known" in nobody["heat_why"]
    assert nobody["heat"] == "caution"
    recent = judged(fuel=Fuel(last_soak=datetime(2026, 4, 14, 2, tzinfo=UTC)))
    assert "Soaking rain 3.0 days before" in recent["heat_why"].iloc[0]
    old = judged(fuel=Fuel(last_soak=datetime(2026, 3, 1, tzinfo=UTC)))
    assert old["heat_why"].iloc[0] == ""


def test_damp_rows_are_a_caution():
    hours = judged(forecast(rh_pct=85.0, temp_c=12.0))
    assert hours["heat"].iloc[-1] == "caution"
    assert "surface damp" in hours["heat_why"].iloc[-1]


def test_a_clear_still_night_keeps_smoke_down_and_the_plan_shows_both_advices():
    hours = judged(forecast(wind_km_h=6.0, cloud_pct=0.0))
    night = hours[hours["is_night"]].iloc[2]
    assert night["smoke"] == "caution"
    assert night["stability"] == "F"
    assert "Inversion likely" in night["smoke_why"]
    assert "Smoke advice is midday burning; holding the rows asks for evening: you choose" in night["smoke_why"]
    assert hours["smoke"].iloc[0] == "go"


def test_fog_danger_and_calm():
    damp = judged(forecast(wind_km_h=6.0, cloud_pct=0.0, rh_pct=70.0))
    assert "fog danger" in damp[damp["is_night"]].iloc[2]["smoke_why"]
    fog = judged(forecast(wind_km_h=6.0, cloud_pct=0.0, rh_pct=95.0, temp_c=8.0))
    assert fog[fog["is_night"]].iloc[2]["smoke"] == "no-go"
    assert "Calm" in judged(forecast(wind_km_h=2.0)).iloc[0]["smoke_why"]


def test_unknown_cloud_counts_as_clear_at_night():
    clear, unknown = (judged(forecast(wind_km_h=6.0, cloud_pct=c)) for c in (0.0, np.nan))
    night = clear["is_night"]
    assert (clear.loc[night, "smoke"] == unknown.loc[night, "smoke"]).all()
    assert "Cloud is not known" in unknown[night]["smoke_why"].iloc[0]


def test_a_wind_change_is_said_in_the_hours_round_it():
    table = forecast(wind_from_deg=np.where(np.arange(48) < 8, 340.0, 230.0))
    hours = judged(table)
    said = hours["stay_in_row_why"].str.contains("Wind change about 19:30, NNW to SW")
    assert said.iloc[[6, 7, 8]].all()
    assert not said.iloc[[2, 12]].any()
    assert (hours.loc[said, "stay_in_row"] == "caution").all()


def test_hours_after_midnight_belong_to_the_evening():
    hours = judged(rules=limits(light_from=18, out_by=26))
    allowed = hours["local_rules"] != "no-go"
    assert sorted(hours.loc[allowed, "time_local"].dt.hour.unique()) == [0, 1, 18, 19, 20, 21, 22, 23]
    # "out by 2" after "light from 18" is two the next morning.
    assert (judged(rules=limits(light_from=18, out_by=2))["local_rules"] == hours["local_rules"]).all()


def test_the_wall_clock_counts_across_daylight_saving():
    """Melbourne went from UTC+11 to UTC+10 on 5 April 2026: 16:00 is 05:00 UTC on the 4th and 06:00 UTC on the 5th."""
    hours = judged(forecast(48, "2026-04-04T00:00"), limits(light_from=16))
    allowed = hours.loc[hours["local_rules"] != "no-go"]
    first = allowed.groupby(allowed["time_local"].dt.date)["time_utc"].min()
    assert [t.hour for t in first] == [5, 6]
    # The hour after two is there twice on the 5th.
    fifth = hours[hours["time_local"].dt.day == 5]
    assert (fifth["time_local"].dt.hour == 2).sum() == 2


RANK = {"go": 0, "caution": 1, "no-go": 2}
weather = st.fixed_dictionaries(
    {
        "temp_c": st.floats(0, 40), "rh_pct": st.floats(5, 100), "wind_km_h": st.floats(0, 40),
        "wind_from_deg": st.floats(0, 360), "rain_mm": st.floats(0, 5),
        "cloud_pct": st.one_of(st.floats(0, 100), st.just(float("nan"))),
    }
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(weather, st.sampled_from(["none", "unknown", "declared"]))
def test_the_verdict_is_the_worst_of_its_parts_and_has_a_reason(air, state):
    ban = BanCheck(state, NONE.checked_at if state == "none" else None)
    hours = judged(forecast(16, gust_km_h=np.nan, **air), ban=ban)
    ranks = hours[list(PARTS)].map(RANK.get).max(axis=1)
    assert (ranks == hours["verdict"].map(RANK)).all()
    for part in (*PARTS, "verdict"):
        why = hours["why" if part == "verdict" else f"{part}_why"]
        assert (why[hours[part] != "go"] != "").all()
    if state != "none":
        assert "go" not in set(hours["verdict"])


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 30))
def test_more_wind_is_never_better_for_staying_in_the_row(wind):
    verdicts = [
        judged(forecast(4, wind_km_h=w, gust_km_h=np.nan))["stay_in_row"].map(RANK).max() for w in (wind, wind + 4)
    ]
    assert all(a <= b for a, b in pairwise(verdicts))


def test_a_bad_table_is_refused():
    with pytest.raises(LayerError):
        judged(forecast().drop(columns="cloud_pct"))


def test_ten_days_are_judged_at_once():
    table = forecast(240)
    judged(table)
    start = time.perf_counter()
    judged(table)
    assert time.perf_counter() - start < 1.0  # 0.1 s alone; the machine is shared


def test_rain_of_the_hour_stands_in_the_next_line():
    """A line's rain fell in the hour that ends at its time, so 14:00's line wets the hour that begins at 13:00."""
    rain = np.zeros(48)
    rain[2] = 0.6
    hours = judged(forecast(rain_mm=rain))
    assert "Rain in this hour, 0.6 mm" in hours["heat_why"].iloc[1]
    assert "Rain in the hour before, 0.6 mm" in hours["heat_why"].iloc[2]
    assert "Rain in" not in hours["heat_why"].iloc[3]


def test_remarks_do_not_crowd_out_reasons():
    hours = judged(forecast(wind_km_h=8.0, cloud_pct=60.0), limits(light_from=23))
    assert "Stable air" in hours.loc[hours["is_night"], "smoke_why"].iloc[2]
    assert hours["why"].iloc[0] == "Outside your hours: light from 23:00, out by midnight"


def test_an_index_past_its_range_says_so():
    hours = judged(forecast(rh_pct=85.0))
    assert "Mark 4 is past its range here: taken on the safe side" in hours["stay_in_row_why"].iloc[0]
    assert "past its range" not in judged()["stay_in_row_why"].iloc[0]


def test_rain_that_nobody_forecasts_is_never_a_go():
    # The last line's rain would stand in the line after it, and so would that of a line before a gap.
    hours = judged(forecast(n=6))
    assert "Rain is not known" in hours["heat_why"].iloc[-1]
    assert not hours["heat_why"].iloc[:-1].str.contains("Rain is not known").any()
    gap = judged(forecast(n=6).drop(index=3).reset_index(drop=True))
    assert "Rain is not known" in gap["heat_why"].iloc[2]
    assert gap["heat"].iloc[2] != "go"


def test_no_forecast_gives_the_same_columns_and_no_line():
    none = no_hours(PLACE[2])
    assert len(none) == 0
    assert list(none.columns) == list(judged(forecast(n=2)).columns)
    assert (none.dtypes == judged(forecast(n=2)).dtypes).all()
