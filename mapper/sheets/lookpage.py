"""Where to look in the next crop: the places on a map, and how far along which row each lies."""

from collections.abc import Callable
from datetime import datetime

import geopandas as gpd
import shapely
from pyproj import Transformer

from mapper.draw.asburnt import part_asks
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.words import tr
from mapper.record.look import look_here
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.sheets.afterburn import map_foot, marks_strip, title
from mapper.sheets.backs import list_item
from mapper.sheets.flow import flow
from mapper.sheets.mapframe import lay_map, map_view, paint_map, row_turn_deg
from mapper.sheets.page import Box, Page
from mapper.sheets.table import table_item

_MAP = Box(12.0, 22.0, 186.0, 118.0)
_STACK = Box(8.0, 159.0, 194.0, 112.0)
_WHOLE = Box(8.0, 22.0, 194.0, 249.0)


def look_sides(record: NightRecord, made_at: datetime) -> list[Callable[[Page], None]]:
    """Return the sides: for each paddock its map and its places, then what did not fit; each row left stays a layer."""
    places = look_here(record)
    sides = []
    for name in dict.fromkeys(places["paddock"]):
        mine = places[places["paddock"] == name].reset_index(drop=True)
        # Rows that the plan left stand together on the map, dotted: a line a reason, not a line a row.
        left = mine[(mine["state"] == "left") & (mine["order_no"] == 0)]
        named = mine.drop(left.index)
        items = []
        if len(named):
            items.append(table_item(tr("PLACES, WORST FIRST"), _columns(), _rows(named)))
        if len(left):
            items.append(list_item(tr("ROWS LEFT ON PURPOSE, DOTTED ON THE MAP"), _left_words(left), False))
        placed = flow(items, [_STACK])
        sides.append(_front(record, str(name), made_at, placed[0]))
        rest = [i for page in placed[1:] for i, _ in page]
        sides += [_overleaf(record, str(name), made_at, p) for p in (flow(rest, [_WHOLE]) if rest else [])]
    return sides


def _left_words(left: gpd.GeoDataFrame) -> list[str]:
    return [
        tr("{why}: {count} stretches, {km:.1f} km").format(
            why=reason, count=len(some), km=some["length_m"].sum() / 1000
        )
        for reason, some in left.groupby("reason", sort=False)
    ]  # fmt: skip


def _columns() -> tuple[tuple[str, float, bool], ...]:
    return ((tr("Place"), 0.08, True), (tr("Row"), 0.1, True), (tr("Block"), 0.08, False),
            (tr("From its lighting end"), 0.2, True), (tr("Begins at"), 0.22, False),
            (tr("Why"), 0.32, False))  # fmt: skip


def _rows(places: gpd.GeoDataFrame) -> list[tuple[str, ...]]:
    to_degrees = Transformer.from_crs(places.crs, "EPSG:4326", always_xy=True)
    begins = shapely.get_coordinates(shapely.get_point(places.geometry.to_numpy(), 0))
    lon, lat = to_degrees.transform(begins[:, 0], begins[:, 1])
    return [
        (p.place, str(p.order_no) if p.order_no else "", p.block, f"{p.from_m:.0f} {tr('to')} {p.to_m:.0f} m",
         f"{lat[k]:.5f}, {lon[k]:.5f}", p.reason)
        for k, p in enumerate(places.itertuples())
    ]  # fmt: skip


def _front(record: NightRecord, name: str, made_at: datetime, placed: list) -> Callable[[Page], None]:  # type: ignore[type-arg]
    def paint(page: Page) -> None:
        title(page, record, tr("Look here in the next crop"), name, made_at)
        land = record.land[record.land["paddock"] == name].reset_index(drop=True)
        parts = row_parts(record)
        parts = parts[parts["paddock"] == name].reset_index(drop=True)
        view = map_view(shapely.union_all(land.geometry.to_numpy()), _MAP,
                        row_turn_deg(record.pieces[record.pieces["paddock"] == name]), 6.0)  # fmt: skip
        scene = Scene({"paddocks": land, "row_parts": parts})
        paint_map(page, lay_map(_MAP, view, scene, Style(PAPER), part_asks(parts, view), []))
        map_foot(page, _MAP, view)
        marks_strip(page, _MAP.x, 155.0, sorted(set(parts["state"])))
        for item, box in placed:
            item.paint(page, box)

    return paint


def _overleaf(record: NightRecord, name: str, made_at: datetime, placed: list) -> Callable[[Page], None]:  # type: ignore[type-arg]
    def paint(page: Page) -> None:
        title(page, record, tr("Look here in the next crop"), name, made_at)
        for item, box in placed:
            item.paint(page, box)

    return paint
