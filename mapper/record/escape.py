"""A fire that left the rows: what has to be known of it, and what is still missing.

The fields are those that the Western Australian Bush Fires Regulations 1954 r.43 asks an occupier to report within
seven days (date, cause, area burnt, estimated loss, time first noticed, time extinguished, persons and equipment used),
and r.32 (tell the nearest officer at once). Other places ask for other things: the farm's own list of fields decides.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import shapely

from mapper.farm.layers import make_layer
from mapper.record.entry import Entry, standing
from mapper.record.night import NightRecord


@dataclass(frozen=True)
class Field:
    """One thing to write down: key in the entry's body, words on paper, and who asks for it."""

    key: str
    label: str
    source: str


_R43 = "WA Bush Fires Regulations 1954 r.43 (read)"
_R32 = "WA Bush Fires Regulations 1954 r.32 (read)"
ESCAPE_FIELDS: tuple[Field, ...] = (
    Field("place", "Where", "common practice, no source"),
    Field("noticed_at", "First noticed", _R43),
    Field("out_at", "Out at", _R43),
    Field("area_ha", "Area burnt, ha", _R43),
    Field("burnt", "What burnt", "common practice, no source"),
    Field("cause", "Cause", _R43),
    Field("loss", "Estimated loss", _R43),
    Field("done", "What was done", "common practice, no source"),
    Field("people", "People used", _R43),
    Field("equipment", "Equipment used", _R43),
    Field("told", "Authority told, when and how", _R32),
)


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
