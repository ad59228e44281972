"""What files hold, as an import would see it, with nothing changed."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import SettingError
from mapper.files.forecast import read_forecast
from mapper.files.rasters import describe
from mapper.files.tracks import guess_columns, read_tracks, write_columns
from mapper.files.vectors import read_layer
from mapper.files.zone import zone_at


def look_at(
    files: Sequence[Path],
    kind: str,
    *,
    crs: Any = None,
    at: tuple[float, float] | None = None,
    zone: str | None = None,
    columns_out: Path | None = None,
    remembered: Path | None = None,
) -> Iterator[str]:
    """Give the report of each file as lines of text.

    kind: a farm layer's name, "log", "forecast" or "raster". at: longitude, latitude of a forecast.
    columns_out: for a log, where its guessed columns are written. remembered: folder of columns put right before.
    Raises MapperError of the file that cannot be read.
    """
    if columns_out is not None:
        if kind != "log" or len(files) != 1:
            raise SettingError("the columns of one log can be written", "--columns-out", "Give --as log and one file")
        write_columns(guess_columns(files[0], crs, remembered), columns_out)
    for file in files:
        if kind == "log":
            _, report = read_tracks(file, None, crs=crs, zone=zone or "", remembered=remembered)
        elif kind == "raster":
            report = describe(file).report()
        elif kind == "forecast":
            if at is None:
                raise SettingError("a forecast is for a place", "--at", "Give longitude,latitude: --at 141.6,-36.2")
            _, report = read_forecast(file, Grid(metric_crs(*at)), at, zone or zone_at(*at))
        else:
            _, report = read_layer(file, kind, None, crs=crs)
        yield from report.lines()
    if columns_out is not None:
        yield f"Columns written to {columns_out}."
