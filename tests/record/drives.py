"""A simulated lighter with a phone: the truth is known, the phone's error drifts and jitters."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from tests.record.nights import STARTED


def drive(
    pieces: gpd.GeoDataFrame, numbers: list[int], rng: np.random.Generator, error_m: float = 5.0, drift_s: float = 30.0
) -> tuple[pd.DataFrame, dict[int, float]]:
    """Return fixes (x, y, time_utc) each second along the pieces, each from its nearer end, and when each was begun, s.

    error_m: distance of a fix from the truth, root mean square; half its variance drifts over drift_s, half jitters.
    """
    lines = pieces.set_index("order_no").geometry
    speed = 12 / 3.6
    spots: list[tuple[float, float]] = []
    begun: dict[int, float] = {}
    for number in numbers:
        line = lines[number]
        if spots:
            ends = [np.hypot(*np.subtract(spots[-1], line.coords[k])) for k in (0, -1)]
            line = line if ends[0] <= ends[1] else line.reverse()
            link = shapely.LineString([spots[-1], line.coords[0]])
            spots += [link.interpolate(d).coords[0] for d in np.arange(0, link.length, 20 / 3.6)]
        begun[number] = len(spots)
        spots += [line.interpolate(d).coords[0] for d in np.arange(0, line.length, speed)]
    xy = np.array(spots)
    each = error_m / np.sqrt(2) / np.sqrt(2)
    keep = np.exp(-1 / drift_s)
    drift = np.zeros_like(xy)
    drift[0] = rng.normal(0, each, 2)
    for k in range(1, len(xy)):
        drift[k] = keep * drift[k - 1] + rng.normal(0, each * np.sqrt(1 - keep**2), 2)
    xy = xy + drift + rng.normal(0, each, xy.shape)
    times = pd.Timestamp(STARTED) + pd.to_timedelta(np.arange(len(xy)), unit="s")
    return pd.DataFrame({"x": xy[:, 0], "y": xy[:, 1], "time_utc": times.astype("datetime64[ns, UTC]")}), begun
