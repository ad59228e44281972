"""Bringing files in: which kind a file is, and the work that reads it and makes the changed farm."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from mapper.farm.errors import FileError

if TYPE_CHECKING:
    from datetime import datetime

    from mapper.farm.farm import Farm
    from mapper.files.report import ImportReport
    from mapper.plan.asked import Asked

Progress = Callable[[int, int], None]
Cancelled = Callable[[], bool]
VECTORS = "Boundaries and other shapes (*.gpkg *.shp *.geojson *.json *.kml *.kmz *.zip *.fgb);;All files (*)"
TABLES = "Tables (*.csv *.txt *.tsv);;All files (*)"
RASTERS = "Georeferenced pictures (*.tif *.tiff *.vrt *.jp2);;All files (*)"
FARMS = "Farms (*.gpkg *.toml);;All files (*)"


class Brought(NamedTuple):
    """What bringing in made: the changed farm, its name in the history, the accounts of what was read.

    shown: the accounts were shown and agreed to before.
    """

    farm: "Farm"
    name: str
    reports: "tuple[ImportReport, ...]"
    path: str = ""
    nights: "tuple[Asked, ...]" = ()
    shown: bool = False


def kind_of(path: str) -> str:
    """Return what a dropped file is taken for: farm, vectors, raster, table or "" for none of them."""
    from mapper.files.forecast import is_forecast
    from mapper.files.project import is_project

    suffix = Path(path).suffix.lower()
    if suffix == ".toml" or (suffix == ".gpkg" and is_project(Path(path))):
        return "farm"
    grid = suffix in {".nc", ".nc4", ".grb", ".grb2", ".grib", ".grib2"}
    if (grid or suffix == ".json") and is_forecast(path):
        return "forecast"
    if suffix in {".gpkg", ".shp", ".geojson", ".json", ".kml", ".kmz", ".zip", ".fgb"}:
        return "vectors"
    if suffix in {".tif", ".tiff", ".vrt", ".jp2"}:
        return "raster"
    if suffix in {".csv", ".txt", ".tsv"}:
        return "forecast" if _looks_like_forecast(path) else "log"
    return "taskdata" if Path(path).is_dir() or suffix == ".xml" else ""


def _looks_like_forecast(path: str) -> bool:
    with open(path, "rb") as file:
        head = file.read(4000).decode("utf-8", "replace").splitlines()[:1]
    words = head[0].lower() if head else ""
    return sum(w in words for w in ("rh", "humid", "gust", "temp", "wind", "cloud", "rain")) >= 3


def open_farm(path: str) -> Callable[[Progress, Cancelled], Brought]:
    """Return work that opens a project file or a farm.toml."""

    def work(progress: Progress, cancelled: Cancelled) -> Brought:
        from mapper.files.farmtoml import read_farm
        from mapper.files.project import read_nights

        farm, reports = read_farm(path, progress, cancelled)
        if not path.endswith(".gpkg"):
            return Brought(farm, "", tuple(reports))
        return Brought(farm, "", tuple(reports), path, read_nights(Path(path)))

    return work


def open_vectors(
    path: str, kind: str, farm: "Farm | None", crs: Any = None
) -> Callable[[Progress, Cancelled], Brought]:
    """Return work that reads a layer ("paddocks", "assets", "neighbours", "breaks_there") into the farm.

    Without a farm a new one is made on the grid and in the time zone of the place.
    """

    def work(progress: Progress, cancelled: Cancelled) -> Brought:
        import pandas as pd

        from mapper.files.vectors import read_layer

        layer, report = read_layer(path, kind, None if farm is None else farm.grid, crs)
        base = farm if farm is not None else _farm_round(layer)
        old = getattr(base, kind)
        key = {"paddocks": "paddock", "assets": "asset", "neighbours": "neighbour"}.get(kind)
        new = layer
        if key is not None and old is not None and len(old):
            twice = new[key].isin(old[key])
            if twice.any():
                report = report.with_(
                    refused=(*report.refused, f"{int(twice.sum())} that the farm has already, by name: "
                             f"{', '.join(map(str, new.loc[twice, key][:5]))}")
                )  # fmt: skip
                new = new[~twice]
        if not len(new):
            raise FileError("it brings nothing new", Path(path).name, "; ".join(report.refused) or "Open another file")
        joined = new if old is None or old.empty else pd.concat([old, new], ignore_index=True)
        return Brought(base.with_(**{kind: joined}), f"Bring in {Path(path).name}", (report,))

    return work


def _farm_round(layer: Any) -> "Farm":
    from dataclasses import replace

    from mapper.farm.crs import Grid
    from mapper.farm.farm import empty_farm
    from mapper.files.limits import starting_limits
    from mapper.files.zone import zone_at

    grid = Grid(layer.crs)
    x0, y0, x1, y1 = layer.total_bounds
    lon, lat = grid.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2)
    return replace(empty_farm(grid, zone_at(float(lon), float(lat))), limits=starting_limits())


def open_forecast(path: str, farm: "Farm", now: "datetime") -> Callable[[Progress, Cancelled], Brought]:
    """Return work that reads a forecast into the farm beside those it has, and uses it; now is UTC."""

    def work(progress: Progress, cancelled: Cancelled) -> Brought:
        from mapper.files.forecast import read_issue
        from mapper.window.evening import middle

        issue, report = read_issue(path, farm.grid, middle(farm), farm.zone, read_at=now)
        return Brought(farm.with_issue(issue), f"Bring in {Path(path).name}", (report,))

    return work


def open_raster(path: str, kind: str, farm: "Farm") -> Callable[[Progress, Cancelled], Brought]:
    """Return work that takes a picture ("image") or an "elevation" model into the farm."""

    def work(progress: Progress, cancelled: Cancelled) -> Brought:
        from mapper.files.rasters import describe, with_heights

        found = describe(path)
        brought = farm.with_(**{kind: path})
        brought = with_heights(brought) if kind == "elevation" else brought
        return Brought(brought, f"Bring in {Path(path).name}", (found.report(),))

    return work


def open_tracks(
    paths: list[str], farm: "Farm", columns: Any = None, crs: Any = None
) -> Callable[[Progress, Cancelled], Brought]:
    """Return work that reads harvester logs into the farm, with the columns as put right by hand."""

    def work(progress: Progress, cancelled: Cancelled) -> Brought:
        from mapper.farm.farm import Harvester
        from mapper.files.tracks import read_tracks

        track, report = read_tracks(paths, farm.grid, columns, crs, farm.zone, progress, cancelled)
        tracks, known = dict(farm.tracks), {h.machine for h in farm.harvesters}
        machines = list(farm.harvesters)
        told = {m.machine: m for m in report.machines}  # task data describes its machines itself
        for machine, some in track.groupby("machine", sort=False):
            tracks[str(machine)] = some.reset_index(drop=True)
            if str(machine) not in known:
                width = float(some["width_m"].median())
                guessed = Harvester(str(machine), width if 1 <= width <= 60 else 12.0)
                machines.append(told.get(str(machine), guessed))
        names = ", ".join(Path(p).name for p in paths)
        return Brought(farm.with_(tracks=tracks, harvesters=tuple(machines)), f"Bring in {names}", (report,))

    return work


def save_farm(farm: "Farm", path: str, plan: Any, nights: "tuple[Asked, ...]") -> Callable[[Progress, Cancelled], str]:
    """Return work that saves the farm as a project file."""

    def work(progress: Progress, cancelled: Cancelled) -> str:
        from mapper.files.project import save_project

        save_project(farm, Path(path), plan, nights)
        return path

    return work
