"""Harvester logs of any make into the track table (farm/tracks.py), with every guess shown."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pyproj import CRS

from mapper.farm.crs import Grid
from mapper.farm.errors import CrsError, FileError, SettingError
from mapper.farm.ranged import Array
from mapper.farm.tracks import TRACK_COLUMNS, check_track
from mapper.files.clock import read_clock
from mapper.files.columns import ColumnEntry, ColumnMap, read_columns, write_columns
from mapper.files.driven import assumed_clock, driven_order, runs_backwards
from mapper.files.guess import by_name, position_by_values, samples_of
from mapper.files.headerdown import guess_down, header_down
from mapper.files.logtable import POINT_X, POINT_Y, LogTable, read_log_table
from mapper.files.position import Positions, read_positions
from mapper.files.report import ImportReport
from mapper.files.sections import join_sections
from mapper.files.taskxml import is_taskdata
from mapper.files.unitguess import distance_unit, grain_units, in_unit, speed_unit, width_unit
from mapper.files.zone import zone_at

__all__ = ["guess_columns", "read_columns", "read_tracks", "write_columns"]

_LOG_MEANINGS = ("latitude", "longitude", "easting", "northing", "time", "date", "speed", "heading", "header_down",
                 "width", "flow", "yield", "machine", "set", "point", "distance", "duration")  # fmt: skip
_SHOWN = 2000


def guess_columns(path: Path | str, crs: Any = None) -> ColumnMap:
    """Return what each column of a log is taken as, with units, how sure that is and sample values.

    The whole log is read, since units are told from steps, times and the grain balance. Where nobody has said yet
    which grid the positions are in, the names alone decide.
    """
    log = read_log_table(Path(path), crs)
    try:
        return _one_log(log, None, crs, None, "", str(path))[1]
    except CrsError:
        columns = _guess_names(log)
        used = {e.column for e in columns.entries}
        return replace(columns, unused=tuple(str(c) for c in log.table.columns if c not in used))


def read_tracks(
    paths: Path | str | Sequence[Path | str],
    grid: Grid | None,
    columns: ColumnMap | None = None,
    crs: Any = None,
    zone: str = "",
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[pd.DataFrame, ImportReport]:
    """Read harvester logs: text tables, points in map files, ISO 11783-10 task data.

    Parameters
    ----------
    paths : one or several files; their fixes are put one after the other, machines kept apart.
    grid : the farm's; None picks the grid of the place (as WKT in track.attrs["crs"]).
    columns : a corrected mapping; None guesses it and says so.
    crs : what the positions are in, where a log does not say.
    zone : time zone of times that name none; "" takes the zone of the place.

    Returns the track (farm/tracks.py) and the report. Raises FileError, CrsError, SettingError or Stopped.
    """
    files = [Path(paths)] if isinstance(paths, str | Path) else [Path(p) for p in paths]
    if not files:
        raise FileError("no log was named", "", "Name one or more logs")
    sizes = [max(p.stat().st_size, 1) if p.exists() else 1 for p in files]
    total, behind = sum(sizes), 0
    tracks: list[pd.DataFrame] = []
    reports: list[ImportReport] = []
    for path, size in zip(files, sizes, strict=True):
        before = behind

        def advanced(done: int, of: int, before: int = before, size: int = size) -> None:
            if progress is not None:
                progress(before + int(size * done / max(of, 1)), total)

        if is_taskdata(path):
            from mapper.files.taskdata import read_taskdata

            track, report = read_taskdata(path, grid, zone or None, advanced, cancelled)
        else:
            log = read_log_table(path, crs, advanced, cancelled)
            track, _, report = _one_log(log, columns, crs, grid, zone, str(path))
        grid = grid or Grid(CRS(track.attrs["crs"]))
        tracks.append(track)
        reports.append(report)
        behind += size
    whole = pd.concat(tracks, ignore_index=True) if len(tracks) > 1 else tracks[0]
    whole.attrs["crs"] = grid.crs.to_wkt() if grid is not None else tracks[0].attrs["crs"]
    return check_track(whole), _joined(reports)


def _joined(reports: list[ImportReport]) -> ImportReport:
    if len(reports) == 1:
        return reports[0]

    def all_of(field: str) -> tuple[str, ...]:
        return tuple(f"{r.file}: {text}" for r in reports for text in getattr(r, field))

    return ImportReport(
        ", ".join(r.file for r in reports), reports[0].what, sum(r.count for r in reports), reports[0].crs,
        reports[0].crs_known, all_of("repaired"), all_of("refused"), all_of("ignored"), all_of("notes"),
    )  # fmt: skip


def _guess_names(log: LogTable) -> ColumnMap:
    """Return the mapping by names, positions by values where no name tells them."""
    table = log.table
    entries: list[ColumnEntry] = []
    wanted = set(_LOG_MEANINGS)
    if log.crs is not None:
        pair = ("longitude", "latitude") if log.crs.is_geographic else ("easting", "northing")
        entries = [
            ColumnEntry(m, c, "", "certain", "the points of the file", samples_of(table[c].head(_SHOWN)))
            for m, c in zip(pair, (POINT_X, POINT_Y), strict=True)
        ]
        wanted -= {"latitude", "longitude", "easting", "northing"}
        table = table.drop(columns=[POINT_X, POINT_Y])
    entries += by_name(table, wanted)
    known = {e.meaning for e in entries}
    if not ({"latitude", "longitude"} <= known or {"easting", "northing"} <= known):
        entries += position_by_values(table, {e.column for e in entries})
    return ColumnMap(tuple(entries))


def _checked(columns: ColumnMap, log: LogTable, where: str) -> ColumnMap:
    for entry in columns.entries:
        if entry.column not in log.table.columns:
            has = ", ".join(map(str, log.table.columns))
            raise SettingError(f"there is no column {entry.column!r}", where, f"The columns are {has}")
    return columns


def _one_log(
    log: LogTable, given: ColumnMap | None, crs: Any, grid: Grid | None, zone: str, where: str
) -> tuple[pd.DataFrame, ColumnMap, ImportReport]:
    """Return track, mapping (with every unit found) and report of one log."""
    columns = _checked(given, log, where) if given is not None else _guess_names(log)
    if log.crs is not None and not (columns.get("longitude") or columns.get("easting")):
        points = [e for e in _guess_names(log).entries if e.column in (POINT_X, POINT_Y)]
        columns = replace(columns, entries=(*points, *columns.entries))
    at = read_positions(log, columns, crs, grid, where)
    columns = at.columns
    table = log.table[at.keep].reset_index(drop=True)
    zone = columns.zone or zone or zone_at(at.lon, at.lat)
    x, y, t_s, order, notes = _in_order(table, columns, at, zone)
    table = table.iloc[order].reset_index(drop=True)
    columns, values, more = _measured(table, columns, x, y, t_s)
    notes += more
    if np.isnan(t_s).all() and "duration" in values:
        t_s = assumed_clock(x, y, values["duration"], values.get("distance"), values.get("speed"))
        notes.append("its clock is assumed from the logged durations; it shows no date.")
    columns = _with_sign(table, columns, values)
    track = _track(table, columns, values, x, y, t_s, at, log.name)
    track, joined = join_sections(track)
    notes += joined
    track.attrs["crs"] = at.grid.crs.to_wkt()
    used = {e.column for e in columns.entries}
    unused = tuple(str(c) for c in log.table.columns if c not in used and c not in (POINT_X, POINT_Y))
    columns = replace(columns, zone=zone, unused=unused)
    report = ImportReport(
        Path(where).name, "fixes", len(track), at.crs, at.crs_known, (*log.repaired, *at.repaired), (), unused,
        (*log.notes, *at.notes, *columns.lines(), *notes),
    )  # fmt: skip
    return check_track(track), columns, report


def _codes(table: pd.DataFrame, columns: ColumnMap, meaning: str) -> Any:
    entry = columns.get(meaning)
    if entry is None:
        return None
    codes = pd.factorize(table[entry.column])[0]
    return codes if codes.max() > 0 else None


def _in_order(
    table: pd.DataFrame, columns: ColumnMap, at: Positions, zone: str
) -> tuple[Array, Array, Array, Any, list[str]]:
    """Return x, y, t_s in driven order, the order of the rows, and notes."""
    time, date = columns.get("time"), columns.get("date")
    clock = read_clock(
        table[time.column] if time else None, table[date.column] if date else None, time.column if time else "", zone
    )
    notes = list(clock.notes)
    rows = np.arange(len(table))
    if clock.kind in ("utc", "local"):
        return at.x, at.y, clock.t_s, rows, notes
    point = columns.get("point")
    numbers = pd.to_numeric(table[point.column], errors="coerce").to_numpy(float) if point else None
    counter = clock.t_s if clock.kind == "counter" else None
    driven = driven_order(at.x, at.y, numbers, _codes(table, columns, "set"), counter)
    if driven.how != "the file's order":
        notes.append(f"put in driven order {driven.how}; {100 * driven.jumps:.1f} % of steps are longer than 25 m.")
    elif driven.jumps > 0.05:
        notes.append(f"the order is doubtful: {100 * driven.jumps:.0f} % of steps are longer than 25 m.")
    order = driven.order
    heading = columns.get("heading")
    logged = pd.to_numeric(table[heading.column], errors="coerce").to_numpy(float)[order] if heading else None
    if runs_backwards(at.x[order], at.y[order], logged):
        order = order[::-1]
        notes.append("the file runs backwards (its heading is opposite to the moves); it was turned round.")
    t_s = np.full(len(table), np.nan)
    if counter is not None and _steady(at.x[order], at.y[order], counter[order]):
        t_s = counter[order]
    return at.x[order], at.y[order], t_s, order, notes


def _steady(x: Array, y: Array, t_s: Array) -> bool:
    """Return whether a counter runs as a clock in seconds would: forward, at a speed that a harvester drives."""
    dt, step = np.diff(t_s), np.hypot(np.diff(x), np.diff(y))
    good = (dt > 0) & (step > 0.2) & (step < 25)
    return bool(np.mean(dt >= 0) > 0.98 and good.sum() > 10 and 0.3 < np.median(step[good] / dt[good]) < 6)


def _measured(
    table: pd.DataFrame, columns: ColumnMap, x: Array, y: Array, t_s: Array
) -> tuple[ColumnMap, dict[str, Array], list[str]]:
    """Return the mapping with its units found, and the measured columns in kept units."""
    raw = {
        e.meaning: pd.to_numeric(table[e.column], errors="coerce").to_numpy(float)
        for e in columns.entries
        if e.meaning in ("speed", "heading", "width", "flow", "yield", "distance", "duration")
    }
    step = np.r_[np.nan, np.hypot(np.diff(x), np.diff(y))]
    found: dict[str, tuple[str, Any, str]] = {}
    values: dict[str, Array] = {}
    notes: list[str] = []

    def unit_of(meaning: str) -> str:
        entry = columns.get(meaning)
        return entry.unit if entry else ""

    if "duration" in raw:
        values["duration"] = in_unit(raw["duration"], unit_of("duration") or "s", "time")
    if "distance" in raw:
        if not unit_of("distance"):
            found["distance"] = distance_unit(raw["distance"], step)
        values["distance"] = in_unit(raw["distance"], found.get("distance", (unit_of("distance"),))[0], "length")
    distance_in = found.get("distance", (unit_of("distance"),))[0]
    real = _real_speed(step, t_s, values)
    if "speed" in raw:
        if not unit_of("speed"):
            found["speed"] = speed_unit(raw["speed"], real)
        values["speed"] = in_unit(raw["speed"], found.get("speed", (unit_of("speed"),))[0], "speed")
    elif "distance" in values and "duration" in values:
        with np.errstate(divide="ignore", invalid="ignore"):
            values["speed"] = np.where(values["duration"] > 0, values["distance"] / values["duration"], np.nan)
        notes.append("speed is distance over duration.")
    imperial = distance_in in ("ft", "in") or unit_of("width") == "ft"
    if "width" in raw:
        if not unit_of("width"):
            found["width"] = width_unit(raw["width"], imperial)
        values["width"] = in_unit(raw["width"], found.get("width", (unit_of("width"),))[0], "length")
    if "yield" in raw or "flow" in raw:
        speed = values.get("speed", real)
        grain = grain_units(
            raw.get("yield"), raw.get("flow"), values.get("width", np.array([np.nan])), speed,
            (unit_of("yield"), unit_of("flow")), imperial,
        )  # fmt: skip
        for meaning, guessed in zip(("yield", "flow"), grain, strict=True):
            if meaning in raw:
                if not unit_of(meaning):
                    found[meaning] = guessed
                values[meaning] = in_unit(raw[meaning], guessed[0], meaning)
        if "bu/ac" in (grain[0][0], unit_of("yield")):
            notes.append("a bushel was taken as 60 lb (wheat).")
    if "heading" in raw:
        radians = unit_of("heading") == "rad" or (not unit_of("heading") and np.nanmax(np.abs(raw["heading"])) <= 6.3)
        values["heading"] = in_unit(raw["heading"], "rad" if radians else "deg", "angle")
        found["heading"] = ("rad" if radians else "deg", "certain", "")
    entries = tuple(_with_unit(e, found[e.meaning]) if e.meaning in found else e for e in columns.entries)
    return replace(columns, entries=entries), values, notes


_SURENESS = ("certain", "likely", "guess")


def _less_sure(one: Any, other: Any) -> Any:
    return max(one, other, key=_SURENESS.index)


def _with_unit(entry: ColumnEntry, found: tuple[str, Any, str]) -> ColumnEntry:
    unit, sure, why = found
    said = "; ".join(t for t in (entry.why, f"unit {why}" if why else "") if t)
    return replace(entry, unit=unit, sure=_less_sure(entry.sure, sure), why=said)


def _real_speed(step: Array, t_s: Array, values: dict[str, Array]) -> Array:
    """Return speed in m/s of each fix from its step and time, or from logged distance and duration; NaN unknown."""
    with np.errstate(divide="ignore", invalid="ignore"):
        if np.isfinite(t_s).any():
            dt = np.r_[np.nan, np.diff(t_s)]
            return np.where((dt > 0) & (dt <= 30), step / dt, np.nan)
        if "distance" in values and "duration" in values:
            return np.where(values["duration"] > 0, values["distance"] / values["duration"], np.nan)
        if "duration" in values:
            return np.where((values["duration"] > 0) & (step < 25), step / values["duration"], np.nan)
    return np.full(len(step), np.nan)


def _track(
    table: pd.DataFrame,
    columns: ColumnMap,
    values: dict[str, Array],
    x: Array,
    y: Array,
    t_s: Array,
    at: Positions,
    name: str,
) -> pd.DataFrame:
    n = len(table)
    unknown = np.full(n, np.nan)
    heading = values.get("heading", unknown)
    if np.nanmin(heading, initial=np.inf) == np.nanmax(heading, initial=-np.inf):
        heading = unknown
    # A receiver's course is from true north.
    turned = (heading - at.grid.convergence_deg(float(np.median(x)), float(np.median(y)))) % 360.0
    machine = columns.get("machine")
    names = table[machine.column].astype(str).to_numpy(object) if machine else np.full(n, name, object)
    data = {
        "t_s": t_s, "x": x, "y": y, "speed_m_s": values.get("speed", unknown), "heading_deg": turned,
        "header_down": _header(table, columns, values), "width_m": values.get("width", unknown),
        "flow_kg_s": values.get("flow", unknown), "yield_t_ha": values.get("yield", unknown), "machine": names,
    }  # fmt: skip
    return pd.DataFrame({c: pd.Series(data[c], dtype=t) for c, t in TRACK_COLUMNS.items()})


def _with_sign(table: pd.DataFrame, columns: ColumnMap, values: dict[str, Array]) -> ColumnMap:
    """Return the mapping with the values that mean header down found."""
    entry = columns.get("header_down")
    if entry is None or entry.down:
        return columns
    sign = guess_down(table[entry.column], entry.column, values.get("flow", values.get("yield")))
    why = "; ".join(t for t in (entry.why, f"down is {' or '.join(sign.down)}" if sign.down else "", sign.why) if t)
    new = replace(entry, down=sign.down, sure=_less_sure(entry.sure, sign.sure), why=why)
    return replace(columns, entries=tuple(new if e is entry else e for e in columns.entries))


def _header(table: pd.DataFrame, columns: ColumnMap, values: dict[str, Array]) -> Any:
    entry = columns.get("header_down")
    if entry is not None and entry.down:
        return header_down(table[entry.column], entry.down)
    width = values.get("width")
    if width is not None and 0.001 < np.mean(width == 0) < 0.9:
        return np.where(width > 0, 1, 0).astype(np.int8)
    return np.full(len(table), -1, np.int8)
