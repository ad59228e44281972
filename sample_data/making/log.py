"""From a machine's way to its log at 1 Hz, in its own style, with the faults that logs have."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pyproj import Transformer
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from making import land
from making.drive import Drive, harvest, road_trip

REMARK = f"{land.MARK}: made by make_sample.py"
ACCELERATION_M_S2 = 0.6
PAUSE_S = 1500.0  # between paddocks, logger off
DAY_S = 36_000.0  # ten hours of harvest a day
TANK_KG = 9_000.0
SMEAR_S = 3.0  # mean time of mixing in the machine
DELAY_S = 8.0  # the rest of the 11 s from cut to grain sensor


@dataclass
class Seconds:
    """A log before it takes a maker's style: one entry a second of work. t_s counts from the first day's start."""

    t_s: Any
    xy: Any
    speed_m_s: Any
    course_deg: Any
    cutting: Any
    width_m: float
    yield_t_ha: Any
    flow_kg_s: Any


def crop_t_ha(xy: Any, mean: Any) -> Any:
    """Return the grain yield at places: patches of better and poorer ground about a mean."""
    x, y = (xy - (land.EAST, land.NORTH)).T
    return mean * (
        1 + 0.17 * np.sin(x / 210 + 1.3 * np.sin(y / 330)) * np.cos(y / 270) + 0.08 * np.sin((x - 2 * y) / 95)
    )


def drive_1() -> Drive:
    """Return harvester 1's way: Dam Paddock on the contour, by road to Granite Corner, then a share of Lane Paddock."""
    shapes = land.paddock_shapes()
    drive = Drive(header_ahead_m=3.6)
    dam = shapes["Dam Paddock"]
    holes = [land.Polygon(r) for r in dam.interiors]
    harvest(drive, land.Polygon(dam.exterior), holes, width=12.2, heading_deg=84, n_laps=3, speed=2.75, bend_m=70)
    road_trip(drive, [(-520, 60), (-560, 27), (-548, 3), (300, 2), (880, 2), (905, 29), (905, 45)])
    trees = np.array([land.at(*p) for p in land.LONE_TREES])
    corner = shapes["Granite Corner"]
    harvest(drive, corner, [], width=12.2, heading_deg=146.5, n_laps=2, speed=2.8, obstacles=trees)
    drive.halt()
    other = drive_2()[1]
    _lane(drive, 1, 12.2, done=other)
    return drive


def drive_2() -> tuple[Drive, Any]:
    """Return harvester 2's way (Creek Flat under the power line, House Paddock, Lane Paddock but half of its east part)
    and the ground inside the laps that it cut in that part.
    """
    shapes = land.paddock_shapes()
    drive = Drive(header_ahead_m=3.9)
    creek = shapes["Creek Flat"]
    poles = np.array([(p.x, p.y) for p in land.poles_inside(creek)])
    harvest(drive, creek, [], width=13.7, heading_deg=88, n_laps=3, speed=2.85, obstacles=poles)
    drive.halt()
    harvest(drive, shapes["House Paddock"], [], width=13.7, heading_deg=86, n_laps=2, speed=2.7)
    drive.halt()
    _lane(drive, 0, 13.7)
    drive.halt()
    return drive, _lane(drive, 1, 13.7, share=0.5)


def _lane(drive: Drive, part: int, width: float, share: float = 1.0, done: Any = None) -> Any:
    shape = land.paddock_shapes()["Lane Paddock"].geoms[part]
    poles = np.array([(p.x, p.y) for p in land.poles_inside(shape)])
    return harvest(drive, shape, [], width=width, heading_deg=4, n_laps=2, speed=2.9, obstacles=poles, share=share,
                   done=done)  # fmt: skip


def _speeds(wanted: Any, step: Any, stops: Any) -> Any:
    """Return the speed at each vertex that a machine of that weight can hold: it slows before and gathers after."""
    square = wanted**2
    square[stops] = 0.01
    for order in (range(1, len(square)), range(len(square) - 2, -1, -1)):
        towards = -1 if order.step > 0 else 1
        gap = step if towards < 0 else np.append(step[1:], 0)
        for i in order:
            square[i] = min(square[i], square[i + towards] + 2 * ACCELERATION_M_S2 * gap[i])
    return np.sqrt(square)


def seconds(
    drive: Drive, width_m: float, means: dict[str, float], rng: np.random.Generator, stop_share: float
) -> Seconds:
    """Return a machine's log second by second, without faults. stop_share: of full tanks, emptied standing still."""
    xy, cut, wanted = (np.concatenate(a) for a in (drive.xy, drive.cut, drive.speed))
    step = np.append(0, np.hypot(*np.diff(xy, axis=0).T))
    halts = np.array(drive.stopped_before, dtype=int)
    step[halts] = 0
    mean = _mean_there(xy, means)
    grain = np.cumsum(np.maximum(cut, 0) * crop_t_ha(xy, mean) * 0.1 * width_m * step)
    full = np.flatnonzero(np.diff(np.floor(grain / TANK_KG)) > 0)
    stops = full[rng.random(len(full)) < stop_share]
    wanted = wanted * (1 + 0.9 * gaussian_filter1d(rng.normal(size=len(wanted)), 60))
    v = _speeds(wanted, step, np.concatenate([stops, halts, halts - 1]))
    t = np.cumsum(step / np.maximum((v + np.append(v[0], v[:-1])) / 2, 0.1))
    for i, pause in [(s, rng.uniform(35, 80)) for s in stops] + [(h, PAUSE_S) for h in halts]:
        t[i:] += pause
    now = np.arange(0.0, t[-1])
    at = np.clip(np.searchsorted(t, now, side="right") - 1, 0, len(t) - 2)
    place = np.column_stack([np.interp(now, t, xy[:, 0]), np.interp(now, t, xy[:, 1])])
    speed = np.append(np.hypot(*np.diff(place, axis=0).T), 0)
    course = np.degrees(np.arctan2(*np.gradient(xy, axis=0).T))[at] % 360
    # The header is down only between two places where it is down.
    state = np.minimum(cut[at], cut[at + 1])
    met = np.maximum(state, 0)
    true_yield = crop_t_ha(place, mean[at])
    late = np.concatenate([np.zeros(int(DELAY_S)), true_yield * met * width_m * speed * 0.1])[: len(now)]
    keep = 1 - 1 / SMEAR_S
    flow = lfilter([1 - keep], [1, -keep], late) * (1 + 0.04 * rng.normal(size=len(now)))
    logged = np.ones(len(now), dtype=bool)
    for h in halts:
        logged &= ~((now > t[h - 1] + 2) & (now < t[h] - 2))
    rate = np.where((speed > 0.4) & (state >= 0), flow / (0.1 * width_m * np.maximum(speed, 0.4)), 0.0)
    return Seconds(now[logged], place[logged], speed[logged], course[logged], state[logged] >= 0, width_m,
                   np.maximum(rate, 0)[logged], np.maximum(flow, 0)[logged])  # fmt: skip


def _mean_there(xy: Any, means: dict[str, float]) -> Any:
    """Return the mean yield of the paddock each place lies in."""
    import shapely

    found = np.full(len(xy), float(np.mean(list(means.values()))))
    for name, shape in land.paddock_shapes().items():
        found[shapely.contains_xy(shape, *xy.T)] = means[name]
    return found


def _faults(log: Seconds, rng: np.random.Generator) -> tuple[Any, Any]:
    """Return positions as the receiver gave them, and which seconds were written, in order (some twice)."""
    n = len(log.t_s)
    drift = lfilter([1], [1, -0.99], rng.normal(0, 0.0042, size=(n, 2)), axis=0)
    xy = log.xy + rng.normal(0, 0.012, size=(n, 2)) + drift
    jumps = rng.choice(n, 14, replace=False)
    xy[jumps] += rng.normal(0, 90, size=(14, 2))
    written = np.ones(n, dtype=bool)
    written[rng.choice(n, 70, replace=False)] = False
    for start in rng.choice(n - 20, 24, replace=False):
        written[start : start + rng.integers(3, 16)] = False
    kept = np.flatnonzero(written)
    return xy, np.sort(np.append(kept, rng.choice(kept, 20, replace=False)))


def _clock(t_s: Any, first_day: str) -> Any:
    """Return UTC times: ten hours a day from half past ten local (daylight saving time), then the next day."""
    day, second = np.divmod(t_s, DAY_S)
    start = pd.Timestamp(f"{first_day} 10:30", tz="Australia/Melbourne").tz_convert("UTC")
    return start + pd.to_timedelta(day * 86_400 + second, unit="s")


def _degrees(xy: Any) -> tuple[list[str], list[str]]:
    lon, lat = Transformer.from_crs(land.CRS, "EPSG:4326", always_xy=True).transform(*xy.T)
    return [f"{v:.7f}" for v in lat], [f"{v:.7f}" for v in lon]


def write_log_1(path: Path, rng: np.random.Generator, means: dict[str, float]) -> None:
    """Write harvester 1's log: commas, UTC, km/h, true heading, header 1 or 0, grain flow in kg/s."""
    log = seconds(drive_1(), 12.2, means, rng, 0.45)
    xy, rows = _faults(log, rng)
    # The switch follows the hand by a second.
    header = np.append(log.cutting[:1], log.cutting[:-1])
    true_course = (log.course_deg - 0.354) % 360  # meridian convergence here is -0.354 degrees
    lat, lon = _degrees(xy)
    moisture = 10.8 + 0.9 * np.cos(log.t_s / 7000) + 0.1 * rng.normal(size=len(log.t_s))
    table = pd.DataFrame({
        "Time (UTC)": pd.Series(_clock(log.t_s, "2025-12-01")).dt.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "Latitude (deg)": lat,
        "Longitude (deg)": lon,
        "Speed (km/h)": np.maximum(log.speed_m_s * 3.6 + 0.05 * rng.normal(size=len(lat)), 0).round(1),
        "Heading (deg)": true_course.round().astype(int) % 360,
        "Header down": header.astype(int),
        "Grain flow (kg/s)": log.flow_kg_s.round(2),
        "Moisture (%)": moisture.round(1),
    }).iloc[rows]  # fmt: skip
    table["Remark"] = [REMARK] + [""] * (len(table) - 1)
    table.to_csv(path, index=False, lineterminator="\n")


def write_log_2(path: Path, rng: np.random.Generator, means: dict[str, float]) -> None:
    """Write harvester 2's log: semicolons, decimal comma, local date and time, m/s, work codes, yield in t/ha."""
    log = seconds(drive_2()[0], 13.7, means, rng, 0.25)
    xy, rows = _faults(log, rng)
    local = pd.Series(_clock(log.t_s, "2025-11-27")).dt.tz_convert("Australia/Melbourne")
    lat, lon = _degrees(xy)
    code = np.where(log.cutting, 10, np.where(log.speed_m_s > 0.3, 2, 0))
    table = pd.DataFrame({
        "Date": local.dt.strftime("%d/%m/%Y"),
        "LocalTime": local.dt.strftime("%H:%M:%S"),
        "GPS_Lat": [v.replace(".", ",") for v in lat],
        "GPS_Lon": [v.replace(".", ",") for v in lon],
        "GroundSpeed_mps": log.speed_m_s.round(2),
        "WorkCode": code,
        "DryYield_tha": log.yield_t_ha.round(2),
    }).iloc[rows]  # fmt: skip
    lost = rng.choice(len(table), 5, replace=False)
    table.iloc[lost, [2, 3]] = "0,0000000"  # the receiver had no fix
    table["Remark"] = [REMARK] + [""] * (len(table) - 1)
    table.to_csv(path, index=False, sep=";", decimal=",", lineterminator="\n")
