"""The beginning of a log as an import would take it: what each column is, its values, what was amiss; nothing kept."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd

from mapper.farm.errors import CrsError
from mapper.files.columns import ColumnMap
from mapper.files.guess import samples_of
from mapper.files.logfiles import Logs
from mapper.files.logtable import POINT_X, POINT_Y, read_log_table
from mapper.files.onelog import guess_names, read_log
from mapper.files.remembered import recall, remember
from mapper.files.report import ImportReport
from mapper.files.taskxml import is_taskdata

_SHOWN = 5


@dataclass(frozen=True)
class LogPreview:
    """What a look at a log shows.

    columns: as they are taken, each with unit, how sure and why. names: all columns of the file, in its order.
    samples: different values of every column. report: of the part read (track, faults, notes), None where the grid of
    its metres is not known yet. track: that part (farm/tracks.py), None likewise. remembered: the columns are those
    that somebody put right before. headed: the file names its columns itself.
    """

    columns: ColumnMap
    names: tuple[str, ...]
    samples: dict[str, tuple[str, ...]]
    report: ImportReport | None
    track: pd.DataFrame | None
    remembered: bool
    headed: bool

    def faults(self) -> list[str]:
        """Return what was amiss in the part read, and what was decided that no column line says."""
        if self.report is None:
            return ["it holds metres of a grid that nobody has named yet."]
        said = set(self.columns.lines())
        return [*self.report.repaired, *self.report.refused, *(n for n in self.report.notes if n not in said)]

    def keep(self, columns: ColumnMap, folder: Path) -> Path | None:
        """Keep a mapping put right for logs with these columns; None where the log names none to know them by."""
        return remember(columns, self.names, folder) if self.headed else None


def look_at_log(path: Path | str, crs: Any = None, zone: str = "", remembered: Path | None = None) -> LogPreview:
    """Return what the beginning of a log (some 100 000 fixes) holds and how it would be taken.

    crs: of metres, where the log does not say; while nobody has said it, names alone tell the columns. zone: of times
    that name none. remembered: folder of mappings put right before. Raises FileError or SettingError as reading would.
    """
    with Logs([Path(path)]) as logs:
        log = read_log_table(logs.files[0], crs, look=True)
    kept = recall(log.names, remembered) if log.headed else None
    names = tuple(n for n in log.names if n not in (POINT_X, POINT_Y))
    samples = {n: samples_of(log.table[n].head(2000), _SHOWN) for n in names if n in log.table}
    try:
        read = read_log(log, kept, crs, None, zone, str(path))
    except CrsError:
        columns = kept or guess_names(log)
        used = {e.column for e in columns.entries}
        columns = replace(columns, unused=tuple(n for n in names if n not in used))
        return LogPreview(columns, names, samples, None, None, kept is not None, log.headed)
    return LogPreview(read.columns, names, samples, read.report, read.track, kept is not None, log.headed)


def keep_columns(columns: ColumnMap, path: Path | str, folder: Path) -> Path | None:
    """Keep a mapping that somebody put right for logs with the columns of this one; None where it names none itself.

    Task data says itself what its values are: nothing is kept.
    """
    if is_taskdata(path):
        return None
    with Logs([Path(path)]) as logs:
        log = read_log_table(logs.files[0], columns.crs or None, look=True)
    return remember(columns, log.names, folder) if log.headed else None
