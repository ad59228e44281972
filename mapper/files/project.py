"""The project file: one GeoPackage with the farm's layers, which any GIS opens, and our own tables beside them.

Opening never changes the file. Saving writes a whole new file beside it and renames; what stood before stays as .bak.
The layers of the last plan are kept for other programs to look at; the plan itself is worked out anew.
"""

import json
import math
import shutil
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pyogrio
from pyproj import CRS

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError
from mapper.farm.farm import OPTIONAL_LAYERS, Crew, Farm, Harvester, RowBurn
from mapper.farm.layers import LAYERS, empty_layer, make_layer
from mapper.farm.notices import Authority, Told
from mapper.farm.rowedit import RowEdit
from mapper.files.atomic import put_in_place, unfinished, written_whole
from mapper.files.blobs import read_table, write_table
from mapper.files.limits import days_plain, local_limits
from mapper.files.rasters import with_heights
from mapper.files.report import ImportReport
from mapper.files.weatherstore import read_weather, weather_settings, write_weather
from mapper.files.wording import wording_from, wording_tables
from mapper.plan.asked import Asked

if TYPE_CHECKING:
    from mapper.plan.burnplan import BurnPlan

VERSION = 1
FARM_LAYERS = ("paddocks", "assets", "neighbours", "breaks_there")
_PLAN_LAYERS = ("windrows", "pieces", "lighting_points", "blocks", "edges", "breaks", "buffers", "ways_out")
_PLAIN_FIELDS = ("name", "zone", "image", "elevation", "in_charge", "phone", "emergency_number", "invented")
_TABLES = """
CREATE TABLE mapper_version (version INTEGER NOT NULL);
CREATE TABLE mapper_setting (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE mapper_column (
    id INTEGER PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, place INTEGER NOT NULL, column_name TEXT NOT NULL,
    dtype TEXT NOT NULL, chunk INTEGER NOT NULL, data BLOB NOT NULL);
INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES
    ('mapper_version', 'attributes', 'mapper_version'), ('mapper_setting', 'attributes', 'mapper_setting'),
    ('mapper_column', 'attributes', 'mapper_column');
"""


def save_project(farm: Farm, path: Path, plan: "BurnPlan | None" = None, nights: Iterable[Asked] = ()) -> None:
    """Save a farm, what was asked of its nights, and the layers of its plan, whole or not at all. Raises FileError."""
    with written_whole(path) as half:
        for name in (*FARM_LAYERS, *(n for n in OPTIONAL_LAYERS if getattr(farm, n) is not None)):
            _write_layer(getattr(farm, name), half, name)
        for name in _PLAN_LAYERS if plan is not None else ():
            _write_layer(getattr(plan, name), half, f"plan_{name}")
        with closing(sqlite3.connect(half)) as db:
            # The mode is stored in the file, and a file left in WAL cannot be opened from a read-only folder.
            db.execute("PRAGMA journal_mode=DELETE")
            db.executescript(_TABLES)
            db.execute("INSERT INTO mapper_version VALUES (?)", (VERSION,))
            db.executemany("INSERT INTO mapper_setting VALUES (?, ?)", _settings(farm, path.parent))
            asked = json.dumps([a.as_plain() for a in nights], ensure_ascii=False)
            db.execute("INSERT INTO mapper_setting VALUES ('nights', ?)", (asked,))
            for name, track in farm.tracks.items():
                write_table(db, "track", name, track)
            write_weather(db, farm)
            db.commit()
        if path.exists():
            _keep_old(path)


def open_project(path: Path) -> tuple[Farm, ImportReport]:
    """Return the farm of a project file and what is to be said about it. The file is not changed. Raises FileError."""
    with _reading(path) as db:
        _check_version(db, path)
        settings = {key: json.loads(value) for key, value in db.execute("SELECT key, value FROM mapper_setting")}
        tracks = {n: read_table(db, "track", n) for (n,) in _names(db, "track")}
        weather = read_weather(db, settings)
        there = {name for (name,) in db.execute("SELECT table_name FROM gpkg_contents")}
    grid = Grid(CRS.from_user_input(settings["crs"]))
    layers = {
        name: _read_layer(path, name, grid) for name in (*FARM_LAYERS, *(n for n in OPTIONAL_LAYERS if n in there))
    }
    limits = local_limits(settings["limits"], settings)
    plain = {k: settings[k] for k in _PLAIN_FIELDS}
    notes = []
    for raster in ("image", "elevation"):
        if plain[raster]:
            plain[raster] = str((path.parent / plain[raster]).resolve())
            if not Path(plain[raster]).exists():
                notes.append(f"The {raster} {plain[raster]} is no longer there; the map goes without it.")
                plain[raster] = ""
    if unfinished(path).exists():
        notes.append(
            "A save was cut short. This is the farm as it was saved before; the half-written file is left out."
        )
    farm = Farm(
        grid=grid,
        **layers,
        limits=limits,
        harvesters=tuple(Harvester(**h) for h in settings["harvesters"]),
        crews=tuple(Crew(**c) for c in settings["crews"]),
        row_burn=RowBurn(**settings["row_burn"]),
        row_edits=tuple(RowEdit.from_plain(e) for e in settings.get("row_edits", ())),
        authorities=tuple(
            Authority(**{k: v for k, v in a.items() if v is not None}) for a in settings.get("authorities", ())
        ),
        told=tuple(Told.from_plain(t) for t in settings.get("told", ())),
        tracks=tracks,
        **weather,
        wording=wording_from(settings.get("wording", {})),
        **plain,
    )
    report = ImportReport(path.name, "paddocks", len(farm.paddocks), grid.name, "file", notes=tuple(notes))
    return with_heights(farm), report


def read_nights(path: Path) -> tuple[Asked, ...]:
    """Return what a project file keeps of its nights: bans looked up, changes typed in, wishes. Raises FileError."""
    with _reading(path) as db:
        _check_version(db, path)
        found = db.execute("SELECT value FROM mapper_setting WHERE key = 'nights'").fetchone()
    return tuple(Asked.from_plain(plain) for plain in json.loads(found[0])) if found is not None else ()


def is_project(path: Path) -> bool:
    """Return True where a file is a project of this program (of any version)."""
    try:
        with _reading(path) as db:
            return bool(list(db.execute("SELECT 1 FROM sqlite_master WHERE name = 'mapper_version'")))
    except FileError:
        return False


def _write_layer(layer: gpd.GeoDataFrame, path: Path, name: str) -> None:
    kind = "Unknown" if layer.empty or layer.geom_type.nunique() > 1 else None
    # Without an index other programs can edit the layer with plain SQLite.
    options = {"SPATIAL_INDEX": "NO"}
    pyogrio.write_dataframe(layer, path, layer=name, driver="GPKG", geometry_type=kind, layer_options=options)


def _read_layer(path: Path, name: str, grid: Grid) -> gpd.GeoDataFrame:
    read = pyogrio.read_dataframe(path, layer=name)
    if read.empty:
        return empty_layer(name, grid.crs)
    return make_layer(name, {c: read[c] for c in LAYERS[name].columns if c in read}, read.geometry.array, grid.crs)


def _settings(farm: Farm, folder: Path) -> Iterator[tuple[str, str]]:
    values: dict[str, Any] = {k: getattr(farm, k) for k in _PLAIN_FIELDS}
    for raster in ("image", "elevation"):
        values[raster] = _beside(values[raster], folder)
    values["crs"] = farm.grid.crs.to_wkt()
    values["limits"] = [asdict(v) for v in farm.limits.limits.values()]
    values |= days_plain(farm.limits)
    values["harvesters"] = [asdict(h) for h in farm.harvesters]
    values["crews"] = [asdict(c) for c in farm.crews]
    values["row_burn"] = asdict(farm.row_burn)
    values |= weather_settings(farm)
    values["wording"] = wording_tables(farm.wording)
    values["row_edits"] = [e.as_plain() for e in farm.row_edits]
    values["authorities"] = [
        {k: None if isinstance(v, float) and math.isnan(v) else v for k, v in asdict(a).items()}
        for a in farm.authorities
    ]
    values["told"] = [t.as_plain() for t in farm.told]
    return ((k, json.dumps(v, ensure_ascii=False)) for k, v in values.items())


def _beside(path: str, folder: Path) -> str:
    """A path as seen from the project's folder, so that the folder can move; as it is where that cannot be said."""
    if not path:
        return ""
    try:
        return str(Path(path).resolve().relative_to(folder.resolve()))
    except ValueError:
        return str(Path(path).resolve())


def _keep_old(path: Path) -> None:
    copy = path.with_name(f".{path.name}.bak.unfinished")
    shutil.copyfile(path, copy)
    put_in_place(copy, path.with_name(f"{path.name}.bak"))


@contextmanager
def _reading(path: Path) -> Iterator[sqlite3.Connection]:
    if not path.is_file():
        raise FileError("there is no such file", str(path), "Check the name and the folder")
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as db:
            yield db
    except sqlite3.DatabaseError as exc:
        older = path.with_name(f"{path.name}.bak")
        todo = f"The save before it is {older.name}: rename it and open that" if older.exists() else "Open a copy of it"
        raise FileError(f"the project file is damaged ({exc})", str(path), todo) from exc


def _check_version(db: sqlite3.Connection, path: Path) -> None:
    if not list(db.execute("SELECT 1 FROM sqlite_master WHERE name = 'mapper_version'")):
        raise FileError("it is no project of this program", str(path), "Open it as a boundary file instead")
    (version,) = db.execute("SELECT max(version) FROM mapper_version").fetchone()
    if version is None or version > VERSION:
        raise FileError(
            f"it was saved by a newer version of this program (file {version}, this program {VERSION})",
            str(path),
            "Open it with that version; nothing was changed",
        )


def _names(db: sqlite3.Connection, kind: str) -> Iterator[tuple[str]]:
    return iter(
        db.execute("SELECT name FROM mapper_column WHERE kind = ? GROUP BY name ORDER BY min(id)", (kind,)).fetchall()
    )
