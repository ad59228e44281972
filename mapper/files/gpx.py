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
    root = new_gpx(title)
    rows = [row for _, row in points.iterrows()]
    for row in rows:
        _place(root, "wpt", row)
    for crew, group in points.groupby("crew", sort=False):
        route = ET.SubElement(root, f"{{{_SPACE}}}rte")
        add_text(route, name=str(crew) or "Crew")
        for _, row in group.iterrows():
            _place(route, "rtept", row)
    for _, way in ways_out.iterrows():
        route = ET.SubElement(root, f"{{{_SPACE}}}rte")
        add_text(route, name=f"{way['name']}, {way['paddock']} {way['block']}")
        for lon, lat in way.geometry.coords:
            ET.SubElement(route, f"{{{_SPACE}}}rtept", {"lat": f"{lat:.7f}", "lon": f"{lon:.7f}"})
    with written_whole(path) as half:
        ET.ElementTree(root).write(half, encoding="utf-8", xml_declaration=True)


def new_gpx(title: str) -> ET.Element:
    """Return an empty GPX 1.1 document with its title and the caution."""
    ET.register_namespace("", _SPACE)
    root = ET.Element(f"{{{_SPACE}}}gpx", version="1.1", creator="mapper")
    about = ET.SubElement(root, f"{{{_SPACE}}}metadata")
    caution = "Advice only: the permit, the local code and the person in charge decide."
    add_text(about, name=title, desc=caution)
    return root


def add_text(parent: ET.Element, **texts: str) -> None:
    """Add elements that hold a text each."""
    for tag, text in texts.items():
        ET.SubElement(parent, f"{{{_SPACE}}}{tag}").text = text


def _place(parent: ET.Element, tag: str, row: "pd.Series[Any]") -> None:
    at = {"lat": f"{row['latitude']:.7f}", "lon": f"{row['longitude']:.7f}"}
    place = ET.SubElement(parent, f"{{{_SPACE}}}{tag}", at)
    number = f"{row['order_no']}" if row["point"] == 1 else f"{row['order_no']}.{row['point']}"
    about = f"{row['paddock']}, block {row['block']}, {row['crew']}, light {str(row['lit_at'])[11:16]}"
    add_text(place, name=number, desc=about)
