"""What a night's record leaves on the disk beside its pages: layers and tables for any GIS, places for a phone."""

import xml.etree.ElementTree as ET
from pathlib import Path

import geopandas as gpd
import pandas as pd

from mapper.files.atomic import written_whole
from mapper.files.gpx import add_text, new_gpx
from mapper.files.outputs import write_layers
from mapper.record.counts import counts_table
from mapper.record.escape import escape_areas
from mapper.record.heat import heat_table
from mapper.record.look import look_here
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.record.readings import readings_table
from mapper.record.said import entry_words


def write_record(record: NightRecord, folder: Path) -> list[Path]:
    """Write the record's layers and tables as a GeoPackage and its places to look as GPX; return the paths."""
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{record.night:%Y-%m-%d} plan {record.plan_number}"
    paths = [folder / f"{name} record.gpkg", folder / f"{name} look here.gpx"]
    places = look_here(record)
    layers = {
        "row_parts": row_parts(record), "look_here": places, "escapes": escape_areas(record),
        "readings": readings_table(record), "heat": heat_table(record), "counts": counts_table(record),
        "entries": _entries(record),
    }  # fmt: skip
    write_layers({n: _writable(layer) for n, layer in layers.items() if len(layer)}, paths[0])
    write_places(places, f"Look here in the next crop, {record.farm}, {record.night:%Y-%m-%d}", paths[1])
    return paths


def write_places(places: gpd.GeoDataFrame, title: str, path: Path) -> None:
    """Write layer "look_here" as GPX: a waypoint where each place begins, and the place itself as a track."""
    root = new_gpx(title)
    turned = places.to_crs("EPSG:4326")
    for kind in ("wpt", "trk"):
        for place in turned.itertuples():
            lines = list(place.geometry.coords)
            row = f"row {place.order_no}" if place.order_no else f"windrow {place.row_id}"
            words = f"{row}, {place.from_m:.0f} to {place.to_m:.0f} m from its lighting end. {place.reason}"
            if kind == "wpt":
                add_text(_point(root, "wpt", lines[0]), name=place.place, desc=words)
                continue
            track = ET.SubElement(root, root.tag.replace("gpx", "trk"))
            add_text(track, name=place.place, desc=words)
            segment = ET.SubElement(track, root.tag.replace("gpx", "trkseg"))
            for at in lines:
                _point(segment, "trkpt", at)
    with written_whole(path) as half:
        ET.ElementTree(root).write(half, encoding="utf-8", xml_declaration=True)


def _point(parent: ET.Element, tag: str, at: tuple[float, ...]) -> ET.Element:
    space = parent.tag.rpartition("}")[0]
    return ET.SubElement(parent, f"{space}}}{tag}", {"lat": f"{at[1]:.7f}", "lon": f"{at[0]:.7f}"})


def _entries(record: NightRecord) -> pd.DataFrame:
    return pd.DataFrame({
        "entry_id": [e.entry_id for e in record.entries], "kind": [e.kind for e in record.entries],
        "words": [entry_words(e) for e in record.entries], "by": [e.by for e in record.entries],
        "at": pd.to_datetime(pd.Series([e.at for e in record.entries], dtype=object), utc=True),
        "entered_at": pd.to_datetime([e.entered_at for e in record.entries], utc=True),
        "replaces": [e.replaces for e in record.entries],
    })  # fmt: skip


def _writable(table: pd.DataFrame) -> pd.DataFrame:
    """The table without columns that hold objects of several kinds: a row's number may be missing."""
    plain = table.copy()
    if "row" in plain.columns:
        plain["row"] = pd.to_numeric(plain["row"], errors="coerce")
    return plain
