"""Many paddocks at once give the verdicts that each gives alone, and quickly."""

from datetime import UTC, datetime

import numpy as np
import pytest

from mapper.hours.fuel import Fuel
from mapper.hours.judge import PARTS, judge_paddocks
from mapper.hours.reasons import ORDER
from tests.hours.test_judge import NONE, PLACE, judged, limits
from tests.weather.hourly import forecast

SOAK = datetime(2026, 4, 14, 2, tzinfo=UTC)
FUELS = [Fuel(), Fuel(last_soak=SOAK), Fuel(curing_pct=70), Fuel(fuel_t_ha=2.0, state="eaten_out", last_soak=SOAK)]


@pytest.mark.parametrize("index", ["gfdi_mk4", "fbi"])
def test_as_each_alone(index):
    wind = np.linspace(2, 30, 48)
    rain = np.zeros(48)
    rain[20] = 4.0
    table = forecast(48, wind_km_h=wind, gust_km_h=np.nan, rain_mm=rain, rh_pct=np.linspace(20, 95, 48))
    rules = limits(index_max=(6, {"index": index}), index_min=(2, {"index": index}), wind_min=5, humidity_max=70)
    many = judge_paddocks(table, *PLACE, rules, FUELS, NONE)
    for k, fuel in enumerate(FUELS):
        alone = judged(table, rules, fuel=fuel)
        for part in (*PARTS, "verdict"):
            assert [ORDER[r] for r in many.ranks[part][k]] == alone[part].tolist()


def test_three_days_of_five_hundred_paddocks_in_a_second():
    """The target of the issue; tests/bench/bench_hours.py gives 0.28 s on a busy machine, 5 times a plain route."""
    from tests.bench.bench_hours import BAN, HOURS, PADDOCKS, air, best
    from tests.farms import limits as all_limits

    table, fuels = air()
    assert (len(table), len(fuels)) == (HOURS, PADDOCKS) == (72, 500)
    assert best(lambda: judge_paddocks(table, *PLACE, all_limits(), fuels, BAN), 3) < 1.0
