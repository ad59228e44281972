"""Would the rows burn hot enough to kill seed: dampness, rain, and the least wind, index and dryness asked for."""

import numpy as np
import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.hours.fuel import Fuels
from mapper.hours.reasons import Reasons, apart, figure, over
from mapper.hours.rowstate import RowStates
from mapper.hours.stay import how_measured, index_name, least_wind

# Less rain than this in an hour is drizzle that does not stop a burn: our choice.
_RAIN_MM = 0.2


def heat(hours: pd.DataFrame, limits: LocalLimits, fuels: Fuels, rows: RowStates) -> Reasons:
    """Return the reasons against hot rows, hour by hour. hours: the forecast with moisture_pct (of the row's surface).

    rows: whether they are dry, by row_states. The load in the row is judged elsewhere (fire/heat.py); drying inside a
    packed row is only known as days after soaking rain.
    """
    said = Reasons(*fuels.shape(len(hours)))
    wind, rh = hours["wind_km_h"].to_numpy(), hours["rh_pct"].to_numpy()
    least, damp = limits.get("wind_min"), limits.get("humidity_max")
    if least is not None:
        there = least_wind(wind, least)
        limit = f"your least of {least.value:g} km/h ({how_measured(least)})"

        def light(i: int) -> str:
            told = f"Wind {figure(wind[i], least.value)} km/h"
            if abs(there[i] - wind[i]) >= 0.05:
                told += f" at 10 m, maybe only {figure(there[i], least.value)} as your limit is measured,"
            return f"{told} is {apart(there[i], least.value, 'km/h')} under {limit}: a cool row"

        said.add(there < least.value - 1e-9, "no-go", light)
        said.margin(
            (there - least.value) / max(least.value, 1.0),
            lambda i: f"wind {there[i]:.0f} km/h, {apart(there[i], least.value, 'km/h')} over {limit}",
        )
    if damp is not None:
        said.add(
            over(rh, damp.value),
            "no-go",
            lambda i: (
                f"Humidity {figure(rh[i], damp.value)} % is {apart(rh[i], damp.value, '%')} over your limit of "
                f"{damp.value:g} %"
            ),
        )
        said.margin(
            (damp.value - rh) / damp.value,
            lambda i: f"humidity {rh[i]:.0f} %, {apart(rh[i], damp.value, '%')} under your limit of {damp.value:g} %",
        )
    _index(said, hours, limits, fuels)
    _rain(said, hours)
    _dampness(said, hours, rows)
    return said


def _rain(said: Reasons, hours: pd.DataFrame) -> None:
    """A line's rain fell in the hour before it; the next line's falls in the hour it stands for."""
    fell = hours["rain_mm"].to_numpy()
    # After the last line, and where lines stand more than an hour apart, nobody says what falls in this hour.
    apart_ = hours["time_utc"].diff().shift(-1)
    falls = np.where(apart_ <= pd.Timedelta(hours=1), np.append(fell[1:], np.nan), np.nan)
    said.add(fell >= _RAIN_MM, "no-go", lambda i: f"Rain in the hour before, {fell[i]:.1f} mm")
    said.add(falls >= _RAIN_MM, "no-go", lambda i: f"Rain in this hour, {falls[i]:.1f} mm")
    said.add(np.isnan(fell) | np.isnan(falls), "caution", "Rain is not known for this hour")


def _index(said: Reasons, hours: pd.DataFrame, limits: LocalLimits, fuels: Fuels) -> None:
    limit = limits.get("index_min")
    if limit is None:
        return
    index = fuels.index(limit.index, hours, least_wind(hours["wind_km_h"].to_numpy(), limit)).value
    name = index_name(limit)
    said.add(
        index < limit.value,
        "no-go",
        lambda i: (
            f"{name}: {figure(index[i], limit.value, 1)} is {apart(index[i], limit.value)} under your least of "
            f"{limit.value:g}, too cool or damp"
        ),
    )
    said.margin(
        (index - limit.value) / max(limit.value, 1.0),
        lambda i: f"{name}: {index[i]:.1f}, {apart(index[i], limit.value)} over your least of {limit.value:g}",
    )


def _dampness(said: Reasons, hours: pd.DataFrame, rows: RowStates) -> None:
    surface = hours["moisture_pct"].to_numpy()
    if np.isnan(rows.need_days):
        said.add(True, "caution", "How much rain soaks a row here, and how long it takes to dry, is not known")
    else:
        first = hours["time_local"].iloc[0]
        said.add(~rows.known, "caution", f"Rain before {first:%d %b %H:%M} is not known: test a row, and type it in")
    said.add(
        rows.state == "soaked",
        "no-go",
        lambda i: f"Soaking rain {rows.days[i]:.1f} days before; rows need {rows.need_days:g} to dry",
    )
    said.add(
        rows.state == "surface damp", "caution", lambda i: f"Row surface damp, about {surface[i]:.0f} %: test a row"
    )
