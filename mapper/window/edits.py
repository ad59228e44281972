"""Edits of a farm as functions: a farm in, a changed farm out. The originals are never touched."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from mapper.farm.errors import MapperError

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from mapper.farm.farm import Farm

Point = tuple[float, float]
SMALLEST_M2 = 100.0


def checked_area(corners: Sequence[Point], where: str) -> "BaseGeometry":
    """Return the polygon through the corners (farm metres).

    Raises MapperError where there are fewer than three, the sides cross, or the area is under 100 m2.
    """
    from shapely import Polygon, is_valid_reason

    if len(corners) < 3:
        raise MapperError("a paddock needs three corners or more", where, "Click further corners")
    area = Polygon(corners)
    if not area.is_valid:
        at = is_valid_reason(area).partition("[")[2].rstrip("]")
        near = " near {:.0f} E {:.0f} N".format(*map(float, at.split())) if at else ""
        raise MapperError(f"the sides cross{near}", where, "Drag a corner until no side crosses another")
    if area.area < SMALLEST_M2:
        raise MapperError(f"{area.area:.0f} m2 is no paddock", where, "Draw it larger")
    return area.normalize()


def free_name(farm: "Farm", wanted: str = "Paddock") -> str:
    """Return a paddock name nobody has yet: "Paddock 3"."""
    known, n = set(farm.paddocks["paddock"]), len(farm.paddocks) + 1
    while f"{wanted} {n}" in known:
        n += 1
    return f"{wanted} {n}"


def add_paddock(farm: "Farm", name: str, corners: Sequence[Point], crop: str = "wheat") -> "Farm":
    """Return the farm with one paddock more."""
    import pandas as pd

    from mapper.farm.layers import make_layer

    name = name.strip() or free_name(farm)
    if name in set(farm.paddocks["paddock"]):
        raise MapperError("there is a paddock of that name", f"paddock {name}", "Give it another name")
    new = make_layer(
        "paddocks", {"paddock": [name], "crop": [crop]}, [checked_area(corners, f"paddock {name}")], farm.grid.crs
    )
    return farm.with_(paddocks=_joined(farm.paddocks, new, pd))


def _joined(old: Any, new: Any, pd: Any) -> Any:
    return new if old.empty else pd.concat([old, new[[c for c in new.columns if c in old.columns]]], ignore_index=True)


def remove_paddock(farm: "Farm", name: str) -> "Farm":
    """Return the farm without one paddock."""
    return farm.with_(paddocks=farm.paddocks[farm.paddocks["paddock"] != name].reset_index(drop=True))


def rename_paddock(farm: "Farm", name: str, new: str) -> "Farm":
    """Return the farm with a paddock called otherwise."""
    new = new.strip()
    if not new or (new != name and new in set(farm.paddocks["paddock"])):
        raise MapperError("that name is empty or taken", f"paddock {name}", "Give it another name")
    return set_paddock(farm, name, "paddock", new)


def set_paddock(farm: "Farm", name: str, column: str, value: Any) -> "Farm":
    """Return the farm with one column of a paddock changed."""
    paddocks = farm.paddocks.copy()
    paddocks.loc[paddocks["paddock"] == name, column] = value
    return farm.with_(paddocks=paddocks)


def move_corner(farm: "Farm", name: str, part: int, ring: int, corner: int, to: Point) -> "Farm":
    """Return the farm with one corner moved: part of a multi-part paddock, ring 0 outside, corner along it."""
    return _reshape(farm, name, part, ring, lambda c: [*c[:corner], to, *c[corner + 1 :]])


def add_corner(farm: "Farm", name: str, part: int, ring: int, after: int, at: Point) -> "Farm":
    """Return the farm with a corner put in after another."""
    return _reshape(farm, name, part, ring, lambda c: [*c[: after + 1], at, *c[after + 1 :]])


def remove_corner(farm: "Farm", name: str, part: int, ring: int, corner: int) -> "Farm":
    """Return the farm with one corner taken out."""
    return _reshape(farm, name, part, ring, lambda c: [*c[:corner], *c[corner + 1 :]])


def rings_of(shape: "BaseGeometry") -> list[list[list[Point]]]:
    """Return a polygon's corners by part and ring, without the closing repeat."""
    parts = getattr(shape, "geoms", [shape])
    return [[[(x, y) for x, y, *_ in r.coords[:-1]] for r in (p.exterior, *p.interiors)] for p in parts]


def _reshape(farm: "Farm", name: str, part: int, ring: int, change: Any) -> "Farm":
    from shapely import MultiPolygon, Polygon

    rings = rings_of(farm.paddock(name).geometry)
    rings[part][ring] = change(rings[part][ring])
    if len(rings[part][ring]) < 3:
        raise MapperError("a paddock needs three corners or more", f"paddock {name}", "Leave this corner")
    checked_area(rings[part][0], f"paddock {name}")
    polygons = [Polygon(r[0], r[1:]) for r in rings]
    shape: Any = polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)
    if not shape.is_valid:
        raise MapperError("its parts or holes cross", f"paddock {name}", "Move the corner elsewhere")
    paddocks = farm.paddocks.copy()
    row = paddocks.index[paddocks["paddock"] == name][0]
    geometry = list(paddocks.geometry)
    geometry[paddocks.index.get_loc(row)] = shape
    return farm.with_(
        paddocks=paddocks.set_geometry(type(paddocks.geometry)(geometry, index=paddocks.index, crs=farm.grid.crs))
    )


def split_paddock(farm: "Farm", name: str, line: Sequence[Point]) -> "Farm":
    """Return the farm with a paddock cut along a line; the parts are called "name 1", "name 2" from the west."""
    import pandas as pd
    from shapely import LineString
    from shapely.ops import split

    old = farm.paddock(name)
    parts = [g for g in split(old.geometry, LineString(line)).geoms if g.area >= SMALLEST_M2]
    if len(parts) < 2:
        raise MapperError("the line does not cut the paddock in two", f"paddock {name}", "Begin and end it outside")
    parts.sort(key=lambda g: (g.centroid.x, g.centroid.y))
    rest = remove_paddock(farm, name).paddocks
    new = pd.concat([farm.paddocks[farm.paddocks["paddock"] == name]] * len(parts), ignore_index=True)
    new["paddock"] = [f"{name} {i + 1}" for i in range(len(parts))]
    new = new.set_geometry(type(new.geometry)(parts, crs=farm.grid.crs))
    return farm.with_(paddocks=_joined(rest, new, pd))


def place_asset(farm: "Farm", kind: str, at: Point, name: str = "") -> "Farm":
    """Return the farm with a point asset more (water, gate, house, tree)."""
    import pandas as pd
    from shapely import Point as Spot

    from mapper.farm.assets import ASSET_KINDS
    from mapper.farm.layers import make_layer

    known, n = set(farm.assets["asset"]), 1
    while f"{kind}-{n}" in known:
        n += 1
    label = name or f"{ASSET_KINDS[kind].label} {n}"
    new = make_layer("assets", {"asset": [f"{kind}-{n}"], "kind": [kind], "name": [label]}, [Spot(at)], farm.grid.crs)
    return farm.with_(assets=_joined(farm.assets, new, pd))


def remove_asset(farm: "Farm", asset: str) -> "Farm":
    """Return the farm without one asset."""
    return farm.with_(assets=farm.assets[farm.assets["asset"] != asset].reset_index(drop=True))
