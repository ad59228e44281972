"""Edits of a farm as functions: a farm in, a changed farm out. The originals are never touched."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from mapper.farm.errors import MapperError

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from mapper.farm.farm import Farm
    from mapper.farm.rowedit import RowEdit

Point = tuple[float, float]
SMALLEST_M2 = 100.0


class CrossingError(MapperError):
    """Sides that cross; at is the place (farm metres), where it is known."""

    def __init__(self, what: str, where: str, todo: str, at: Point | None) -> None:
        super().__init__(what, where, todo)
        self.at = at


def checked_area(corners: Sequence[Point], where: str) -> "BaseGeometry":
    """Return the polygon through the corners (farm metres).

    Raises MapperError where there are fewer than three, the sides cross, or the area is under 100 m2.
    """
    from shapely import Polygon, is_valid_reason

    if len(corners) < 3:
        raise MapperError("a paddock needs three corners or more", where, "Click further corners")
    area = Polygon(corners)
    if not area.is_valid:
        told = is_valid_reason(area).partition("[")[2].rstrip("]").split()
        at = (float(told[0]), float(told[1])) if len(told) == 2 else None
        near = f" near {at[0]:.0f} E {at[1]:.0f} N" if at else ""
        raise CrossingError(f"the sides cross{near}", where, "Drag a corner until no side crosses another", at)
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
    return set_paddock(_handed_on(farm, name, lambda _: new), name, "paddock", new)


def _handed_on(farm: "Farm", name: str, to: "Callable[[BaseGeometry], str]") -> "Farm":
    """Return the farm with a paddock's edited, seen and former rows handed on, each by where it lies."""
    from dataclasses import replace

    edits = tuple(replace(e, paddock=to(_place(e))) if e.paddock == name else e for e in farm.row_edits)
    layers: dict[str, Any] = {}
    for key in ("rows_seen", "rows_before"):
        layer = getattr(farm, key)
        if layer is not None and (layer["paddock"] == name).any():
            mine = layer["paddock"] == name
            layers[key] = layer.assign(paddock=layer["paddock"].where(~mine, [to(g) for g in layer.geometry]))
    return farm.with_(row_edits=edits, **layers)


def _place(edit: "RowEdit") -> Any:
    return edit.now if edit.now is not None else edit.was


def set_paddock(farm: "Farm", name: str, column: str, value: Any) -> "Farm":
    """Return the farm with one column of a paddock changed."""
    paddocks = farm.paddocks.copy()
    paddocks.loc[paddocks["paddock"] == name, column] = value
    return farm.with_(paddocks=paddocks)


def move_corner(farm: "Farm", name: str, part: int, ring: int, corner: int, to: Point, alone: bool = False) -> "Farm":
    """Return the farm with one corner moved: part of a multi-part paddock, ring 0 outside, corner along it.

    Where neighbouring paddocks share the corner or the fence it stands on, they move along, unless `alone`.
    """
    from mapper.window.shapes import follow_corner

    corners = rings_of(farm.paddock(name).geometry)[part][ring]
    at, sides = corners[corner], (corners[corner - 1], corners[(corner + 1) % len(corners)])
    moved = _reshape(farm, name, part, ring, lambda c: [*c[:corner], to, *c[corner + 1 :]])
    return moved if alone else _followed(moved, name, at, lambda c: follow_corner(c, at, to, sides))


def _followed(farm: "Farm", name: str, at: Point, change: "Callable[[list[Point]], list[Point]]") -> "Farm":
    """Return the farm with a change made to every ring of the other paddocks that comes near a place."""
    from shapely import Point as Spot

    from mapper.window.shapes import POST_M

    near = farm.paddocks[(farm.paddocks["paddock"] != name) & (farm.paddocks.boundary.distance(Spot(at)) <= POST_M)]
    for other, shape in zip(near["paddock"], near.geometry, strict=True):
        for part, rings in enumerate(rings_of(shape)):
            for ring, corners in enumerate(rings):
                if change(corners) != corners:
                    farm = _reshape(farm, str(other), part, ring, change)
    return farm


def add_corner(farm: "Farm", name: str, part: int, ring: int, after: int, at: Point) -> "Farm":
    """Return the farm with a corner put in after another."""
    return _reshape(farm, name, part, ring, lambda c: [*c[: after + 1], at, *c[after + 1 :]])


def remove_corner(farm: "Farm", name: str, part: int, ring: int, corner: int, alone: bool = False) -> "Farm":
    """Return the farm with one corner taken out, out of a neighbour that shares both its sides too unless `alone`."""
    from mapper.window.shapes import shares_corner

    corners = rings_of(farm.paddock(name).geometry)[part][ring]
    before, at, after = corners[corner - 1], corners[corner], corners[(corner + 1) % len(corners)]
    fewer = _reshape(farm, name, part, ring, lambda c: [*c[:corner], *c[corner + 1 :]])

    def without(theirs: list[Point]) -> list[Point]:
        k = shares_corner(theirs, before, at, after)
        return theirs if k is None else [*theirs[:k], *theirs[k + 1 :]]

    return fewer if alone else _followed(fewer, name, at, without)


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
    return with_shape(farm, "paddocks", int((farm.paddocks["paddock"] == name).to_numpy().argmax()), shape)


def with_shape(farm: "Farm", layer: str, row: int, shape: "BaseGeometry") -> "Farm":
    """Return the farm with the shape of one row (by its position) of a layer changed."""
    old = getattr(farm, layer)
    shapes = list(old.geometry)
    shapes[row] = shape
    return farm.with_(**{layer: old.set_geometry(type(old.geometry)(shapes, index=old.index, crs=farm.grid.crs))})


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
    farm = _handed_on(farm, name, lambda g: f"{name} {1 + min(range(len(parts)), key=lambda i: parts[i].distance(g))}")
    rest = remove_paddock(farm, name).paddocks
    new = pd.concat([farm.paddocks[farm.paddocks["paddock"] == name]] * len(parts), ignore_index=True)
    new["paddock"] = [f"{name} {i + 1}" for i in range(len(parts))]
    new = new.set_geometry(type(new.geometry)(parts, crs=farm.grid.crs))
    return farm.with_(paddocks=_joined(rest, new, pd))


def merge_paddocks(farm: "Farm", name: str, other: str) -> "Farm":
    """Return the farm with two paddocks that share a fence made one; it keeps the first one's name and figures.

    A gap of up to twice 0.5 m between their fences is closed.
    """
    from mapper.window.shapes import POST_M

    a, b = farm.paddock(name).geometry, farm.paddock(other).geometry
    whole = a.union(b)
    if whole.geom_type != "Polygon" and a.geom_type == b.geom_type == "Polygon":
        grown = a.buffer(POST_M, join_style="mitre").union(b.buffer(POST_M, join_style="mitre"))
        whole = grown.buffer(-POST_M, join_style="mitre")
    if len(getattr(whole, "geoms", [whole])) >= sum(len(getattr(g, "geoms", [g])) for g in (a, b)):
        raise MapperError(f"{name} and {other} share no fence", f"paddock {name}", "Click a paddock beside it")
    farm = _handed_on(farm, other, lambda _: name)
    row = int((farm.paddocks["paddock"] == name).to_numpy().argmax())
    return remove_paddock(with_shape(farm, "paddocks", row, whole), other)


def cut_hole(farm: "Farm", name: str, corners: Sequence[Point]) -> "Farm":
    """Return the farm with a piece left out of a paddock: a dam, a stand of trees, what lies outside its fence."""
    piece = checked_area(corners, f"piece left out of {name}")
    old = farm.paddock(name).geometry
    left = old.difference(piece)
    if not old.intersects(piece) or old.area - left.area < 1:
        raise MapperError("the piece lies outside the paddock", f"paddock {name}", "Draw it on the paddock")
    if left.area < SMALLEST_M2:
        raise MapperError("nothing of the paddock would be left", f"paddock {name}", "Draw it smaller")
    return with_shape(farm, "paddocks", int((farm.paddocks["paddock"] == name).to_numpy().argmax()), left)
