"""Harvester logs of any make into the track table (farm/tracks.py), with every guess shown."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pyproj import CRS

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError, MapperError
from mapper.farm.tracks import TRACK_COLUMNS, check_track, make_track
from mapper.files.columns import ColumnMap, read_columns, write_columns
from mapper.files.logfiles import Logs
from mapper.files.logtable import LogTable, joined_blocks, log_blocks
from mapper.files.onelog import ReadLog, read_log
from mapper.files.preview import look_at_log
from mapper.files.remembered import recall
from mapper.files.report import ImportReport, summed
from mapper.files.taskxml import is_taskdata

__all__ = ["guess_columns", "read_columns", "read_tracks", "write_columns"]

# A text log longer than this is read block by block.
_BLOCK_ROWS = 500_000


def guess_columns(path: Path | str, crs: Any = None, remembered: Path | None = None) -> ColumnMap:
    """Return what each column of a log is taken as (look_at_log() says more)."""
    return look_at_log(path, crs, "", remembered).columns


def read_tracks(
    paths: Path | str | Sequence[Path | str],
    grid: Grid | None,
    columns: ColumnMap | None = None,
    crs: Any = None,
    zone: str = "",
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    remembered: Path | None = None,
) -> tuple[pd.DataFrame, ImportReport]:
    """Read harvester logs: text tables, NMEA 0183, GPX tracks, points in map files, ISO 11783-10 task data.

    Parameters
    ----------
    paths : one or several files, folders or zips of them; their fixes are put one after the other, machines kept
        apart. Of several files one that cannot be read is refused in the report; of one file it raises.
    grid : the farm's; None picks the grid of the place (as WKT in track.attrs["crs"]).
    columns : a corrected mapping; None takes the one remembered for these columns, else guesses it and says so.
    crs : what the positions are in, where a log does not say.
    zone : time zone of times that name none; "" takes the zone of the place.
    remembered : folder of mappings put right before; None remembers nothing.

    Returns the track (farm/tracks.py) and the report. Raises FileError, CrsError, SettingError or Stopped.
    """
    given = [Path(paths)] if isinstance(paths, str | Path) else [Path(p) for p in paths]
    if not given:
        raise FileError("no log was named", "", "Name one or more logs")
    tracks: list[dict[str, Any]] = []
    reports: list[ImportReport] = []
    refused: list[MapperError] = []
    with Logs(given) as logs:
        behind = 0
        for path, shown, size in zip(logs.files, logs.shown, logs.sizes, strict=True):

            def advanced(done: int, of: int, before: int = behind, size: int = size) -> None:
                if progress is not None:
                    progress(before + int(size * done / max(of, 1)), logs.total)

            try:
                track, report = _read_one(path, shown, grid, columns, crs, zone, advanced, cancelled, remembered)
            except MapperError as exc:
                if len(logs.files) == 1:
                    raise
                refused.append(exc)
            else:
                if len(logs.files) == 1:
                    return track, report
                grid = grid or Grid(CRS(track.attrs["crs"]))
                tracks.append(_columns_of(track))
                del track
                reports.append(report)
            behind += size
    if not tracks:
        raise refused[0]
    whole = _one_after_the_other(tracks)
    whole.attrs["crs"] = grid.crs.to_wkt() if grid is not None else ""
    return check_track(whole), _joined(reports, refused)


def _read_one(
    path: Path,
    shown: str,
    grid: Grid | None,
    columns: ColumnMap | None,
    crs: Any,
    zone: str,
    progress: Callable[[int, int], None],
    cancelled: Callable[[], bool] | None,
    remembered: Path | None,
) -> tuple[pd.DataFrame, ImportReport]:
    if is_taskdata(path):
        from mapper.files.taskdata import read_taskdata

        return read_taskdata(path, grid, zone or None, progress, cancelled)

    def named(names: list[str]) -> list[str]:
        known = columns or recall(names, remembered)
        return [e.column for e in known.entries] if known is not None else []

    blocks = log_blocks(path, crs, progress, cancelled, named, most_rows=_BLOCK_ROWS)
    first = next(blocks)
    kept = recall(first.names, remembered) if columns is None and first.headed else None
    if kept is not None:
        note = f"columns as they were put right before (kept in {remembered}; delete the file there to guess again)."
        first = replace(first, notes=(*first.notes, note))
    read = read_log(first, columns or kept, crs, grid, zone, shown)
    second = next(blocks, None)
    if second is None:
        return read.track, read.report
    if not read.steady:
        read = read_log(joined_blocks([first, second, *blocks]), columns or kept, crs, grid, zone, shown)
        return read.track, read.report
    del first
    return _further_blocks(read, second, blocks, crs, grid, zone, shown)


def _further_blocks(
    read: ReadLog,
    block: LogTable | None,
    blocks: Iterator[LogTable],
    crs: Any,
    grid: Grid | None,
    zone: str,
    shown: str,
) -> tuple[pd.DataFrame, ImportReport]:
    """Return a long log read block by block, by the columns of its beginning: memory holds one block and the track."""
    grid = grid or Grid(CRS(read.track.attrs["crs"]))
    columns, reports = read.columns, [read.report]
    mended: tuple[str, ...] = ()
    tracks = [_columns_of(read.track)]
    del read
    while block is not None:
        mended, block = block.repaired, replace(block, repaired=())
        part = read_log(block, columns, crs, grid, zone, shown)
        tracks.append(_columns_of(part.track))
        reports.append(part.report)
        del part
        block = next(blocks, None)
    track = _one_after_the_other(tracks)
    track.attrs["crs"] = grid.crs.to_wkt()
    report = replace(
        reports[0],
        count=len(track),
        repaired=(*mended, *summed(t for r in reports for t in r.repaired if t not in mended)),
        notes=summed(t for r in reports for t in r.notes),
    )
    return track, report


def _columns_of(track: pd.DataFrame) -> dict[str, Any]:
    """Return a track's columns each for itself, so that they can go one by one when all are joined."""
    return {c: track[c].to_numpy(copy=True) for c in TRACK_COLUMNS}


def _one_after_the_other(tracks: list[dict[str, Any]]) -> pd.DataFrame:
    """Return tracks as one, a column at a time, so that the pieces and the whole never stand side by side."""
    columns = {name: np.concatenate([track.pop(name) for track in tracks]) for name in TRACK_COLUMNS}
    return make_track(columns)


def _joined(reports: list[ImportReport], failed: list[MapperError]) -> ImportReport:
    if len(reports) == 1 and not failed:
        return reports[0]

    def all_of(field: str) -> tuple[str, ...]:
        return tuple(f"{r.file}: {text}" for r in reports for text in getattr(r, field))

    first, refused = reports[0], (*map(str, failed), *all_of("refused"))
    return ImportReport(
        ", ".join(r.file for r in reports), first.what, sum(r.count for r in reports), first.crs, first.crs_known,
        all_of("repaired"), refused, all_of("ignored"), all_of("notes"),
        machines=tuple({m.machine: m for r in reports for m in r.machines}.values()),
    )  # fmt: skip
