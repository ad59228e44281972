"""The season on one sheet: every night, what the season burnt and left, and whether it worked."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import geopandas as gpd
import pandas as pd
import shapely

from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.words import tr
from mapper.farm.farm import Farm
from mapper.record.season import Season
from mapper.sheets.afterburn import RECORD_CAUTION
from mapper.sheets.backs import list_item
from mapper.sheets.flow import Item, flow
from mapper.sheets.mapframe import lay_map, map_view, paint_map, scale_bar
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import paint_caution
from mapper.sheets.table import table_item

_X, _W = 8.0, 281.0
_MAP = Box(190.0, 22.0, 97.0, 100.0)
_FIRST = Box(_X, 22.0, 176.0, 164.0)
_REST = Box(_X, 22.0, _W, 164.0)


def season_sides(
    season: Season, farm: Farm, burnt: gpd.GeoDataFrame, made_at: datetime
) -> list[Callable[[Page], None]]:
    """Return the sides of a season's report, A4 lying. burnt: layer "row_parts" of all rows fire went along."""
    pages = flow([list_item(tr("THE SEASON"), season_words(season), False), _nights(season)], [_FIRST])

    def front(page: Page) -> None:
        _title(page, season, farm, made_at)
        for item, box in pages[0]:
            item.paint(page, box)
        land = shapely.union_all(farm.paddocks.geometry.to_numpy())
        if land.is_empty:
            return
        view = map_view(land, _MAP, 0.0, 4.0)
        scene = Scene({"paddocks": farm.paddocks, "row_parts": burnt})
        paint_map(page, lay_map(_MAP, view, scene, Style(PAPER), [], []))
        scale_bar(page, _MAP.x + 1, _MAP.bottom + 9.0, view, 40.0)
        page.text(_MAP.right, _MAP.bottom + 9.5, f"1:{view.scale:,.0f}", 8, align="right")
        page.paragraph(Box(_MAP.x, _MAP.bottom + 12.0, _MAP.w, 12.0), tr("Rows burnt this season."), 8.5, True)

    def overleaf(placed: list[tuple[Item, Box]]) -> Callable[[Page], None]:
        def paint(page: Page) -> None:
            _title(page, season, farm, made_at)
            for item, box in placed:
                item.paint(page, box)

        return paint

    rest = [item for page in pages[1:] for item, _ in page]
    return [front, *(overleaf(placed) for placed in (flow(rest, [_REST]) if rest else []))]


def _title(page: Page, season: Season, farm: Farm, made_at: datetime) -> None:
    wide = page.text(_X, 15.0, tr("Season {name}").format(name=season.season), 19, True)
    invented = tr(" (invented data)") if farm.invented and "invented" not in farm.name else ""
    page.text(_X + wide + 5, 15.0, f"{farm.name}{invented}", 10, True)
    page.text(page.width - _X, 15.0, f"{made_at.astimezone(ZoneInfo(farm.zone)):%-d %B %Y}", 10, False, "right")
    page.line(_X, 18.6, page.width - _X, 18.6, 0.8)
    paint_caution(page, Box(_X, 189.0, _W, 6.0), RECORD_CAUTION)
    page.text(_X, 200.0, tr("Rows are counted from what was written down, not measured. Grid {grid}.").format(
        grid=farm.grid.name), 7.5)  # fmt: skip


def season_words(season: Season) -> list[str]:
    """Return what a season says, a sentence a line."""
    nights = season.nights
    said = [
        tr("Nights: {nights}. Rows burnt: {rows}; {km:.1f} of {planned:.1f} km of row.").format(
            nights=len(nights), rows=int(nights["rows_burnt"].sum()), km=nights["km_burnt"].sum(),
            planned=nights["km_planned"].sum(),
        ),
        tr("Burnt ground {ha:.1f} ha, {share:.1f} % of the farm.").format(
            ha=nights["burnt_ha"].sum(), share=100 * season.burnt_share
        ),
        tr("Fires that got away: {count}; they burnt {ha:.2f} ha.").format(
            count=int(nights["escapes"].sum()), ha=nights["escaped_ha"].sum()
        ),
        *_cover_words(season),
    ]  # fmt: skip
    if pd.isna(season.twice_share):
        said.append(tr("What burnt last season is not known, so neither is what burnt twice."))
    elif season.twice_share > 0:
        said.append(
            tr("{share:.0f} % of what burnt lies on strips burnt last season too: move the header's line.").format(
                share=100 * season.twice_share
            )
        )
    else:
        said.append(tr("No strip was burnt two years running."))
    outside, readings = int(nights["outside_limits"].sum()), int(nights["readings"].sum())
    said.append(tr("Readings: {count}, {outside} outside a limit.").format(count=readings, outside=outside))
    hours = nights["person_hours"].sum(min_count=1)
    if pd.notna(hours):
        said.append(tr("{hours:.0f} hours of work by people.").format(hours=hours))
    cost = nights["cost"].sum(min_count=1)
    if pd.notna(cost):
        said.append(tr("Cost {cost:,.0f}.").format(cost=cost))
    said.append(
        season.worked or tr("No weeds were counted on burnt rows and on others: whether it worked is not known.")
    )
    return said


def _cover_words(season: Season) -> list[str]:
    said = []
    lines: Any = season.cover.itertuples()
    for paddock in lines:
        if pd.isna(paddock.left):
            said.append(tr("{name}: {bared:.0f} % bared by rows; type in its stubble to know the cover left.").format(
                name=paddock.paddock, bared=100 * paddock.bared))  # fmt: skip
            continue
        said.append(tr("{name}: about {left:.0f} % covered ({load:.1f} t/ha of stubble, {source}).").format(
            name=paddock.paddock, left=100 * paddock.left, load=paddock.stubble_t_ha, source=paddock.source,
        ))  # fmt: skip
        if paddock.left < paddock.wanted:
            said.append(tr("{name} keeps less than your {wanted:.0f} % of ground cover.").format(
                name=paddock.paddock, wanted=100 * paddock.wanted))  # fmt: skip
    return said


def _nights(season: Season) -> Item:
    columns = (
        (tr("Night"), 0.13, True), (tr("Paddocks"), 0.17, False), (tr("Rows"), 0.1, False), (tr("km"), 0.07, False),
        (tr("ha burnt"), 0.09, False), (tr("Hours"), 0.07, False), (tr("People"), 0.08, False),
        (tr("Wind off plan"), 0.12, False), (tr("Got away"), 0.09, True), (tr("Cost"), 0.08, False),
    )  # fmt: skip
    lines: Any = season.nights.itertuples()
    rows = [
        (
            f"{n.night:%-d %b %Y}", n.paddocks, f"{n.rows_burnt} of {n.rows}", f"{n.km_burnt:.1f}", f"{n.burnt_ha:.1f}",
            "" if pd.isna(n.hours) else f"{n.hours:.1f}", str(n.people),
            "" if pd.isna(n.wind_error_km_h) else f"{n.wind_error_km_h:+.0f} km/h", str(n.escapes or ""),
            "" if pd.isna(n.cost) else f"{n.cost:,.0f}",
        )
        for n in lines
    ]  # fmt: skip
    return table_item(tr("EVERY NIGHT"), columns, rows)
