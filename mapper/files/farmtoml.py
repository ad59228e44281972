"""A farm from its farm.toml, which names the files, or from a project file."""

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import CrsError, SettingError
from mapper.farm.farm import OPTIONAL_LAYERS, Crew, Farm, Harvester, RowBurn
from mapper.farm.issues import ForecastIssue
from mapper.farm.layers import empty_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.notices import Authority
from mapper.farm.wording import Wording
from mapper.files.columns import ColumnMap, columns_from, read_columns
from mapper.files.container import given_crs
from mapper.files.forecast import read_issue
from mapper.files.forecasttime import one_time
from mapper.files.limits import limits_from, read_limits, starting_limits
from mapper.files.rasters import with_heights
from mapper.files.readings import read_readings
from mapper.files.report import ImportReport
from mapper.files.toml import read_toml
from mapper.files.tracks import read_tracks
from mapper.files.vectors import join_layers, read_layer
from mapper.files.wording import FILE_NAME, read_wording
from mapper.files.zone import zone_at
from mapper.weather.forecast import filled_between

_TEXTS = ("name", "zone", "in_charge", "phone", "emergency_number")
_LAYERS = {"boundaries": "paddocks", "assets": "assets", "neighbours": "neighbours", "breaks": "breaks_there",
           "rows_seen": "rows_seen", "rows_before": "rows_before"}  # fmt: skip
_KEYS = {*_TEXTS, *_LAYERS, "crs", "invented", "logs", "columns", "harvesters", "crews", "authorities", "row_burn",
         "forecast", "forecast_columns", "fill_between_h", "readings", "last_soak", "limits", "image", "elevation",
         "wording"}  # fmt: skip


def read_farm(
    path: Path | str,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Farm, tuple[ImportReport, ...]]:
    """Return a farm and the report of every file read for it.

    path: a farm.toml (paths in it are relative to it) or a project (.gpkg). Raises FileError, CrsError or SettingError
    naming the file and key; Stopped on cancel.
    """
    path = Path(path)
    if path.suffix.lower() == ".gpkg":
        from mapper.files.project import open_project

        farm, report = open_project(path)
        return farm, (report,)
    tables = read_toml(path / "farm.toml" if path.is_dir() else path)
    home = path if path.is_dir() else path.parent
    unknown = sorted(set(tables) - _KEYS)
    reader = _Reader(tables, home, path)
    for key in unknown:
        reader.say("farm", f"{key!r} says nothing here and was left out. The keys are {', '.join(sorted(_KEYS))}.")
    grid = reader.layers()
    settings: dict[str, Any] = {k: str(tables[k]) for k in _TEXTS if k in tables}
    lon, lat = reader.place(grid)
    if not settings.get("zone"):
        settings["zone"] = zone_at(lon, lat)
        reader.say("farm", f"no zone is named; {settings['zone']} was taken from the farm's position.")
    settings.setdefault("name", path.stem if path.stem != "farm" else path.resolve().parent.name)
    farm = Farm(
        grid=grid,
        **settings,
        **reader.found,
        limits=reader.limits(),
        harvesters=reader.many("harvesters", Harvester),
        crews=reader.many("crews", Crew),
        authorities=reader.many("authorities", Authority),
        row_burn=reader.one("row_burn", RowBurn),
        tracks=reader.tracks(grid, settings["zone"], progress, cancelled),
        **reader.weather(grid, (lon, lat), settings["zone"]),
        wording=reader.wording(),
        image=reader.raster("image"),
        elevation=reader.raster("elevation"),
        invented=bool(tables.get("invented", False)),
    )
    return with_heights(farm), tuple(reader.reports)


class _Reader:
    """Reads the files that a farm.toml names, and keeps their reports."""

    def __init__(self, tables: Mapping[str, Any], home: Path, path: Path) -> None:
        self.tables, self.home, self.path = tables, home, path
        self.reports: list[ImportReport] = []
        self.found: dict[str, Any] = {}

    def wording(self) -> dict[str, Wording]:
        """Return the farm's own texts for paper: of the file named, else of wording.toml in the folder."""
        named = self.tables.get("wording")
        path = self.home / str(named or FILE_NAME)
        return read_wording(path) if named or path.exists() else {}

    def say(self, what: str, note: str) -> None:
        """Add a report that holds only a note."""
        self.reports.append(ImportReport(self.path.name, what, 1, notes=(note,)))

    def files(self, key: str) -> list[Path]:
        """Return the files a key names: a text or a list of texts."""
        value = self.tables.get(key, [])
        names = [value] if isinstance(value, str) else value
        if not isinstance(names, list) or not all(isinstance(n, str) for n in names):
            raise SettingError(f"{key} names no file", str(self.path), f'Write {key} = "file" or a list of files')
        return [self.home / n for n in names if n]

    def layers(self) -> Grid:
        """Read the map files; the grid is the one named, or that of the place."""
        try:
            crs = given_crs(self.tables.get("crs"))
        except CrsError as exc:
            raise CrsError(exc.what, f"{self.path}, crs", exc.todo) from exc
        grid = Grid(crs) if crs is not None and crs.is_projected else None
        for key, name in _LAYERS.items():
            parts = []
            for file in self.files(key):
                layer, report = read_layer(file, name, grid, crs=crs)
                grid = grid or Grid(layer.crs)
                parts.append(layer)
                self.reports.append(report)
            if parts:
                self.found[name], renamed = join_layers(name, parts)
                if renamed:
                    files = ", ".join(f.name for f in self.files(key))
                    count = len(self.found[name])
                    self.reports.append(ImportReport(files, name.replace("_", " "), count, repaired=renamed))
        if grid is None:
            raise SettingError("it names no boundaries and no crs", str(self.path), 'Write boundaries = "file"')
        for name in _LAYERS.values():
            if name not in OPTIONAL_LAYERS:
                self.found.setdefault(name, empty_layer(name, grid.crs))
        return grid

    def place(self, grid: Grid) -> tuple[float, float]:
        """Return longitude, latitude of the middle of the first layer that holds something."""
        for name in _LAYERS.values():
            if name in self.found and len(self.found[name]):
                x0, y0, x1, y1 = self.found[name].total_bounds
                lon, lat = grid.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2)
                return float(lon), float(lat)
        area = grid.crs.area_of_use
        if area is None:
            raise SettingError("it names no boundaries", str(self.path), 'Write boundaries = "file"')
        return (area.west + area.east) / 2, (area.south + area.north) / 2

    def many(self, key: str, kind: Any) -> tuple[Any, ...]:
        """Return the settings of [[key]] tables, or of a TOML file that holds them."""
        value = self.tables.get(key, [])
        where = self.path
        if isinstance(value, str):
            where = self.home / value
            value = read_toml(where).get(key, [])
        if isinstance(value, Mapping):
            value = [value]
        if not isinstance(value, list):
            raise SettingError(f"{key} is no list of tables", str(where), f"Write [[{key}]]")
        return tuple(_made(kind, table, key, where) for table in value)

    def one(self, key: str, kind: Any) -> Any:
        """Return the settings of one table, or their starting values."""
        return _made(kind, self.tables.get(key, {}), key, self.path)

    def limits(self) -> LocalLimits:
        """Return the local limits named or written here; the program's starting limits where there are none."""
        value = self.tables.get("limits")
        if isinstance(value, Mapping):
            return limits_from(value)
        named = self.files("limits")
        if named:
            return read_limits(named[0])
        self.say("limits", "no limits are named; the program's starting limits are used: set your own.")
        return starting_limits()

    def _columns(self, key: str) -> ColumnMap | None:
        value = self.tables.get(key)
        if value is None:
            return None
        return read_columns(self.home / value) if isinstance(value, str) else columns_from(dict(value))

    def tracks(
        self,
        grid: Grid,
        zone: str,
        progress: Callable[[int, int], None] | None,
        cancelled: Callable[[], bool] | None,
    ) -> dict[str, pd.DataFrame]:
        """Return the logs by file name, their grid and columns as named here."""
        out: dict[str, pd.DataFrame] = {}
        columns = self._columns("columns")
        files = self.files("logs")
        for i, file in enumerate(files):

            def advanced(done: int, total: int, i: int = i) -> None:
                if progress is not None:
                    progress(i * 1000 + 1000 * done // max(total, 1), 1000 * len(files))

            track, report = read_tracks(file, grid, columns, None, zone, advanced, cancelled)
            self.reports.append(report)
            name = file.name if file.stem in out else file.stem
            out[name] = track
        return _named_as_harvesters(out, self.many("harvesters", Harvester))

    def weather(self, grid: Grid, lonlat: tuple[float, float], zone: str) -> dict[str, Any]:
        """Return the farm's fields of weather: every forecast named is an issue; the one issued last is used.

        Where not all say when they were issued, the one named last is used.
        """
        columns = self._columns("forecast_columns")
        issues = []
        for file in self.files("forecast"):
            issue, report = read_issue(file, grid, lonlat, zone, columns)
            self.reports.append(report)
            issues.append(self._between(issue))
        found: dict[str, Any] = {"forecasts": tuple(issues)}
        if issues:
            known = [i.issued_at for i in issues if i.issued_at is not None]
            last = known.index(max(known)) if len(known) == len(issues) else -1
            found["forecast"] = issues[last].table
            if len(issues) > 1:
                self.say("hours", f"of {len(issues)} forecasts {issues[last].words(zone)} is used.")
        for file in self.files("readings")[:1]:
            found["readings"], report = read_readings(file, grid, lonlat, zone)
            self.reports.append(report)
        if "last_soak" in self.tables:
            found["last_soak"] = one_time(self.tables["last_soak"], zone)
            if found["last_soak"] is None:
                raise SettingError("last_soak is no day or time", str(self.path), "Write last_soak = 2026-03-28")
        return found

    def _between(self, issue: ForecastIssue) -> ForecastIssue:
        """Return an issue with the hours between its lines filled in, where fill_between_h asks for it; and say so."""
        most_h = self.tables.get("fill_between_h", 0)
        if not isinstance(most_h, int | float) or not 0 <= most_h <= 6:
            raise SettingError("fill_between_h is no number of hours", str(self.path), "Write 3, or 6 at the most")
        table, count = filled_between(issue.table, float(most_h))
        if not count:
            return issue
        self.say("hours", f"{count} hours between the lines of {issue.source} were filled in, as fill_between_h asks.")
        return replace(issue, source=f"{issue.source}, {count} hours between filled in", table=table)

    def raster(self, key: str) -> str:
        """Return the path of a raster that can be opened, "" where none is named."""
        named = self.files(key)
        if not named:
            return ""
        from mapper.files.rasters import describe

        raster = describe(named[0])
        self.reports.append(raster.report())
        return str(named[0].resolve())


def _made(kind: Any, table: Any, key: str, where: Path) -> Any:
    """Return a settings dataclass from a table. Raises SettingError naming file and key."""
    if not isinstance(table, Mapping):
        raise SettingError(f"{key} is no table", str(where), f"Write [{key}]")
    known = {f.name: f for f in fields(kind)}
    unknown = sorted(set(table) - set(known))
    if unknown:
        raise SettingError(f"{unknown[0]!r} says nothing in {key}", str(where), f"It can hold {', '.join(known)}")
    try:
        return kind(**{k: float(v) if known[k].type in (float, "float") else v for k, v in table.items()})
    except SettingError as exc:
        raise SettingError(exc.what, f"{where}, {exc.where}", exc.todo) from exc
    except (TypeError, ValueError) as exc:
        raise SettingError(f"{key} cannot be used ({exc})", str(where), "Correct it") from exc


def _named_as_harvesters(tracks: dict[str, pd.DataFrame], harvesters: tuple[Harvester, ...]) -> dict[str, pd.DataFrame]:
    """Give a log's machine the name its settings stand under: by name, by file name, or as the only pair."""
    known = {h.machine for h in harvesters}
    for name, track in tracks.items():
        machines = set(track["machine"].unique())
        if machines <= known or not known:
            continue
        alike = [k for k in known if k.casefold() in (name.casefold(), *(str(m).casefold() for m in machines))]
        only = list(known) if len(known) == 1 and len(tracks) == 1 else []
        if len(machines) == 1 and (alike or only):
            tracks[name] = track.assign(machine=pd.Series((alike or only)[0], index=track.index, dtype=object))
    return tracks
