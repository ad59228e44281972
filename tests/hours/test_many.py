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
