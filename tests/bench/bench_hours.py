"""Print how fast hours are judged: `python -m tests.bench.bench_hours`.

72 h for 500 paddocks of different fuel (target 1 s), the same by a plain NumPy route that works out only the two index
limits, wind and dampness and nothing else, and 72 h for one paddock with all its sentences.
"""

import time
from collections.abc import Callable
from datetime import UTC, datetime

import numpy as np

from mapper.fire.index import index_value
from mapper.hours.fuel import Fuel
from mapper.hours.judge import judge_hours, judge_paddocks
from mapper.hours.verdict import BanCheck
from tests.farms import limits
from tests.weather.hourly import forecast

PLACE = (141.6, -36.2, "Australia/Melbourne")
BAN = BanCheck("none", datetime(2026, 4, 17, 2, tzinfo=UTC), "invented")
HOURS, PADDOCKS = 72, 500


def air() -> "tuple[object, list[Fuel]]":
    """Three days whose weather turns with the hour, and paddocks of 500 different fuels."""
    hour = np.arange(HOURS)
    day = np.sin((hour - 3) / 24 * 2 * np.pi)
    table = forecast(HOURS, temp_c=18 + 6 * day, rh_pct=55 - 25 * day, wind_km_h=12 + 6 * day, gust_km_h=np.nan)
    fuels = [Fuel(curing_pct=70 + 30 * k / PADDOCKS, fuel_t_ha=1 + 4 * k / PADDOCKS) for k in range(PADDOCKS)]
    return table, fuels


def best(work: Callable[[], object], times: int = 5) -> float:
    """Seconds of the quickest of some runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def plain(table, fuels, rules) -> np.ndarray:
    """Wind, gust and index limits of every paddock by bare arrays: what a script without reasons would do."""
    temp, rh, wind = (table[c].to_numpy() for c in ("temp_c", "rh_pct", "wind_km_h"))
    bad = (wind > rules.value("wind_max")) | (1.4 * wind > rules.value("gust_max")) | (rh > rules.value("humidity_max"))
    out = np.zeros((len(fuels), len(table)), dtype=bool)
    for k, fuel in enumerate(fuels):
        index = index_value("gfdi_mk4", temp, rh, wind, fuel.curing_pct, fuel.fuel_t_ha).value
        out[k] = bad | (index > rules.value("index_max")) | (index < rules.value("index_min"))
    return out


def report() -> tuple[float, float, float]:
    """Seconds: many paddocks, the plain route, one paddock with sentences."""
    table, fuels = air()
    rules = limits()
    many = best(lambda: judge_paddocks(table, *PLACE, rules, fuels, BAN))
    bare = best(lambda: plain(table, fuels, rules))
    one = best(lambda: judge_hours(table, *PLACE, rules, BAN))
    return many, bare, one


if __name__ == "__main__":
    many, bare, one = report()
    print(f"{HOURS} h x {PADDOCKS} paddocks judged in {many:.3f} s (target 1 s); plain NumPy {bare:.3f} s, ", end="")
    print(f"ratio {many / bare:.2f}; one paddock with all its sentences {one:.3f} s")
