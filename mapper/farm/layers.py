"""The column contract of every map layer, and the one function that checks it at the door."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from pandas.api import types as pdt

from mapper.farm.errors import LayerError

TEXT, NUMBER, WHOLE, FLAG, TIME = "text", "number", "whole", "flag", "time"
POINT, LINE, AREA, ANY = ("Point",), ("LineString",), ("Polygon", "MultiPolygon"), ()


@dataclass(frozen=True)
class LayerKind:
    """What a layer holds. columns maps name to type; units stand in the name or in `units`."""

    name: str
    shapes: tuple[str, ...]
    columns: dict[str, str]
    key: str = ""


def _layer(layer: str, shapes: tuple[str, ...], key: str, /, **columns: str) -> LayerKind:
    return LayerKind(layer, shapes, columns, key)


LAYERS: dict[str, LayerKind] = {
    k.name: k
    for k in (
        # What is on the farm.
        _layer("paddocks", AREA, "paddock", paddock=TEXT, crop=TEXT, yield_t_ha=NUMBER, cut_height_m=NUMBER,
               stubble_t_ha=NUMBER, curing_pct=NUMBER, header_width_m=NUMBER, row_heading_deg=NUMBER,
               headland_laps=NUMBER),
        _layer("assets", ANY, "asset", asset=TEXT, kind=TEXT, name=TEXT, neighbour=TEXT, water_l=NUMBER, note=TEXT),
        _layer("neighbours", AREA, "neighbour", neighbour=TEXT, name=TEXT, phone=TEXT, told_at=TEXT, told_by=TEXT),
        _layer("breaks_there", LINE, "", width_m=NUMBER, made_by=TEXT, note=TEXT),
        _layer("rows_seen", LINE, "", paddock=TEXT, note=TEXT),
        _layer("rows_before", LINE, "", paddock=TEXT, season=TEXT),
        # Where the rows lie. Lines run in the direction the harvester drove.
        _layer("windrows", LINE, "row_id", row_id=TEXT, paddock=TEXT, machine=TEXT, pass_no=WHOLE, length_m=NUMBER,
               load_kg_m=NUMBER, load_t_ha=NUMBER, load_class=TEXT, share_interpolated=NUMBER, dropped_at=TIME,
               evidence=TEXT, load_along=TEXT, confidence=NUMBER),
        _layer("heaps", POINT, "", paddock=TEXT, machine=TEXT, kg=NUMBER),
        # What guards the edges.
        _layer("edges", LINE, "edge_id", edge_id=TEXT, paddock=TEXT, side=TEXT, length_m=NUMBER, facing_deg=NUMBER,
               label=TEXT, label_after=TEXT, chance_downwind=NUMBER, chance_flank=NUMBER, chance_after=NUMBER,
               reach_m=NUMBER, reach_after_m=NUMBER, intensity_kw_m=NUMBER, intensity_after_kw_m=NUMBER, breach=NUMBER,
               breach_after=NUMBER, present_m=NUMBER, beyond=TEXT, arrives_min=NUMBER),
        _layer("breaks", LINE, "", paddock=TEXT, guards=TEXT, side=TEXT, present_m=NUMBER, wanted_m=NUMBER,
               wanted_by=TEXT, local_m=NUMBER, breach_m=NUMBER, short_m=NUMBER, length_m=NUMBER, area_m2=NUMBER,
               passes=NUMBER, work_h=NUMBER, todo=TEXT),
        _layer("buffers", AREA, "", asset=TEXT, kind=TEXT, name=TEXT, purpose=TEXT, distance_m=NUMBER, source=TEXT),
        # In which order to burn.
        _layer("pieces", LINE, "piece_id", piece_id=TEXT, row_id=TEXT, paddock=TEXT, block=TEXT, order_no=WHOLE,
               crew=TEXT, lit_at=TIME, out_at=TIME, left_reason=TEXT, length_m=NUMBER),
        _layer("lighting_points", POINT, "", paddock=TEXT, block=TEXT, piece_id=TEXT, order_no=WHOLE, crew=TEXT,
               lit_at=TIME),
        _layer("blocks", AREA, "", paddock=TEXT, block=TEXT, first_no=WHOLE, last_no=WHOLE, starts_at=TIME,
               ends_at=TIME, crew=TEXT, note=TEXT),
        _layer("ways_out", LINE, "", paddock=TEXT, block=TEXT, name=TEXT, to=TEXT, until=TIME, note=TEXT),
        # Drives between pieces; by their order_no.
        _layer("routes", LINE, "", paddock=TEXT, block=TEXT, crew=TEXT, from_no=WHOLE, to_no=WHOLE, leaves_at=TIME,
               length_m=NUMBER, note=TEXT),
        # Smoke.
        _layer("smoke", AREA, "", paddock=TEXT, when=TEXT, level=TEXT, starts_at=TIME, ends_at=TIME, pm25_ug_m3=NUMBER),
        # Where an escaped fire would be after so many minutes.
        _layer("arrival", LINE, "", minutes=NUMBER, paddock=TEXT, side=TEXT, edge_id=TEXT),
        # What happened. Metres along a piece count from the end where lighting began.
        _layer("row_parts", LINE, "", piece_id=TEXT, row_id=TEXT, paddock=TEXT, block=TEXT, order_no=WHOLE,
               from_m=NUMBER, to_m=NUMBER, length_m=NUMBER, state=TEXT, why=TEXT, at=TIME, by=TEXT, entry_id=TEXT),
        _layer("look_here", LINE, "place", place=TEXT, piece_id=TEXT, row_id=TEXT, paddock=TEXT, block=TEXT,
               order_no=WHOLE, from_m=NUMBER, to_m=NUMBER, length_m=NUMBER, reason=TEXT, state=TEXT),
        _layer("escapes", ANY, "", name=TEXT, noticed_at=TIME, out_at=TIME, area_ha=NUMBER, cause=TEXT, entry_id=TEXT),
    )
}  # fmt: skip


def empty_layer(name: str, crs: Any) -> gpd.GeoDataFrame:
    """Return a layer of no features with the right columns and dtypes."""
    kind = LAYERS[name]
    columns = {c: pd.Series([], dtype=_DTYPES[t]) for c, t in kind.columns.items()}
    return gpd.GeoDataFrame(columns, geometry=gpd.GeoSeries([], crs=crs), crs=crs)


_DTYPES: dict[str, Any] = {
    TEXT: "object",
    NUMBER: "float64",
    WHOLE: "int64",
    FLAG: "bool",
    TIME: "datetime64[ns, UTC]",
}


def make_layer(name: str, data: dict[str, Any], geometry: Any, crs: Any) -> gpd.GeoDataFrame:
    """Return a checked layer from columns and shapes; columns left out are filled with "nothing known"."""
    kind = LAYERS[name]
    n = len(geometry)
    if n == 0:
        return empty_layer(name, crs)
    columns: dict[str, Any] = {}
    for column, type_ in kind.columns.items():
        if column in data:
            columns[column] = _column(type_, data[column])
        else:
            fill = {TEXT: "", NUMBER: float("nan"), WHOLE: 0, FLAG: False, TIME: pd.NaT}[type_]
            columns[column] = pd.Series([fill] * n, dtype=_DTYPES[type_])
    return check_layer(name, gpd.GeoDataFrame(columns, geometry=list(geometry), crs=crs))


def _column(type_: str, values: Any) -> "pd.Series[Any]":
    """One column of a type. Texts and numbers go straight to arrays: layers are made by the hundred."""
    if type_ == TEXT:
        texts = np.array(values, dtype=object)
        texts[pd.isna(texts)] = ""
        return pd.Series(texts, dtype="object")
    if type_ == NUMBER and isinstance(values, np.ndarray | list):
        return pd.Series(np.array(values, dtype="float64"))
    column: pd.Series[Any] = pd.Series(values).reset_index(drop=True)
    if type_ == TIME:
        return pd.to_datetime(column, utc=True).astype("datetime64[ns, UTC]")
    return column.astype("float64") if type_ == NUMBER else column


def stack_layers(name: str, layers: Iterable[gpd.GeoDataFrame], crs: Any) -> gpd.GeoDataFrame:
    """Return layers of one kind as one; empty ones fall away."""
    filled = [layer for layer in layers if len(layer)]
    if not filled:
        return empty_layer(name, crs)
    return gpd.GeoDataFrame(pd.concat(filled, ignore_index=True), crs=crs)


def check_layer(name: str, layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the layer as it is, or raise LayerError saying what breaks its contract."""
    kind = LAYERS[name]
    missing = [c for c in kind.columns if c not in layer.columns]
    if missing:
        raise LayerError(f"column {missing[0]!r} is missing", f"layer {name}")
    if layer.crs is None or not layer.crs.is_projected:
        raise LayerError("the layer is not on a metric grid", f"layer {name}")
    for column, type_ in kind.columns.items():
        if len(layer) and not _is(type_, layer[column]):
            raise LayerError(f"column {column!r} holds {layer[column].dtype}, not {type_}", f"layer {name}")
    if kind.shapes and len(layer):
        wrong = set(layer.geom_type) - set(kind.shapes)
        if wrong:
            raise LayerError(f"holds {', '.join(sorted(map(str, wrong)))}", f"layer {name}")
    if kind.key and layer[kind.key].duplicated().any():
        twice = layer.loc[layer[kind.key].duplicated(), kind.key].iloc[0]
        raise LayerError(f"{kind.key} {twice!r} stands twice", f"layer {name}", "Give each a name of its own")
    return layer


def _is(type_: str, column: "pd.Series[Any]") -> bool:
    if type_ == TEXT:
        return bool(pdt.is_object_dtype(column) or pdt.is_string_dtype(column))
    if type_ == NUMBER:
        return bool(pdt.is_float_dtype(column))
    if type_ == WHOLE:
        return bool(pdt.is_integer_dtype(column))
    if type_ == FLAG:
        return bool(pdt.is_bool_dtype(column))
    return isinstance(column.dtype, pd.DatetimeTZDtype)
