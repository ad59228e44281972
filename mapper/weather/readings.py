"""What a hand-held meter read, and how it stands beside the forecast."""

from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.errors import LayerError
from mapper.farm.ranged import Array
from mapper.weather.forecast import check_values, seconds
from mapper.weather.wind import compass_point, height_bounds, turn_deg

# One line a reading, times not falling. NaN where the meter does not show it.
READING_COLUMNS: dict[str, str] = {
    "time_utc": "datetime64[ns, UTC]",
    "temp_c": "float64",
    "rh_pct": "float64",
    "wind_km_h": "float64",  # mean over averaging_min at height_m
    "gust_km_h": "float64",
    "wind_from_deg": "float64",  # where it blows from, clockwise from grid north
    "height_m": "float64",
    "averaging_min": "float64",
    "by": "object",
}
HAND_HELD_M, HAND_HELD_MIN = 2.0, 10.0

# A reading farther from the forecast than this is said to differ: degC, %, km/h, degrees. Our choice, no source.
DIFFERS = {"temp_c": 3.0, "rh_pct": 10.0, "wind_km_h": 5.0, "wind_from_deg": 45.0}
_WORDS = {"temp_c": ("temperature", "degC"), "rh_pct": ("humidity", "%"), "wind_km_h": ("wind", "km/h")}
# Lighter wind's direction says nothing.
_LIGHT_KM_H = 5.0


def make_readings(columns: dict[str, Any]) -> pd.DataFrame:
    """Return a checked table of readings; columns left out are not known, height 2 m and 10 minutes where not given.

    columns: by the names of READING_COLUMNS, time_utc as UTC times. Raises LayerError.
    """
    n = len(columns["time_utc"])
    filled = {"height_m": HAND_HELD_M, "averaging_min": HAND_HELD_MIN, "by": ""}
    data = {
        c: pd.Series(columns[c]).reset_index(drop=True) if c in columns else pd.Series([filled.get(c, np.nan)] * n)
        for c in READING_COLUMNS
    }
    data["time_utc"] = pd.to_datetime(data["time_utc"], utc=True)
    for c, otherwise in (("height_m", HAND_HELD_M), ("averaging_min", HAND_HELD_MIN)):
        data[c] = data[c].astype(float).fillna(otherwise)
    data["by"] = data["by"].fillna("").astype(str)
    return check_readings(pd.DataFrame(data).sort_values("time_utc", kind="stable", ignore_index=True).astype(
        {c: t for c, t in READING_COLUMNS.items()}
    ))  # fmt: skip


def check_readings(readings: pd.DataFrame) -> pd.DataFrame:
    """Return the table as it is, or raise LayerError saying which column or line breaks the contract."""
    for column in READING_COLUMNS:
        if column not in readings.columns:
            raise LayerError(f"column {column!r} is missing", "readings")
    if readings["time_utc"].isna().any() or not readings["time_utc"].is_monotonic_increasing:
        raise LayerError("the times do not go forward from line to line", "readings", "Put the readings in order")
    check_values(readings, "readings")
    odd = readings[~readings["height_m"].between(0.5, 50) | ~readings["averaging_min"].between(0.01, 60)]
    if len(odd):
        raise LayerError(
            f"height {odd['height_m'].iloc[0]:g} m, mean over {odd['averaging_min'].iloc[0]:g} min cannot be",
            f"readings, {odd['time_utc'].iloc[0]:%Y-%m-%d %H:%M} UTC",
            "A hand-held meter stands at 1.5 to 2 m",
        )
    return readings


def add_reading(readings: pd.DataFrame | None, **values: Any) -> pd.DataFrame:
    """Return readings with one more, by the names of READING_COLUMNS: the way a typed reading comes in."""
    one = make_readings({c: [v] for c, v in values.items()})
    both = one if readings is None or readings.empty else pd.concat([readings, one], ignore_index=True)
    return check_readings(both.sort_values("time_utc", kind="stable", ignore_index=True))


def against_forecast(forecast: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """Return readings beside what the forecast gives for their moment.

    Columns: those of the readings; `<name>_forecast` for temp_c, rh_pct, wind_km_h (at 10 m), gust_km_h, wind_from_deg,
    straight between two lines at most an hour apart, NaN elsewhere; wind_low_km_h, wind_high_km_h: the forecast wind at
    the reading's height, by the smallest and largest supported ratio; `<name>_off` reading less forecast (wind: less
    the nearer of low and high, 0 between them; direction: signed turn); differs (bool); words (one sentence).
    """
    out = readings.reset_index(drop=True).copy()
    at, hours = seconds(out["time_utc"]), seconds(forecast["time_utc"])
    for name in ("temp_c", "rh_pct", "wind_km_h", "gust_km_h"):
        out[f"{name}_forecast"] = _between(at, hours, forecast[name].to_numpy(dtype=float))
    angle = np.radians(forecast["wind_from_deg"].to_numpy(dtype=float))
    east, north = (_between(at, hours, part(angle)) for part in (np.sin, np.cos))
    out["wind_from_deg_forecast"] = np.degrees(np.arctan2(east, north)) % 360.0
    bounds = np.array([height_bounds(10.0, h) for h in out["height_m"]]).reshape(-1, 2)
    out["wind_low_km_h"], out["wind_high_km_h"] = (out["wind_km_h_forecast"] * bounds[:, k] for k in (0, 1))
    out["temp_c_off"] = out["temp_c"] - out["temp_c_forecast"]
    out["rh_pct_off"] = out["rh_pct"] - out["rh_pct_forecast"]
    wind = out["wind_km_h"]
    out["wind_km_h_off"] = (wind - wind.clip(out["wind_low_km_h"], out["wind_high_km_h"])).where(
        out["wind_km_h_forecast"].notna()
    )
    turn = turn_deg(out["wind_from_deg_forecast"].to_numpy(), out["wind_from_deg"].to_numpy())
    out["wind_from_deg_off"] = np.where(wind >= _LIGHT_KM_H, turn, np.nan)
    far = {c: (out[f"{c}_off"].abs() >= most).to_numpy() for c, most in DIFFERS.items()}
    out["differs"] = np.logical_or.reduce(list(far.values())) if len(out) else np.zeros(0, bool)
    out["words"] = [_sentence(out.iloc[k], {c: bool(v[k]) for c, v in far.items()}) for k in range(len(out))]
    return out


def _between(at: Array, hours: Array, values: Array) -> Array:
    """Straight between two lines an hour or less apart; NaN elsewhere."""
    right = np.searchsorted(hours, at, side="left")
    exact = (right < len(hours)) & (hours[np.minimum(right, len(hours) - 1)] == at)
    left = np.clip(np.where(exact, right, right - 1), 0, len(hours) - 1)
    right = np.clip(right, 0, len(hours) - 1)
    gap = hours[right] - hours[left]
    inside = (at >= hours[0]) & (at <= hours[-1]) & (gap <= 3600.0)
    share = np.where(gap > 0, (at - hours[left]) / np.where(gap > 0, gap, 1.0), 0.0)
    met = values[left] + share * (values[right] - values[left])
    return np.where(inside, np.where(gap > 0, met, values[left]), np.nan)


def _sentence(line: "pd.Series[Any]", far: dict[str, bool]) -> str:
    if np.isnan(line["wind_km_h_forecast"]) and np.isnan(line["temp_c_forecast"]):
        return "The forecast says nothing of this moment."
    said = []
    for name, (word, unit) in _WORDS.items():
        if not far[name]:
            continue
        if name == "wind_km_h":
            said.append(
                f"wind {line['wind_km_h']:.0f} km/h at {line['height_m']:g} m, where the forecast gives "
                f"{line['wind_low_km_h']:.0f} to {line['wind_high_km_h']:.0f}"
            )
        else:
            said.append(f"{word} {line[name]:.0f} {unit}, forecast {line[f'{name}_forecast']:.0f}")
    if far["wind_from_deg"]:
        there, told = compass_point(line["wind_from_deg"]), compass_point(line["wind_from_deg_forecast"])
        said.append(f"wind from {there}, forecast {told}")
    if said:
        return f"Read {'; '.join(said)}."
    return "The reading agrees with the forecast."
