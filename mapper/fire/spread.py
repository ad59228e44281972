"""How fast a grass or stubble fire runs."""

from typing import Any, Literal

import numpy as np

from mapper.farm.ranged import Array, Ranged, beyond, possible

# natural: standing crop. grazed: stubble of about 0.3 m. eaten_out: stubble under 0.1 m (Cruz et al. 2020, 45 fires).
State = Literal["natural", "grazed", "eaten_out"]

# Rate in km/h at wind U: (a + b U) below 5 km/h, else (c + d (U-5)^0.844). Grazed d: 0.715 in two transcriptions out of
# three, and twice the eaten-out 0.357. Eaten-out below 5 km/h is half of grazed, which joins at 5.
_COEFFICIENTS: dict[str, tuple[float, float, float, float]] = {
    "natural": (0.054, 0.269, 1.4, 0.838),
    "grazed": (0.054, 0.209, 1.1, 0.715),
    "eaten_out": (0.027, 0.1045, 0.55, 0.357),
}
# The damp branch jumps at 10 km/h: within 2 km/h of it the larger side counts.
_JUMP_KM_H, _NEAR_KM_H = 10.0, 2.0
# Grass damper than the model allows is not proof against fire: its least moisture coefficient. Our choice, no source.
_LEAST = 0.05


def _by_moisture(moisture: Array, wind: Array) -> Array:
    """Moisture coefficient."""
    light, strong = 0.684 - 0.0342 * moisture, 0.547 - 0.0228 * moisture
    damp = np.where(wind <= _JUMP_KM_H, light, strong)
    damp = np.where(np.abs(wind - _JUMP_KM_H) < _NEAR_KM_H, np.maximum(light, strong), damp)
    return np.where(
        np.isnan(moisture), np.nan, np.maximum(np.where(moisture < 12, np.exp(-0.108 * moisture), damp), _LEAST)
    )


def curing_coefficient(curing_pct: Any) -> Array:
    """Return the curing coefficient of Cruz et al. (2015) IJWF 24:838-848 (second-hand), curing 20-100 %."""
    return np.asarray(1.036 / (1 + 103.989 * np.exp(-0.0996 * (np.asarray(curing_pct, dtype=float) - 20))))


def grass_spread(wind_km_h: Any, moisture_pct: Any, curing_pct: Any = 100.0, state: State = "grazed") -> Ranged:
    """Return the head rate of spread in m/s, on flat ground, for a fire front of 100 m or more. Inputs broadcast.

    Source: Cheney, Gould & Catchpole (1998) IJWF 8:1-13 with the curing of Cruz et al. (2015), from second-hand
    transcriptions. wind at 10 m, 10-minute mean; moisture_pct of the dead grass. Range: wind to 60 km/h, moisture
    2-24 %, curing 20-100 %; mean absolute error in wheat 21-25 %. Outside it, and where damp grass makes the equation
    nought, the flag is set and the rate leans high: damp is never "no spread". A fire from a row starts slower.
    """
    wind = possible("wind", wind_km_h, 0, 300)
    moisture = possible("moisture", moisture_pct, 0, 400)
    curing = possible("curing", curing_pct, 0, 100)
    a, b, c, d = _COEFFICIENTS[state]
    dry = np.where(wind < 5, a + b * wind, c + d * np.maximum(wind - 5, 0) ** 0.844)
    by_moisture = _by_moisture(moisture, wind)
    rate_km_h = dry * by_moisture * curing_coefficient(np.maximum(curing, 20))
    outside = beyond(wind, 0, 60) | beyond(moisture, 2, 24) | beyond(curing, 20, 100) | (by_moisture <= _LEAST)
    return Ranged(rate_km_h / 3.6, outside)
