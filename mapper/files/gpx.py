"""Lighting points as GPX 1.1: a waypoint each, a route a crew in lighting order, and the ways out as routes."""

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from mapper.files.atomic import written_whole

_SPACE = "http://www.topografix.com/GPX/1/1"


def write_gpx(points: gpd.GeoDataFrame, ways_out: gpd.GeoDataFrame, title: str, path: Path) -> None:
    """Write points (columns of outputs.ordered_points, in lighting order) and ways out, WGS 84, as GPX."""
    ET.register_namespace("", _SPACE)
    root = ET.Element(f"{{{_SPACE}}}gpx", version="1.1", creator="mapper")
    about = ET.SubElement(root, f"{{{_SPACE}}}metadata")
    _text(about, "name", title)
    _text(about, "desc", "Advice only: the permit, the local code and the person in charge decide.")
    rows = [row for _, row in points.iterrows()]
    for row in rows:
        _place(root, "wpt", row)
    for crew, group in points.groupby("crew", sort=False):
        route = ET.SubElement(root, f"{{{_SPACE}}}rte")
        _text(route, "name", str(crew) or "Crew")
        for _, row in group.iterrows():
            _place(route, "rtept", row)
    for _, way in ways_out.iterrows():
        route = ET.SubElement(root, f"{{{_SPACE}}}rte")
        _text(route, "name", f"{way['name']}, {way['paddock']} {way['block']}")
        for lon, lat in way.geometry.coords:
            ET.SubElement(route, f"{{{_SPACE}}}rtept", {"lat": f"{lat:.7f}", "lon": f"{lon:.7f}"})
    with written_whole(path) as half:
        ET.ElementTree(root).write(half, encoding="utf-8", xml_declaration=True)


def _place(parent: ET.Element, tag: str, row: "pd.Series[Any]") -> None:
    at = {"lat": f"{row['latitude']:.7f}", "lon": f"{row['longitude']:.7f}"}
    place = ET.SubElement(parent, f"{{{_SPACE}}}{tag}", at)
    _text(place, "name", f"{row['order_no']}" if row["point"] == 1 else f"{row['order_no']}.{row['point']}")
    _text(place, "desc", f"{row['paddock']}, block {row['block']}, {row['crew']}, light {str(row['lit_at'])[11:16]}")


def _text(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, f"{{{_SPACE}}}{tag}").text = text
