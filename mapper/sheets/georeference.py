"""Georeferenced PDF: the map frame's place on the globe, written beside a page that stays vector.

ISO 32000-2, 12.10 (geospatial features): a viewport with a measure dictionary of subtype GEO.
"""

from typing import Any

from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject, NumberObject, TextStringObject

from mapper.farm.crs import Grid
from mapper.sheets.page import GeoFrame

_PT_PER_MM = 72.0 / 25.4


def add_viewport(page: Any, frames: list[GeoFrame], grid: Grid) -> None:
    """Write the map frames of one pypdf page as viewports; the frame's corners carry WGS 84 latitude, longitude."""
    height = float(page.mediabox.height)
    viewports = ArrayObject()
    for frame in frames:
        b = frame.box
        left, right = b.x * _PT_PER_MM, b.right * _PT_PER_MM
        top, bottom = height - b.y * _PT_PER_MM, height - b.bottom * _PT_PER_MM
        # Local points are the unit square from the lower left; the frame's corners begin at the top left.
        order = (3, 0, 1, 2)
        lpts = (0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.0)
        gpts: list[float] = []
        for n in order:
            lon, lat = grid.to_lonlat(*frame.corners[n])
            gpts += [float(lat), float(lon)]
        system = DictionaryObject({NameObject("/Type"): NameObject("/PROJCS"),
                                   NameObject("/WKT"): TextStringObject(grid.crs.to_wkt("WKT1_ESRI"))})  # fmt: skip
        epsg = grid.crs.to_epsg()
        if epsg is not None:
            system[NameObject("/EPSG")] = NumberObject(epsg)
        measure = DictionaryObject({
            NameObject("/Type"): NameObject("/Measure"), NameObject("/Subtype"): NameObject("/GEO"),
            NameObject("/Bounds"): _floats(lpts), NameObject("/LPTS"): _floats(lpts),
            NameObject("/GPTS"): _floats(gpts), NameObject("/GCS"): system,
        })  # fmt: skip
        viewports.append(DictionaryObject({
            NameObject("/Type"): NameObject("/Viewport"), NameObject("/BBox"): _floats((left, bottom, right, top)),
            NameObject("/Name"): TextStringObject("Map"), NameObject("/Measure"): measure,
        }))  # fmt: skip
    if viewports:
        page[NameObject("/VP")] = viewports


def _floats(values: Any) -> ArrayObject:
    return ArrayObject([FloatObject(f"{v:.9f}") for v in values])
