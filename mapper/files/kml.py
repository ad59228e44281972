"""The night for a phone's map program as KML 2.2 (OGC 12-007r2): paddocks, rows in order, lighting points, ways out."""

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import geopandas as gpd
import shapely

from mapper.files.atomic import written_whole
from mapper.plan.burnplan import BurnPlan

_SPACE = "http://www.opengis.net/kml/2.2"
# Line colour (aabbggrr) and width in pixels.
_STYLES = {"paddock": ("ffffffff", 3.0), "row": ("ff005ed5", 3.0), "left": ("ff8a8a8a", 1.0), "way": ("ff4f7000", 5.0)}


def write_kml(plan: BurnPlan, points: gpd.GeoDataFrame, path: Path) -> None:
    """Write one night. points: of outputs.ordered_points, WGS 84. Rows left unlit are grey and named "do not light"."""
    ET.register_namespace("", _SPACE)
    root = ET.Element(_tag("kml"))
    document = ET.SubElement(root, _tag("Document"))
    _text(document, "name", f"Burn order {plan.night:%Y-%m-%d}, plan {plan.number}")
    _text(document, "description", "Advice only: the permit, the local code and the person in charge decide.")
    for name, (colour, width) in _STYLES.items():
        line = ET.SubElement(ET.SubElement(document, _tag("Style"), id=name), _tag("LineStyle"))
        _text(line, "color", colour)
        _text(line, "width", f"{width:g}")
        if name == "paddock":
            _text(ET.SubElement(document[-1], _tag("PolyStyle")), "fill", "0")
    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)].to_crs("EPSG:4326")
    _folder(document, "Paddocks", lands, lambda r: (str(r.paddock), "", "paddock"))
    pieces = plan.pieces[plan.pieces["paddock"].isin(plan.paddocks)].sort_values("order_no").to_crs("EPSG:4326")
    lit = (pieces["order_no"] > 0) & (pieces["left_reason"] == "")
    _folder(document, "Rows in order", pieces[lit],
            lambda r: (str(r.order_no), f"{r.paddock}, block {r.block}, {r.length_m:.0f} m", "row"))  # fmt: skip
    _folder(document, "Do not light", pieces[~lit], lambda r: ("do not light", str(r.left_reason), "left"))
    _folder(document, "Light here", points,
            lambda r: (f"{r.order_no}" if r.point == 1 else f"{r.order_no}.{r.point}",
                       f"{r.paddock}, block {r.block}, {r.crew}, light {str(r.lit_at)[11:16]}", ""))  # fmt: skip
    ways = plan.ways_out[plan.ways_out["paddock"].isin(plan.paddocks)].to_crs("EPSG:4326")
    _folder(document, "Ways out", ways, lambda r: (str(r.name_), f"to {r.to}", "way"))
    assets = plan.farm.assets
    useful = assets[assets["kind"].isin(["water", "gate"])].to_crs("EPSG:4326")
    useful = useful.set_geometry(shapely.point_on_surface(useful.geometry.array))
    _folder(document, "Water and gates", useful, lambda r: (str(r.name_) or str(r.kind), str(r.kind), ""))
    with written_whole(path) as half:
        ET.ElementTree(root).write(half, encoding="utf-8", xml_declaration=True)


def _folder(
    document: ET.Element, name: str, layer: gpd.GeoDataFrame, words: Callable[[Any], tuple[str, str, str]]
) -> None:
    if layer.empty:
        return
    folder = ET.SubElement(document, _tag("Folder"))
    _text(folder, "name", name)
    # A column "name" would be hidden by the row's own attribute.
    for row in layer.rename(columns={"name": "name_"}).itertuples():
        title, more, style = words(row)
        place = ET.SubElement(folder, _tag("Placemark"))
        _text(place, "name", title)
        if more:
            _text(place, "description", more)
        if style:
            _text(place, "styleUrl", f"#{style}")
        parts = [g for g in shapely.get_parts(row.geometry) if not g.is_empty]
        holder = ET.SubElement(place, _tag("MultiGeometry")) if len(parts) > 1 else place
        for part in parts:
            _shape(holder, part)


def _shape(parent: ET.Element, shape: Any) -> None:
    if shape.geom_type == "Polygon":
        area = ET.SubElement(parent, _tag("Polygon"))
        for tag, rings in (("outerBoundaryIs", [shape.exterior]), ("innerBoundaryIs", shape.interiors)):
            for ring in rings:
                line = ET.SubElement(ET.SubElement(area, _tag(tag)), _tag("LinearRing"))
                _text(line, "coordinates", _places(shapely.get_coordinates(ring)))
        return
    kind = "Point" if shape.geom_type == "Point" else "LineString"
    _text(ET.SubElement(parent, _tag(kind)), "coordinates", _places(shapely.get_coordinates(shape)))


def _places(xy: Iterable[Any]) -> str:
    return " ".join(f"{lon:.7f},{lat:.7f}" for lon, lat in xy)


def _tag(name: str) -> str:
    return f"{{{_SPACE}}}{name}"


def _text(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, _tag(tag)).text = text
