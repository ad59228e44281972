"""One log's table brought to the track's columns: positions, clock and order, units, header, each guess said."""

from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError, SettingError
from mapper.farm.ranged import Array
from mapper.farm.tracks import check_track, make_track
from mapper.files.clock import read_clock
from mapper.files.columns import ColumnEntry, ColumnMap
from mapper.files.driven import assumed_clock, driven_order, in_no_order, out_of_time, runs_backwards
from mapper.files.guess import by_name, position_by_values, samples_of, time_by_values
from mapper.files.headerdown import guess_down, header_down
from mapper.files.logtable import POINT_X, POINT_Y, LogTable
from mapper.files.measured import less_sure, measured
from mapper.files.numbers import numbers
from mapper.files.position import Positions, read_positions
from mapper.files.report import ImportReport
from mapper.files.sections import join_sections
from mapper.files.spikes import spikes
from mapper.files.zone import zone_at

_LOG_MEANINGS = ("latitude", "longitude", "north_south", "east_west", "easting", "northing", "time", "date", "speed",
                 "heading", "header_down", "width", "flow", "yield", "machine", "set", "point", "distance",
                 "duration")  # fmt: skip
_SHOWN = 2000


class ReadLog(NamedTuple):
    """A log as read: its track (farm/tracks.py), its columns as they were taken, the account.

    steady: a real clock in the order of the file, and dates that can be read in one way only: a further block of the
    same file can be read by the same columns.
    """

    track: pd.DataFrame
    columns: ColumnMap
    report: ImportReport
    steady: bool


def guess_names(log: LogTable) -> ColumnMap:
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
    entries = [e for e in entries if e.meaning not in ("north_south", "east_west") or _sides(table[e.column])]
    known = {e.meaning for e in entries}
    if not ({"latitude", "longitude"} <= known or {"easting", "northing"} <= known):
        entries += position_by_values(table, {e.column for e in entries})
    used, known = {e.column for e in entries}, {e.meaning for e in entries}
    entries += time_by_values(table, used, known)
    return ColumnMap(tuple(entries))


def _sides(values: "pd.Series[Any]") -> bool:
    """Return whether a column holds nothing but N, S, E, W."""
    some = values.dropna().astype(str).str.strip().str.upper().head(_SHOWN)
    return bool(len(some)) and bool(some.str[:1].isin(list("NSEWO")).mean() > 0.9)


def _checked(columns: ColumnMap, log: LogTable, where: str) -> ColumnMap:
    for entry in columns.entries:
        if entry.column not in log.table.columns:
            has = ", ".join(log.names)
            raise SettingError(f"there is no column {entry.column!r}", where, f"The columns are {has}")
    return columns


def read_log(log: LogTable, given: ColumnMap | None, crs: Any, grid: Grid | None, zone: str, where: str) -> ReadLog:
    """Return track, mapping (with every unit found) and report of one log.

    given: a mapping put right by somebody. where: what the log is called. Raises FileError, CrsError, SettingError.
    """
    columns = _checked(given, log, where) if given is not None else guess_names(log)
    if log.crs is not None and not (columns.get("longitude") or columns.get("easting")):
        points = [e for e in guess_names(log).entries if e.column in (POINT_X, POINT_Y)]
        columns = replace(columns, entries=(*points, *columns.entries))
    at = read_positions(log, columns, crs, grid, where)
    columns = at.columns
    table = log.table if at.keep.all() else log.table[at.keep].reset_index(drop=True)
    zone = columns.zone or zone or zone_at(at.lon, at.lat)
    x, y, t_s, order, clocked, notes = _in_order(table, columns, at, zone, where)
    steady = clocked and _one_way(table, columns)
    if not (np.diff(order) == 1).all():
        table = table.iloc[order].reset_index(drop=True)
    columns, values, more = measured(table, columns, x, y, t_s, given is not None)
    notes += more
    if np.isnan(t_s).all() and "duration" in values:
        t_s = assumed_clock(x, y, values["duration"], values.get("distance"), values.get("speed"))
        notes.append("its clock is assumed from the logged durations; it shows no date.")
    columns = _with_sign(table, columns, values)
    track = _track(table, columns, values, x, y, t_s, at, log.name)
    track, joined = join_sections(track)
    notes += joined
    off = spikes(track)
    repaired = [*log.repaired, *at.repaired]
    if off.any():
        track = track[~off].reset_index(drop=True)
        repaired.append(f"{int(off.sum())} fixes that jump away from the fixes before and after were left out.")
    track.attrs["crs"] = at.grid.crs.to_wkt()
    used = {e.column for e in columns.entries}
    unused = tuple(c for c in log.names if c not in used and c not in (POINT_X, POINT_Y))
    columns = replace(columns, zone=zone, unused=unused)
    report = ImportReport(
        Path(where).name, "fixes", len(track), at.crs, at.crs_known, tuple(repaired), (), unused,
        (*log.notes, *at.notes, *columns.lines(), *notes),
    )  # fmt: skip
    return ReadLog(check_track(track), columns, report, steady)


def _one_way(table: pd.DataFrame, columns: ColumnMap) -> bool:
    """Return whether the times say themselves which figure is the year, month and day."""
    time = columns.get("time")
    if time is None or columns.get("date") is not None:
        return False
    first = table[time.column].dropna().astype(str).head(1)
    return pd.api.types.is_numeric_dtype(table[time.column]) or bool(first.str.match(r"^\d{4}-\d\d-\d\d").all())


def _codes(table: pd.DataFrame, columns: ColumnMap, meaning: str) -> Any:
    entry = columns.get(meaning)
    if entry is None:
        return None
    codes = pd.factorize(table[entry.column])[0]
    return codes if codes.max() > 0 else None


def _in_order(
    table: pd.DataFrame, columns: ColumnMap, at: Positions, zone: str, where: str
) -> tuple[Array, Array, Array, Any, bool, list[str]]:
    """Return x, y, t_s in driven order, the order of the rows, whether a clock keeps the file's order, and notes."""
    time, date = columns.get("time"), columns.get("date")
    clock = read_clock(
        table[time.column] if time else None, table[date.column] if date else None, time.column if time else "", zone
    )
    notes = list(clock.notes)
    rows = np.arange(len(table))
    if clock.kind in ("utc", "local"):
        if not out_of_time(at.x, at.y, clock.t_s):
            return at.x, at.y, clock.t_s, rows, True, notes
        order = np.argsort(clock.t_s, kind="stable")
        notes.append("its rows stand in another order than they were driven; put in order of their times.")
        return at.x[order], at.y[order], clock.t_s[order], order, False, notes
    point = columns.get("point")
    points = numbers(table[point.column]) if point else None
    counter = clock.t_s if clock.kind == "counter" else None
    driven = driven_order(at.x, at.y, points, _codes(table, columns, "set"), counter)
    if driven.how != "the file's order":
        notes.append(f"put in driven order {driven.how}; {100 * driven.jumps:.1f} % of steps are longer than 25 m.")
    elif driven.jumps > 0.05:
        notes.append(f"the order is doubtful: {100 * driven.jumps:.0f} % of steps are longer than 25 m.")
    order = driven.order
    if driven.jumps > 0.3 and in_no_order(at.x[order], at.y[order]):
        raise FileError(
            "its rows are in no order that could have been driven, and no time or point number tells one",
            where,
            "Export it again with the time of each point",
        )
    heading = columns.get("heading")
    logged = numbers(table[heading.column])[order] if heading else None
    if runs_backwards(at.x[order], at.y[order], logged):
        order = order[::-1]
        notes.append("the file runs backwards (its heading is opposite to the moves); it was turned round.")
    t_s = np.full(len(table), np.nan)
    if counter is not None and _steady(at.x[order], at.y[order], counter[order]):
        t_s = counter[order]
    return at.x[order], at.y[order], t_s, order, False, notes


def _steady(x: Array, y: Array, t_s: Array) -> bool:
    """Return whether a counter runs as a clock in seconds would: forward, at a speed that a harvester drives."""
    dt, step = np.diff(t_s), np.hypot(np.diff(x), np.diff(y))
    good = (dt > 0) & (step > 0.2) & (step < 25)
    return bool(np.mean(dt >= 0) > 0.98 and good.sum() > 10 and 0.3 < np.median(step[good] / dt[good]) < 6)


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
    names = table[machine.column].astype(str) if machine else np.full(n, name, object)
    data = {
        "t_s": t_s, "x": x, "y": y, "speed_m_s": values.get("speed", unknown), "heading_deg": turned,
        "header_down": _header(table, columns, values), "width_m": values.get("width", unknown),
        "flow_kg_s": values.get("flow", unknown), "yield_t_ha": values.get("yield", unknown), "machine": names,
    }  # fmt: skip
    return make_track(data)


def _with_sign(table: pd.DataFrame, columns: ColumnMap, values: dict[str, Array]) -> ColumnMap:
    """Return the mapping with the values that mean header down found."""
    entry = columns.get("header_down")
    if entry is None or entry.down:
        return columns
    sign = guess_down(table[entry.column], entry.column, values.get("flow", values.get("yield")))
    why = "; ".join(t for t in (entry.why, f"down is {' or '.join(sign.down)}" if sign.down else "", sign.why) if t)
    new = replace(entry, down=sign.down, sure=less_sure(entry.sure, sign.sure), why=why)
    return replace(columns, entries=tuple(new if e is entry else e for e in columns.entries))


def _header(table: pd.DataFrame, columns: ColumnMap, values: dict[str, Array]) -> Any:
    entry = columns.get("header_down")
    if entry is not None and entry.down:
        return header_down(table[entry.column], entry.down)
    width = values.get("width")
    if width is not None and 0.001 < np.mean(width == 0) < 0.9:
        return np.where(width > 0, 1, 0).astype(np.int8)
    return np.full(len(table), -1, np.int8)
