"""Partfields of ISO 11783-10 task data as paddocks."""

from pathlib import Path
from typing import Any

import numpy as np

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError
from mapper.files.report import ImportReport
from mapper.files.taskxml import open_taskdata


def read_partfields(path: Path | str, grid: Grid | None = None) -> tuple[Any, ImportReport]:
    """Return the partfields of a task data set as layer paddocks, and the account of it.

    Raises FileError where there is none with a boundary.
    """
    import shapely

    from mapper.farm.layers import make_layer
    from mapper.files.shapes import Mended, drop_empty, make_valid, to_grid

    data = open_taskdata(path)
    names, shapes, bare = [], [], []
    for partfield in data.root.findall("PFD"):
        name = partfield.get("C") or partfield.get("B") or partfield.get("A", "")
        shape = _boundary(partfield)
        if shape is None:
            bare.append(name)
        else:
            names.append(f"{name} ({partfield.get('A')})" if name in names else name)
            shapes.append(shape)
    if not shapes:
        raise FileError("it holds no partfield with a boundary", str(path), "Open a boundary file instead")
    mended = Mended(np.array(shapes, dtype=object), np.arange(len(shapes)))
    drop_empty(mended)
    grid = to_grid(mended, _wgs84(), grid, str(path))
    make_valid(mended, [names[i] for i in mended.row])
    refused = [*mended.refused, *(f"{n}: a partfield without a boundary." for n in bare)]
    layer = make_layer("paddocks", {"paddock": [names[i] for i in mended.row]}, list(mended.shapes), grid.crs)
    area = float(shapely.area(mended.shapes).sum()) / 10_000
    notes = (f"task data version {data.version}; {area:.0f} ha together.", *mended.notes)
    return layer, ImportReport(
        str(data.path), "paddocks", len(layer), "WGS 84", "file", tuple(mended.repaired), tuple(refused), (), notes
    )


def _wgs84() -> Any:
    from pyproj import CRS

    return CRS.from_epsg(4326)


def _boundary(partfield: Any) -> Any:
    """Return a partfield's boundary in degrees: outer rings less inner rings; None where it has no outer ring."""
    import shapely

    outer: list[Any] = []
    inner: list[Any] = []
    for polygon in partfield.findall("PLN"):
        # Type 1 is the partfield's boundary; 2 and up are zones, buildings, obstacles.
        if polygon.get("A") != "1":
            continue
        for ring in polygon.findall("LSG"):
            corners = [(float(p.get("D", "nan")), float(p.get("C", "nan"))) for p in ring.findall("PNT")]
            if len(corners) >= 3 and ring.get("A") in ("1", "2"):
                (outer if ring.get("A") == "1" else inner).append(shapely.make_valid(shapely.Polygon(corners)))
    if not outer:
        return None
    whole = shapely.union_all(outer)
    return shapely.difference(whole, shapely.union_all(inner)) if inner else whole
