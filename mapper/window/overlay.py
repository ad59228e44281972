"""What the map marks over its frame, and what lies under the pointer."""

from typing import TYPE_CHECKING, Any

import shapely
from PySide6.QtGui import QPainterPath

from mapper.draw.strokes import path_of
from mapper.window.shapes import Point

if TYPE_CHECKING:
    from mapper.draw.view import View
    from mapper.window.state import Session


def picked_rows(session: "Session", view: "View") -> list[QPainterPath]:
    """Return the line of the picked row."""
    rows = session.rows_shown
    if not session.row_id or rows is None:
        return []
    mine = rows["row_id"] == session.row_id
    # A row has several pieces where blocks part it.
    if session.block and "block" in rows:
        mine &= rows["block"] == session.block
    found = rows[mine].geometry
    return [path_of(view.points(shapely.get_coordinates(line))) for line in found]


def found_at(session: "Session", at: Point, within_m: float) -> tuple[str, str, str]:
    """Return paddock, row and block at a place (farm metres); empty where there is none."""
    farm = session.farm
    if farm is None:
        return "", "", ""
    spot = shapely.Point(at)
    inside = farm.paddocks[farm.paddocks.geometry.contains(spot)]
    paddock = "" if inside.empty else str(inside["paddock"].iloc[0])
    row = _nearest(session.rows_shown, spot, within_m)
    if row is not None:
        paddock = str(row["paddock"])
        if "block" in row:
            return paddock, str(row["row_id"]), str(row["block"])
    blocks = session.layer("blocks")
    block = ""
    if blocks is not None and len(blocks):
        here = blocks[(blocks["paddock"] == paddock) & blocks.geometry.contains(spot)]
        block = "" if here.empty else str(here["block"].iloc[0])
    return paddock, "" if row is None else str(row["row_id"]), block


def _nearest(layer: Any, spot: shapely.Point, within_m: float) -> Any:
    if layer is None or layer.empty:
        return None
    k, _ = layer.sindex.nearest(spot, return_all=False, return_distance=True, max_distance=max(within_m, 1e-6))
    return layer.iloc[int(k[1][0])] if k.size else None
