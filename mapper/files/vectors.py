"""Map files into the farm's layers: paddocks, assets, neighbours, breaks that are there; windrows made before."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.assets import ASSET_KINDS, ASSET_WORDS
from mapper.farm.crs import Grid
from mapper.farm.errors import FileError
from mapper.farm.layers import ANY, AREA, LAYERS, LINE, NUMBER, TIME, WHOLE, check_layer, make_layer
from mapper.files.container import VectorSource, crs_note, list_sources, source_crs
from mapper.files.names import find_column, plain
from mapper.files.partfields import read_partfields
from mapper.files.report import ImportReport, ImportResult
from mapper.files.shapes import Mended, areas_of, close_lines, drop_empty, make_valid, to_grid, unswap
from mapper.files.taskxml import is_taskdata

_WORDS = {"breaks_there": "breaks", "rows_seen": "observed rows", "rows_before": "last season's rows"}
# Layer names under which other programs keep a kind, when a file holds several layers.
_LAYER_NAMES: dict[str, tuple[str, ...]] = {
    "paddocks": ("paddocks", "paddock", "boundaries", "boundary", "fields", "field", "partfields"),
    "assets": ("assets", "asset", "hazards", "features"),
    "neighbours": ("neighbours", "neighbour", "neighbors", "neighbor", "parcels", "properties"),
    "breaks_there": ("breaks_there", "breaks", "firebreaks", "fire breaks"),
    "rows_before": ("rows_before", "windrows", "plan_windrows", "rows"),
}
# Two shapes of one name that differ by less than this share of their area are one.
_SAME_SHARE = 0.01
_NUMBERED = ("id", "fid", "gid", "objectid", "no", "number", "nr")
_SYNONYMS: dict[str, tuple[str, ...]] = {
    "paddock": ("paddock name", "pad name", "padname", "field", "field name", "fieldname", "block", "name", "label",
                "title", "management zone", "paddock id", "field id", "descriptio", *_NUMBERED),
    "neighbour": ("neighbor", "owner", "occupier", "holder", "name", "title", "parcel", "lot", "label", *_NUMBERED),
    "asset": ("asset id", "code", *_NUMBERED),
    "kind": ("type", "class", "category", "asset type", "feature", "what", "use", "landuse", "building", "highway"),
    "name": ("title", "label", "full name", "owner", "description", "descriptio"),
    "phone": ("mobile", "telephone", "tel", "phone no", "contact"),
    "crop": ("crop type", "croptype", "product", "cultivar crop", "variety crop"),
    "yield_t_ha": ("yield", "yield t", "yld"),
    "cut_height_m": ("cut height", "cutting height", "cut hgt m", "stubble height"),
    "header_width_m": ("header width", "swath width", "header m", "header"),
    "row_heading_deg": ("row heading", "row head", "heading", "direction"),
    "headland_laps": ("headland laps", "laps", "headlands"),
    "stubble_t_ha": ("stubble", "stub t ha"),
    "curing_pct": ("curing",),
    "width_m": ("width", "break width", "breadth"),
    "water_l": ("water", "litres", "capacity", "volume l"),
    "note": ("notes", "remark", "remarks", "comment", "comments", "description", "descriptio"),
    "made_by": ("method", "made how", "how"),
}  # fmt: skip


def read_layer(path: Path | str, kind: str, grid: Grid | None, crs: Any = None) -> ImportResult:
    """Read one map file into a farm layer.

    Parameters
    ----------
    path : GeoPackage, Shapefile, GeoJSON, KML, FlatGeobuf, or a zip or folder with one; ISO 11783-10 task data
        for its partfields.
    kind : "paddocks", "assets", "neighbours" or "breaks_there".
    grid : the farm's grid; None picks the metric grid of the place.
    crs : what the file's numbers are in, where the file does not say ("EPSG:7854").

    Returns the checked layer on the grid and the report. Raises FileError or CrsError; nothing is changed then.
    """
    path = Path(path)
    if kind == "paddocks" and is_taskdata(path):
        return ImportResult(*read_partfields(path, grid))
    wanted = LAYERS[kind]
    sources, skipped = _sources(path, kind)
    frames: list[gpd.GeoDataFrame] = []
    reports: list[ImportReport] = []
    for source in sources:
        frame, report, grid = _read_source(source, kind, grid, crs)
        frames.append(frame)
        reports.append(report)
    assert grid is not None
    refused = [t for r in reports for t in r.refused]
    table = pd.concat([f for f in frames if len(f)] or frames, ignore_index=True)
    if table.empty:
        why = refused[0].rstrip(".") if refused else "it holds no features"
        raise FileError(f"no {_WORDS.get(kind, kind)} could be read: {why}", str(path), "Name a file that holds them")
    notes = [t for r in reports for t in r.notes]
    repaired = [t for r in reports for t in r.repaired]
    if wanted.key:
        table[wanted.key], renamed = _unique(table[wanted.key].astype(str).tolist())
        repaired += renamed
    layer = make_layer(kind, {c: table[c] for c in wanted.columns if c in table}, table.geometry.to_numpy(), grid.crs)
    notes += [f"layer {name} not used." for name in skipped]
    ignored = tuple(dict.fromkeys(c for r in reports for c in r.ignored))
    return ImportResult(
        layer,
        ImportReport(
            str(path.name), _WORDS.get(kind, kind), len(layer), reports[0].crs, reports[0].crs_known,
            tuple(dict.fromkeys(repaired)), tuple(dict.fromkeys(refused)), ignored, tuple(dict.fromkeys(notes)),
        ),
    )  # fmt: skip


def _sources(path: Path, kind: str) -> tuple[list[VectorSource], list[str]]:
    """Return the layers to read for a kind, and the names of those left alone."""
    sources = list_sources(path)
    if len(sources) == 1:
        return sources, []
    named = [s for s in sources if plain(s.layer) in {plain(n) for n in _LAYER_NAMES.get(kind, (kind, "rows"))}]
    if named:
        chosen = named[:1]
    elif kind == "assets":
        taken = {plain(n) for k, names in _LAYER_NAMES.items() if k != "assets" for n in names}
        chosen = [s for s in sources if plain(s.layer) not in taken]
    else:
        fitting = [s for s in sources if _fits(s.geometry_type, kind)]
        if len(fitting) != 1:
            names = ", ".join(s.layer for s in sources)
            raise FileError(
                f"it holds several layers ({names}) and none is plainly the {_WORDS.get(kind, kind)}",
                str(path),
                f"Name the layer {kind} or give a file with one layer",
            )
        chosen = fitting
    return chosen, [s.layer for s in sources if s not in chosen]


def _fits(geometry_type: str, kind: str) -> bool:
    shapes = LAYERS[kind].shapes
    return geometry_type == "Unknown" or not shapes or any(s in geometry_type for s in shapes)


def _read_source(
    source: VectorSource, kind: str, grid: Grid | None, crs: Any
) -> tuple[gpd.GeoDataFrame, ImportReport, Grid]:
    import pyogrio

    if source.features == 0:
        raise FileError(f"layer {source.layer} holds no features", str(source.path), "Name a file that holds some")
    options = {"encoding": source.encoding} if source.encoding else {}
    table = pyogrio.read_dataframe(source.opened, layer=source.layer, on_invalid="ignore", **options)
    mended = Mended(table.geometry.to_numpy().copy(), np.arange(len(table)))
    drop_empty(mended)
    if len(mended.shapes) == 0:
        raise FileError("no feature has a shape", str(source.path), "Name a file that holds shapes")
    file_crs, known = source_crs(source, crs, lambda: tuple(shapely.total_bounds(mended.shapes)))
    mended.notes += crs_note(file_crs, known, crs)
    if source.encoding:
        mended.notes.append("the file names no code page; its text was read as Windows-1252.")
    unswap(mended, file_crs, grid)
    grid = to_grid(mended, file_crs, grid, str(source.path))
    _right_shape(mended, kind)
    columns = table.drop(columns=table.geometry.name)
    found, ignored = _columns(columns, kind)
    data = pd.DataFrame({c: v.iloc[mended.row].to_numpy() for c, v in found.items()}, index=range(len(mended.row)))
    if kind == "assets":
        data = _asset_kinds(data, source.layer, mended)
    key = LAYERS[kind].key
    if key:
        data[key] = _names(data.get(key), kind, data, source.path.stem)
    if kind == "neighbours" and "name" not in data:
        data["name"] = data["neighbour"]
    if kind == "breaks_there":
        unknown = int(data["width_m"].isna().sum()) if "width_m" in data else len(data)
        if unknown:
            mended.notes.append(f"{unknown} of {len(data)} breaks say no width; they count as not known.")
    data["_row"] = mended.row
    make_valid(mended, [str(n) for n in (data[key] if key else data.index)])
    data = data[data["_row"].isin(mended.row)].drop(columns="_row").reset_index(drop=True)
    frame = gpd.GeoDataFrame(data, geometry=mended.shapes, crs=grid.crs)
    if LAYERS[kind].shapes == LINE:
        frame = frame.explode(ignore_index=True)
    report = ImportReport(
        source.path.name, _WORDS.get(kind, kind), len(frame), str(file_crs.name), known,
        tuple(mended.repaired), tuple(mended.refused), ignored, tuple(mended.notes),
    )  # fmt: skip
    return frame, report, grid


def _right_shape(mended: Mended, kind: str) -> None:
    """Refuse shapes of a kind the layer does not hold, in words."""
    shapes = LAYERS[kind].shapes
    if shapes == AREA:
        close_lines(mended)
        mixed = shapely.get_type_id(mended.shapes) == 7
        if mixed.any():
            mended.shapes[mixed] = [areas_of(s) for s in mended.shapes[mixed]]
        fits = (shapely.get_dimensions(mended.shapes) == 2) & ~shapely.is_empty(mended.shapes)
        word = "an area"
    elif shapes == LINE:
        fits, word = np.isin(shapely.get_type_id(mended.shapes), (1, 5)), "a line"
    else:
        assert shapes == ANY
        single = shapely.get_num_geometries(mended.shapes) == 1
        mended.shapes = np.where(single, shapely.get_geometry(mended.shapes, 0), mended.shapes)
        return
    if (~fits).any():
        types = ", ".join(sorted({s.geom_type for s in mended.shapes[~fits]}))
        mended.refused.append(f"{int((~fits).sum())} features are not {word} ({types}).")
        mended.keep(fits)


def _columns(table: pd.DataFrame, kind: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the file's columns under the layer's names, and those that nobody wants."""
    found: dict[str, Any] = {}
    used: set[str] = set()
    for column, type_ in LAYERS[kind].columns.items():
        free = [c for c in table.columns if c not in used]
        # A name that is also the key ("name" of a neighbour) may serve both.
        name = find_column(table.columns if column == "name" else free, column, _SYNONYMS.get(column, ()))
        if name is None:
            continue
        used.add(name)
        values = table[name]
        if type_ == NUMBER:
            numbers = pd.to_numeric(values, errors="coerce").astype(float)
            if numbers.notna().any() or values.isna().all():
                found[column] = numbers
        elif values.notna().any():
            found[column] = _text(values)
    if "crop" in found:
        found["crop"] = found["crop"].str.lower()
    return found, tuple(str(c) for c in table.columns if c not in used)


def _text(values: "pd.Series[Any]") -> "pd.Series[Any]":
    if pd.api.types.is_float_dtype(values) and (values.dropna() % 1 == 0).all():
        values = values.astype("Int64")
    if isinstance(values.dtype, pd.DatetimeTZDtype) or pd.api.types.is_datetime64_dtype(values):
        values = values.dt.strftime("%Y-%m-%d %H:%M")
    return values.astype(object).where(values.notna(), "").map(lambda v: str(v).strip()).astype(object)


def _asset_kinds(data: pd.DataFrame, layer: str, mended: Mended) -> pd.DataFrame:
    """Turn the file's words for what a thing is into our kinds; features of no known kind are refused in words."""
    from_layer = _kind_of(layer)
    words = data["kind"].astype(str) if "kind" in data else pd.Series([layer] * len(data), index=data.index)
    kinds = words.map(_kind_of)
    if "name" in data:
        kinds = kinds.where(kinds != "", data["name"].map(_kind_of))
    # The layer's name tells only what the feature itself does not say.
    kinds = kinds.where((kinds != "") | ((words != "") & (words != layer)), from_layer)
    unknown = (kinds == "").to_numpy()
    if unknown.any():
        said = ", ".join(sorted({repr(w) for w in words[unknown]})[:5])
        mended.refused.append(
            f"{int(unknown.sum())} assets of a kind not known ({said}); known are {', '.join(ASSET_KINDS)}."
        )
    data["kind"] = kinds.astype(object)
    mended.keep(~unknown)
    return data[~unknown].reset_index(drop=True)


def _kind_of(word: Any) -> str:
    text = plain(str(word))
    for form in (text, text.removesuffix("s"), text.removesuffix("es")):
        if form.replace(" ", "_") in ASSET_KINDS:
            return form.replace(" ", "_")
        if form in ASSET_WORDS:
            return ASSET_WORDS[form]
    return ""


def _names(values: Any, kind: str, data: pd.DataFrame, stem: str) -> list[str]:
    """Return a name for each feature: the file's, or a made one."""
    given = [""] * len(data) if values is None else [str(v) for v in values]
    if kind == "assets":
        count: dict[str, int] = {}
        made = []
        for asset_kind in data["kind"]:
            count[asset_kind] = count.get(asset_kind, 0) + 1
            made.append(f"{asset_kind} {count[asset_kind]}")
    elif len(given) == 1:
        made = [stem]
    else:
        made = [f"{kind.removesuffix('s')} {i + 1}" for i in range(len(given))]
    return [g or m for g, m in zip(given, made, strict=True)]


def _unique(names: list[str]) -> tuple[list[str], list[str]]:
    """Number names that stand twice, and say it."""
    taken, out, said = set(names), [], []
    seen: set[str] = set()
    for name in names:
        new, n = name, 2
        while new in seen or (new != name and new in taken):
            new, n = f"{name} ({n})", n + 1
        if new != name:
            said.append(f"{name!r} stands twice; the second is called {new!r}.")
        seen.add(new)
        out.append(new)
    return out, said


def join_layers(kind: str, layers: list[gpd.GeoDataFrame]) -> tuple[gpd.GeoDataFrame, tuple[str, ...]]:
    """Return layers of several files as one, and what was done to names that stand in more than one of them.

    The same name with the same area is one thing and kept once; two areas of one name are told apart by a number.
    """
    key = LAYERS[kind].key
    whole = pd.concat([part for part in layers if len(part)] or layers[:1], ignore_index=True)
    if len(layers) == 1 or not key or not whole[key].duplicated().any():
        return whole, ()
    said: list[str] = []
    keep = np.ones(len(whole), bool)
    shapes = whole.geometry.to_numpy()
    for name in whole.loc[whole[key].duplicated(), key].unique():
        first, *others = np.flatnonzero(whole[key] == name)
        for i in others:
            differs = shapely.area(shapely.symmetric_difference(shapes[first], shapes[i]))
            alike = differs <= _SAME_SHARE * shapely.area(shapes[first]) or shapely.equals(shapes[first], shapes[i])
            if alike and shapely.get_dimensions(shapes[i]) == shapely.get_dimensions(shapes[first]):
                keep[i] = False
                said.append(f"{name!r} stands in two files with the same shape; it was kept once.")
    whole = whole[keep].reset_index(drop=True)
    whole[key], renamed = _unique(whole[key].astype(str).tolist())
    return whole, (*dict.fromkeys(said), *renamed)


def read_windrows(path: Path | str, grid: Grid) -> gpd.GeoDataFrame:
    """Return windrows written before (layer "windrows" of a GeoPackage), on the farm's grid.

    Raises FileError where the file holds no such layer.
    """
    import pyogrio

    path = Path(path)
    if "windrows" not in {s.layer for s in list_sources(path)}:
        raise FileError("it holds no layer called windrows", str(path), "Make one with mapper rows")
    return layer_on_grid("windrows", pyogrio.read_dataframe(path, layer="windrows"), grid.crs)


def layer_on_grid(name: str, table: gpd.GeoDataFrame, crs: Any) -> gpd.GeoDataFrame:
    """Return a layer that this program wrote, back in its contract's types and on `crs`."""
    kind = LAYERS[name]
    shapes: NDArray[Any] = table.to_crs(crs).geometry.to_numpy() if table.crs != crs else table.geometry.to_numpy()
    if len(table) == 0:
        return make_layer(name, {}, [], crs)
    data: dict[str, Any] = {}
    for column, type_ in kind.columns.items():
        if column not in table.columns:
            continue
        values = table[column]
        if type_ == WHOLE:
            values = values.fillna(0).astype("int64")
        elif type_ == TIME:
            values = pd.to_datetime(values, utc=True)
        data[column] = values
    return check_layer(name, make_layer(name, data, shapes, crs))
