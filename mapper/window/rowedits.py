"""What a hand does to rows, as functions: a farm in, a changed farm out. Kept by place (farm/rowedit.py)."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from mapper.farm.errors import MapperError
from mapper.window.shapes import Point

if TYPE_CHECKING:
    from mapper.farm.farm import Farm, Harvester


def _with(farm: "Farm", **edit: Any) -> "Farm":
    from mapper.farm.rowedit import RowEdit

    return farm.with_(row_edits=(*farm.row_edits, RowEdit(**edit)))


def draw_row(farm: "Farm", paddock: str, line: Sequence[Point]) -> "Farm":
    """Return the farm with a row more, drawn in the way it is driven. Raises MapperError under two points or 2 m."""
    return _with(farm, action="draw", paddock=paddock, now=_line(line, paddock))


def move_row(farm: "Farm", paddock: str, row: Any, by: Point) -> "Farm":
    """Return the farm with a row (its line) moved by so many metres east and north."""
    from shapely.affinity import translate

    return _with(farm, action="move", paddock=paddock, was=row, now=translate(row, *by))


def split_row(farm: "Farm", paddock: str, row: Any, at: Point) -> "Farm":
    """Return the farm with a row (its line) cut at the place on it nearest to a point."""
    from shapely import Point as Spot

    return _with(farm, action="split", paddock=paddock, was=row, at=row.interpolate(row.project(Spot(at))))


def delete_row(farm: "Farm", paddock: str, row: Any) -> "Farm":
    """Return the farm with a row (its line) that is no row."""
    return _with(farm, action="delete", paddock=paddock, was=row)


def see_row(farm: "Farm", paddock: str, line: Sequence[Point]) -> "Farm":
    """Return the farm with a row seen on a picture or walked: a pattern is fitted to such rows."""
    from mapper.farm.layers import make_layer, stack_layers

    crs = farm.grid.crs
    new = make_layer("rows_seen", {"paddock": [paddock], "note": ["drawn on the map"]}, [_line(line, paddock)], crs)
    old = [] if farm.rows_seen is None else [farm.rows_seen]
    return farm.with_(rows_seen=stack_layers("rows_seen", [*old, new], crs))


def forget_seen(farm: "Farm", paddock: str) -> "Farm":
    """Return the farm without the seen rows of a paddock."""
    if farm.rows_seen is None:
        return farm
    rest = farm.rows_seen[farm.rows_seen["paddock"] != paddock].reset_index(drop=True)
    return farm.with_(rows_seen=rest if len(rest) else None)


def set_harvester(farm: "Farm", machine: "Harvester") -> "Farm":
    """Return the farm with one harvester's settings put in the place of those it had."""
    return farm.with_(harvesters=tuple(machine if h.machine == machine.machine else h for h in farm.harvesters))


def set_machine_figure(farm: "Farm", name: str, key: str, value: Any) -> "Farm":
    """Return the farm with one figure of a harvester changed. Raises MapperError where it makes no sense."""
    machine = next(h for h in farm.harvesters if h.machine == name)
    return set_harvester(farm, replace(machine, **{key: value}))


def _line(points: Sequence[Point], paddock: str) -> Any:
    from shapely import LineString

    if len(points) < 2:
        raise MapperError("a row needs two points or more", f"paddock {paddock}", "Click where it ends")
    return LineString(points)
