"""Fires that left the rows: where they burnt, how much, and what is still to be written down of them."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import shapely

from mapper.farm.layers import make_layer
from mapper.record.asked import ESCAPE_FIELDS, Field
from mapper.record.entry import Entry, standing
from mapper.record.night import NightRecord


def escapes(record: NightRecord) -> tuple[Entry, ...]:
    """Return the standing entries of escapes, by when they were noticed."""
    return tuple(sorted((e for e in standing(record.entries) if e.kind == "escape"), key=lambda e: e.happened))


def still_missing(escape: Entry, fields: Sequence[Field] = ESCAPE_FIELDS) -> tuple[Field, ...]:
    """Return the fields that nobody has written yet. The time noticed may stand as the entry's own time."""
    known: dict[str, Any] = {"noticed_at": escape.at, **escape.body}
    if "area_ha" not in escape.body and _shape(escape) is not None:
        known["area_ha"] = "drawn"
    return tuple(f for f in fields if known.get(f.key) in (None, ""))


def escape_areas(record: NightRecord) -> gpd.GeoDataFrame:
    """Return layer "escapes": a shape an escape that has one, with its area in ha as drawn or as typed.

    The body's `shape` is WKT in the farm's grid: a point, a line walked round (closed here), or an area.
    """
    found = [(e, shape) for e in escapes(record) if (shape := _shape(e)) is not None]
    columns = {
        "name": [str(e.body["name"]) for e, _ in found],
        "noticed_at": [e.happened for e, _ in found],
        "out_at": [e.body.get("out_at") or None for e, _ in found],
        "area_ha": [area_ha(e) for e, _ in found],
        "cause": [str(e.body.get("cause", "")) for e, _ in found],
        "entry_id": [e.entry_id for e, _ in found],
    }
    return make_layer("escapes", columns, [shape for _, shape in found], record.pieces.crs)


def area_ha(escape: Entry) -> float:
    """Return the area burnt in ha: as typed, else as drawn, else NaN."""
    typed = escape.body.get("area_ha")
    if typed not in (None, ""):
        return float(typed)
    shape = _shape(escape)
    return shape.area / 10_000 if shape is not None and shape.area else float("nan")


def _shape(escape: Entry) -> Any:
    text = escape.body.get("shape")
    if not text:
        return None
    shape = shapely.from_wkt(str(text))
    if shape.geom_type == "LineString" and len(shape.coords) >= 4:
        ring = shapely.Polygon(shape.coords)
        return ring if ring.is_valid else shapely.make_valid(ring)
    return shape
