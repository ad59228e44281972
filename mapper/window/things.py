"""What stands on the farm besides paddocks, drawn and changed by hand: a farm in, a changed farm out."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from mapper.farm.errors import MapperError
from mapper.window.edits import CrossingError, checked_area, rings_of, with_shape
from mapper.window.shapes import Point, crossings, strips_inside

if TYPE_CHECKING:
    from mapper.farm.farm import Farm

CLOSE_TO = 0.05


class Thing(NamedTuple):
    """One row of a layer: paddocks, assets, neighbours or breaks_there, by its position, and what to call it."""

    layer: str
    row: int
    name: str


class Drawn(NamedTuple):
    """What can be drawn: its words, whether a line or an area, and the layer it joins ("" for a piece left out)."""

    words: str
    shape: str
    layer: str


def drawn_kinds() -> dict[str, Drawn]:
    """Return what can be drawn, the paddock first."""
    from mapper.farm.assets import ASSET_KINDS

    kinds = {
        "paddock": Drawn("Paddock", "area", "paddocks"), "hole": Drawn("Piece left out of the paddock", "area", ""),
        "break": Drawn("Firebreak", "line", "breaks_there"),
        "neighbour": Drawn("Neighbour's land", "area", "neighbours"),
    }  # fmt: skip
    for shape in ("line", "area"):
        kinds |= {k.kind: Drawn(k.label, shape, "assets") for k in ASSET_KINDS.values() if k.shape == shape}
    return kinds | {"water": Drawn("Dam or creek", "area", "assets")}


def add_thing(farm: "Farm", kind: str, corners: Sequence[Point], name: str = "", width_m: float = 0.0) -> "Farm":
    """Return the farm with a line or an area more. width_m: of a firebreak; 0 where nobody knows it yet.

    Raises MapperError for too few corners, CrossingError where sides cross.
    """
    drawn = drawn_kinds()[kind]
    where = name.strip() or drawn.words.lower()
    shape = checked_area(corners, where) if drawn.shape == "area" else _checked_line(corners, where)
    if kind == "break":
        return add_breaks(farm, [shape], width_m)
    if kind == "neighbour":
        key = _free("N", set(farm.neighbours["neighbour"]))
        label = name.strip() or f"Neighbour {key[1:]}"
        return _joined(farm, "neighbours", {"neighbour": [key], "name": [label]}, [shape])
    return _add_asset(farm, kind, shape, name)


def _add_asset(farm: "Farm", kind: str, shape: Any, name: str) -> "Farm":
    from mapper.farm.assets import ASSET_KINDS

    key = _free(f"{kind}-", set(farm.assets["asset"]))
    label = name.strip() or f"{ASSET_KINDS[kind].label} {key.rpartition('-')[2]}"
    return _joined(farm, "assets", {"asset": [key], "kind": [kind], "name": [label]}, [shape])


def add_breaks(farm: "Farm", lines: Sequence[Any], width_m: float) -> "Farm":
    """Return the farm with firebreaks more, each along its middle line; 0 for a width that nobody knows."""
    n = len(lines)
    width = [width_m if width_m > 0 else float("nan")] * n
    return _joined(farm, "breaks_there", {"width_m": width, "note": ["drawn on the map"] * n}, lines)


def break_inside(farm: "Farm", name: str, width_m: float, side: Sequence[Point] = ()) -> "Farm":
    """Return the farm with a firebreak of a width just inside a paddock's fence, along a side or all the way round."""
    if not width_m > 0:
        raise MapperError("a break needs a width", f"paddock {name}", "Type how wide it is")
    lines = strips_inside(farm.paddock(name).geometry, width_m, side)
    if not lines:
        raise MapperError(f"no break of {width_m:g} m fits inside", f"paddock {name}", "Type a smaller width")
    return add_breaks(farm, lines, width_m)


def place_asset(farm: "Farm", kind: str, at: Point, name: str = "") -> "Farm":
    """Return the farm with a point asset more (water, gate, house, tree ...)."""
    from shapely import Point as Spot

    return _add_asset(farm, kind, Spot(at), name)


def remove_thing(farm: "Farm", thing: Thing) -> "Farm":
    """Return the farm without one row of a layer."""
    layer = getattr(farm, thing.layer)
    return farm.with_(**{thing.layer: layer.drop(index=layer.index[thing.row]).reset_index(drop=True)})


def paths_of(shape: Any) -> tuple[list[list[list[Point]]], bool]:
    """Return a shape's corners by part and ring (a line or a point is one part of one ring), and whether they close."""
    if shape.geom_type in {"Polygon", "MultiPolygon"}:
        return rings_of(shape), True
    parts = getattr(shape, "geoms", [shape])
    return [[[(x, y) for x, y, *_ in part.coords]] for part in parts], False


def reshape_thing(farm: "Farm", thing: Thing, part: int, corners: list[Point]) -> "Farm":
    """Return the farm with the outer corners of one part of a thing (no paddock) changed."""
    from shapely import LineString, MultiLineString, MultiPolygon, Polygon
    from shapely import Point as Spot

    shape = getattr(farm, thing.layer).geometry.iloc[thing.row]
    paths, closed = paths_of(shape)
    paths[part][0] = corners
    if closed:
        checked_area(corners, thing.name)
        areas = [Polygon(rings[0], rings[1:]) for rings in paths]
        return with_shape(farm, thing.layer, thing.row, areas[0] if len(areas) == 1 else MultiPolygon(areas))
    if shape.geom_type == "Point":
        return with_shape(farm, thing.layer, thing.row, Spot(corners[0]))
    _checked_line(corners, thing.name)
    lines = [LineString(rings[0]) for rings in paths]
    return with_shape(farm, thing.layer, thing.row, lines[0] if len(lines) == 1 else MultiLineString(lines))


def thing_at(farm: "Farm", at: Point, within_m: float) -> Thing | None:
    """Return the thing at a place, lines and spots before areas, or None; a paddock is no thing here."""
    from shapely import Point as Spot

    spot, found = Spot(at), []
    for layer, key in (("assets", "name"), ("breaks_there", ""), ("neighbours", "name")):
        table = getattr(farm, layer)
        if not len(table):
            continue
        away = table.geometry.distance(spot).to_numpy()
        for row in (away <= within_m).nonzero()[0]:
            name = str(table[key].iloc[row]) if key else "the firebreak"
            name = name or str(table["kind"].iloc[row] if layer == "assets" else "the neighbour's land")
            found.append((table.geometry.iloc[row].area, float(away[row]), Thing(layer, int(row), name)))
    return min(found)[2] if found else None


def _checked_line(corners: Sequence[Point], where: str) -> Any:
    from shapely import LineString

    if len(corners) < 2 or LineString(corners).length < 1:
        raise MapperError("a line needs two points or more", where, "Click where it goes on")
    # Ends that meet shut a ring, as a break all the way round does; nothing else may touch.
    shut = len(corners) > 3 and LineString([corners[0], corners[-1]]).length <= CLOSE_TO
    met = crossings(corners[:-1] if shut else corners, closed=shut)
    if met:
        words = f"the line crosses itself near {met[0][0]:.0f} E {met[0][1]:.0f} N"
        raise CrossingError(words, where, "Draw it so that it does not", met[0])
    return LineString(corners)


def _free(stem: str, known: set[str]) -> str:
    n = 1
    while f"{stem}{n}" in known:
        n += 1
    return f"{stem}{n}"


def _joined(farm: "Farm", name: str, data: dict[str, Any], shapes: Sequence[Any]) -> "Farm":
    from mapper.farm.layers import make_layer, stack_layers

    new = make_layer(name, data, list(shapes), farm.grid.crs)
    return farm.with_(**{name: stack_layers(name, [getattr(farm, name), new], farm.grid.crs)})
