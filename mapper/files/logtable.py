"""A harvester's log as a plain table, whether it comes as text, sentences of a receiver or points in a map file."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from mapper.farm.errors import FileError, Stopped
from mapper.files.composed import compose
from mapper.files.container import VectorSource, crs_note, list_sources, source_crs
from mapper.files.gpxtrack import read_gpx_track
from mapper.files.guess import wanted_columns
from mapper.files.nmea import is_nmea, read_nmea
from mapper.files.report import CrsKnown
from mapper.files.textread import read_blocks

TEXT_ENDS = (".csv", ".txt", ".tsv", ".dat", ".asc", ".log", ".prn", ".nmea", ".nma", ".tab", ".xyz")
# Names of the position columns made from a map file's points.
POINT_X, POINT_Y = "(point, east)", "(point, north)"
_WKB_POINT_BYTES = 21
# A look at a log for its columns reads about this much of it.
_LOOK_BYTES = 8_000_000


Given = Callable[[list[str]], Iterable[str]]


@dataclass(frozen=True)
class LogTable:
    """A log's rows. crs: of the points of a map file, None for text. repaired: said by the reader.

    names: all columns of the file; those that nobody wants may be missing in the table. headed: the names are its own.
    """

    name: str
    table: pd.DataFrame
    crs: CRS | None
    crs_known: CrsKnown
    repaired: tuple[str, ...]
    notes: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    headed: bool = True


def read_log_table(
    path: Path,
    crs: Any = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    given: Given | None = None,
    look: bool = False,
) -> LogTable:
    """Return a log as a table. look: its beginning is enough, with all columns; the rest as of log_blocks()."""
    return joined_blocks(list(log_blocks(path, crs, progress, cancelled, given, look)))


def joined_blocks(blocks: list[LogTable]) -> LogTable:
    """Return the blocks of one log as one table."""
    if len(blocks) == 1:
        return blocks[0]
    table = pd.concat([b.table for b in blocks], ignore_index=True)
    return replace(blocks[0], table=table, repaired=blocks[-1].repaired)


def log_blocks(
    path: Path,
    crs: Any = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    given: Given | None = None,
    look: bool = False,
    most_rows: int = 0,
) -> Iterator[LogTable]:
    """Give a log as tables of about most_rows rows where it is text, as one otherwise (most_rows 0: always).

    given: tells, of all names, the columns wanted whatever they are called. What was mended in all of the text so far
    stands with each block. Raises FileError where it is neither a text table, NMEA sentences, a GPX track nor points.
    """
    if not path.exists():
        raise FileError("there is no such file", str(path), "Check the name and folder")
    text_like = path.suffix.lower() in TEXT_ENDS or path.suffix == ""
    if path.is_file() and (text_like or path.suffix.lower() in (".ubx", ".gps", ".raw")) and is_nmea(path):
        table, repaired, notes = read_nmea(path, progress, cancelled)
        yield LogTable(path.stem, table, None, "", repaired, notes, tuple(table.columns))
    elif path.suffix.lower() == ".gpx":
        table, repaired, notes = read_gpx_track(path, progress, cancelled)
        yield LogTable(path.stem, table, None, "", repaired, notes, tuple(table.columns))
    elif path.is_file() and text_like:
        most_bytes = _LOOK_BYTES if look else 0
        for text in read_blocks(path, progress, cancelled, None if look else _chooser(given), most_bytes, most_rows):
            comma = () if text.format.decimal == "." else ("numbers are written with a decimal comma.",)
            table, made = compose(text.table)
            names = tuple(dict.fromkeys((*text.format.names, *table.columns)))
            headed = bool(text.format.header)
            yield LogTable(path.stem, table, None, "", text.repaired, (*comma, *made), names, headed)
    else:
        yield _from_map(path, crs, progress, cancelled)


def _chooser(given: Given | None) -> Callable[[pd.DataFrame], list[str]]:
    def choose(first: pd.DataFrame) -> list[str]:
        composed, _ = compose(first)
        # What a log packs into one column or spreads over several is told by its values: all are kept then.
        if len(composed.columns) > len(first.columns):
            return list(first.columns)
        return wanted_columns(first, given(list(first.columns)) if given is not None else ())

    return choose


def _from_map(
    path: Path, crs: Any, progress: Callable[[int, int], None] | None, cancelled: Callable[[], bool] | None
) -> LogTable:
    sources = [s for s in list_sources(path) if "Point" in s.geometry_type or s.geometry_type == "Unknown"]
    if not sources:
        raise FileError("it holds no points", str(path), "Name a log: points or a text table")
    if cancelled is not None and cancelled():
        raise Stopped
    source = max(sources, key=lambda s: s.features)
    if source.features == 0:
        raise FileError("it holds no points", str(path), "Copy the log again")
    table = _points(source)
    known_crs, known = source_crs(
        source,
        crs,
        lambda: (table[POINT_X].min(), table[POINT_Y].min(), table[POINT_X].max(), table[POINT_Y].max()),
    )
    if progress is not None:
        progress(1, 1)
    left = [s.layer for s in sources if s is not source]
    notes = (f"layers not used: {', '.join(left)}.",) if left else ()
    table, made = compose(table)
    return LogTable(
        path.stem, table, known_crs, known, (), (*notes, *crs_note(known_crs, known, crs), *made),
        tuple(table.columns),
    )  # fmt: skip


def _points(source: VectorSource) -> pd.DataFrame:
    """Return fields and point coordinates as plain columns, without one geometry object a fix."""
    from pyogrio.raw import read

    # Times as text: as numbers their zone would be lost.
    meta, _, geometry, fields = read(
        source.opened, layer=source.layer, force_2d=True, encoding=source.encoding, datetime_as_string=True
    )
    table = pd.DataFrame(dict(zip(meta["fields"], fields, strict=True)))
    lengths = {len(g) for g in geometry if g is not None}
    missing = np.array([g is None for g in geometry])
    if lengths == {_WKB_POINT_BYTES} and not missing.any():
        # A point in WKB: a byte for the order, four for the type, then x and y as doubles.
        raw = np.frombuffer(b"".join(geometry), np.uint8).reshape(-1, _WKB_POINT_BYTES)
        xy = np.ascontiguousarray(raw[:, 5:]).view("<f8" if raw[0, 0] == 1 else ">f8").astype(float)
    else:
        shapes = shapely.from_wkb(geometry)
        first = shapely.get_geometry(shapes, 0)
        xy = np.column_stack([shapely.get_x(first), shapely.get_y(first)])
    table[POINT_X], table[POINT_Y] = xy[:, 0], xy[:, 1]
    return table
