"""Gridded forecasts, CF-NetCDF and GRIB, at the farm's position: every variable as a column with its unit behind its
name, so that they are then read like any other table."""

import re
import warnings
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError
from mapper.files.gridplace import Place, place_in

# GRIB elements of the air near the ground, by the names that forecasts' columns go by.
_ELEMENTS = {
    "TMP": "air temperature", "2T": "air temperature", "DPT": "dew point temperature", "2D": "dew point temperature",
    "RH": "relative humidity", "UGRD": "eastward wind", "10U": "eastward wind", "VGRD": "northward wind",
    "10V": "northward wind", "WIND": "wind speed", "WDIR": "wind from direction", "GUST": "wind gust",
    "10FG": "wind gust", "TCDC": "total cloud cover", "TCC": "total cloud cover", "TP": "precipitation",
    "PRATE": "precipitation rate", "TPRATE": "precipitation rate",
}  # fmt: skip
_ACCUMULATED = re.compile(r"^APCP(\d*)$")
_SINCE = re.compile(r"^\s*(\w+)\s+since\s+(.+?)\s*$", re.IGNORECASE)
_UNIT_S = {"s": 1.0, "sec": 1.0, "second": 1.0, "min": 60.0, "minute": 60.0, "h": 3600.0, "hr": 3600.0, "hour": 3600.0,
           "d": 86400.0, "day": 86400.0}  # fmt: skip
_ISSUE = re.compile(r"(forecast_reference_time|issue|base_time|reference_time|init|model_run)", re.IGNORECASE)


class GridForecast(NamedTuple):
    """The hours at the farm as a table (column "time" in seconds since 1970 UTC), its issue time as written, notes."""

    table: pd.DataFrame
    issued: Any
    notes: tuple[str, ...]


class Value(NamedTuple):
    """One variable at one time: its column's name and unit, level in metres (NaN none), hours it is summed over."""

    name: str
    unit: str
    level_m: float
    t_s: float
    value: float
    over_h: float = float("nan")


def read_grid(path: Path, lonlat: tuple[float, float]) -> GridForecast:
    """Return a NetCDF or GRIB forecast at longitude, latitude (the nearest cell).

    Raises FileError where the file is no such grid, does not cover the place, or this program cannot read its kind.
    """
    import rasterio
    from rasterio.errors import NotGeoreferencedWarning, RasterioError

    kind = "GRIB" if head_of(path, 4) == b"GRIB" else "netCDF"
    with rasterio.Env() as env, warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        if kind not in env.drivers():
            raise FileError(
                f"this installation cannot read {kind}: rasterio came without its {kind} driver",
                str(path),
                "Save the forecast as CSV or JSON",
            )
        try:
            with rasterio.open(path) as data:
                place: Place | None
                if kind == "GRIB":
                    place = place_in(data, lonlat, path)
                    values = list(_grib(data, place))
                    issued: Any = data.tags(1).get("GRIB_REF_TIME", "").split()[:1] or None
                    issued = issued[0] if issued else None
                else:
                    issued = next((v for k, v in data.tags().items() if _ISSUE.search(k)), None)
                    names = data.subdatasets or [str(path)]
                    values, place = _netcdf(names, lonlat, path)
        except RasterioError as exc:
            raise FileError("it cannot be read as a grid of weather", str(path), f"The library says: {exc}") from exc
    if not values or place is None:
        raise FileError("it holds no weather with times near the ground", str(path), "Save it with its time coordinate")
    return GridForecast(_wide(values), issued, (place.words,))


def _grib(data: Any, place: Place) -> Iterator[Value]:
    found = place.values(data)
    for band in range(1, data.count + 1):
        tags = data.tags(band)
        element = tags.get("GRIB_ELEMENT", "")
        summed = _ACCUMULATED.match(element)
        name = "precipitation" if summed else _ELEMENTS.get(element)
        if name is None or not tags.get("GRIB_VALID_TIME"):
            continue
        level, _, where = tags.get("GRIB_SHORT_NAME", "").partition("-")
        if where not in ("HTGL", "SFC", "EATM", "TCY", "RESERVED(200)", "0-SFC") and not element.startswith(
            ("2", "10")
        ):
            continue
        level_m = float(level) if where == "HTGL" else float("nan")
        over_h = float(summed.group(1)) if summed and summed.group(1) else float("nan")
        t_s = float(tags["GRIB_VALID_TIME"].split()[0])
        yield Value(name, tags.get("GRIB_UNIT", "").strip("[]"), level_m, t_s, found[band - 1], over_h)


def _netcdf(names: list[str], lonlat: tuple[float, float], path: Path) -> tuple[list[Value], Place | None]:
    import rasterio

    values: list[Value] = []
    place: Place | None = None
    for name in names:
        with rasterio.open(name) as data:
            first = data.tags(1)
            time = _time_dimension(data)
            if time is None:
                continue
            here = place_in(data, lonlat, path)
            place = place or here
            variable = first.get("NETCDF_VARNAME", "")
            title = first.get("standard_name") or variable
            # A variable's own name says more of its height: "u10", "t2m".
            if first.get("standard_name") and re.search(r"\d", variable) and _height(data, first, variable) is None:
                title = f"{title} {_level_words(variable)}".strip()
            scales, offsets = data.scales, data.offsets
            read = here.values(data)
            for band in range(1, data.count + 1):
                tags = data.tags(band)
                level = _height(data, tags, variable)
                t_s = time.seconds(tags)
                value = read[band - 1] * scales[band - 1] + offsets[band - 1]
                if np.isfinite(t_s):
                    unit = tags.get("units", "")
                    values.append(Value(title, unit, np.nan if level is None else level, t_s, float(value)))
    return values, place


class _Time(NamedTuple):
    """The time dimension of a variable: its name, start and unit; values: its times where they stand apart."""

    dimension: str
    start_s: float
    unit_s: float

    def seconds(self, tags: dict[str, str]) -> float:
        written = tags.get(f"NETCDF_DIM_{self.dimension}")
        return float("nan") if written is None else self.start_s + self.unit_s * float(written)


def _time_dimension(data: Any) -> _Time | None:
    tags = data.tags()
    for key in data.tags(1):
        name = key.removeprefix("NETCDF_DIM_")
        since = _SINCE.match(tags.get(f"{name}#units", "")) if name != key else None
        if since is None:
            continue
        unit = _UNIT_S.get(since.group(1).lower().rstrip("s") or "s")
        start = _moment(since.group(2))
        if unit is not None and start is not None:
            return _Time(name, start, unit)
    return None


def _moment(text: str) -> float | None:
    """A CF start such as "2026-04-18 00:00:00.0 +10:00", UTC where it names no offset."""
    try:
        at = pd.Timestamp(re.sub(r"\s*(UTC|Z)$", "", text.strip()))
    except ValueError:
        return None
    return float((at.tz_localize(UTC) if at.tzinfo is None else at).timestamp())


def _height(data: Any, tags: dict[str, str], variable: str) -> float | None:
    """Height above ground of a band, metres: its own dimension, where that counts metres."""
    for key, value in tags.items():
        name = key.removeprefix("NETCDF_DIM_")
        if name != key and data.tags().get(f"{name}#units", "").lower() in ("m", "metre", "metres", "meter", "meters"):
            return float(value)
    return None


def _level_words(variable: str) -> str:
    """The height in a variable's own name, as the names of levels are written: "t2m" is "2 m", "u100" "100 m"."""
    found = re.search(r"\d+", variable)
    return f"{found.group(0)} m" if found else ""


def _wide(values: list[Value]) -> pd.DataFrame:
    """One row a time, one column a variable, at the height where each is wanted: wind 10 m, the rest 2 m."""
    table = pd.DataFrame(values)
    columns: dict[str, Any] = {}
    for (name, unit), rows in table.groupby(["name", "unit"], sort=False, dropna=False):
        wanted = 10.0 if re.search(r"wind|gust", str(name)) else 2.0
        if rows["level_m"].notna().any():
            off = (rows["level_m"] - wanted).abs()
            rows = rows[off == off.min()]  # noqa: PLW2901
        rows = rows.drop_duplicates("t_s").sort_values("t_s")  # noqa: PLW2901
        series = pd.Series(rows["value"].to_numpy(), index=rows["t_s"].to_numpy())
        title, kept = str(name), str(unit)
        if re.search(r"precip|rain|^tp$", title):
            series, kept = _rain_mm(series, kept, rows["over_h"].to_numpy()), "mm"
        columns.setdefault(f"{title} ({kept})" if kept else title, series)
    out = pd.DataFrame(columns).sort_index()
    out.insert(0, "time", out.index.to_numpy())
    return out.reset_index(drop=True)


def _rain_mm(series: "pd.Series[float]", unit: str, over_h: np.ndarray) -> "pd.Series[float]":
    """Rain of each interval, mm, from rates, metres, or sums since the start."""
    values = series.to_numpy(dtype=float)
    hours = np.diff(series.index.to_numpy(), prepend=np.nan) / 3600.0
    step_h = np.where(np.isnan(hours), np.nanmedian(hours) if len(hours) > 1 else 1.0, hours)
    if re.search(r"s\^?-1|s\*\*-1|/\(?.*s\)?$|/s", unit.replace("m s-1", "m/s")):
        per_s = values * (1000.0 if unit.replace(" ", "").startswith("ms") else 1.0)
        return pd.Series(per_s * 3600.0 * step_h, index=series.index)
    if unit.strip() == "m":
        values = values * 1000.0
    grows = np.diff(over_h) > 0 if np.isfinite(over_h).all() and len(over_h) > 1 else _summed(values)
    if np.any(grows):
        first = values[0] if np.isfinite(over_h).all() else np.nan
        values = np.append(first, np.where(grows, np.maximum(np.diff(values), 0.0), values[1:]))
    return pd.Series(values, index=series.index)


def _summed(values: np.ndarray) -> np.ndarray:
    """Whether a series without spans is a sum since its start: it never falls, and stays level above nought."""
    step = np.diff(values)
    level = (step == 0) & (values[:-1] > 0)
    is_sum = len(values) >= 4 and bool((step >= 0).all()) and bool(level.any()) and values[-1] > values[0]
    return np.full(len(step), is_sum)


def head_of(path: Path, count: int) -> bytes:
    """Return a file's first bytes, none where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(count)
    except OSError:
        return b""


def is_grid(path: Path) -> bool:
    """Return whether a file begins as NetCDF or GRIB does."""
    head = head_of(path, 8)
    return head[:4] in (b"GRIB", b"\x89HDF") or head[:3] == b"CDF"


def issue_moment(issued: Any) -> datetime | None:
    """Return when a grid was issued, UTC, from seconds since 1970 or a written time."""
    if issued is None:
        return None
    text = str(issued).strip()
    moment = float(text) if re.fullmatch(r"\d{9,10}", text) else _moment(text)
    return None if moment is None else datetime.fromtimestamp(moment, UTC)
