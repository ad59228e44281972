"""One escape as a page to send in: every field that is asked for, filled in or left as a line to write on."""

from collections.abc import Callable
from datetime import datetime

import pandas as pd
import shapely

from mapper.draw.asburnt import escape_asks
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.words import tr
from mapper.record.entry import Entry
from mapper.record.escape import area_ha, escape_areas
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.record.readings import readings_table
from mapper.sheets.afterburn import clock, title
from mapper.sheets.mapframe import lay_map, map_view, paint_map, scale_bar
from mapper.sheets.page import Box, Page, wrap

_X, _W = 8.0, 194.0


def escape_side(record: NightRecord, escape: Entry, made_at: datetime) -> Callable[[Page], None]:
    """Return the painter of an escape's page."""

    def paint(page: Page) -> None:
        name = str(escape.body["name"])
        title(page, record, tr("Fire that got away: {name}").format(name=name), "", made_at)
        shapes = escape_areas(record)
        mine = shapes[shapes["entry_id"] == escape.entry_id].reset_index(drop=True)
        top = 24.0
        if len(mine):
            top = _map(page, Box(12.0, 22.0, 186.0, 96.0), record, mine) + 4.0
        y = top
        for field in record.escape_fields:
            y = _field(page, y, field.label, field.source, _words(record, escape, field.key))
        y = _weather(page, y + 2.0, record, escape)
        page.text(_X, min(y + 8.0, 268.0), tr("Signed: ____________________   Date: ____ / ____ / ______"), 9.5, True)

    return paint


def _map(page: Page, box: Box, record: NightRecord, mine: pd.DataFrame) -> float:
    view = map_view(shapely.union_all(mine.geometry.to_numpy()).buffer(150), box, 0.0, 4.0)
    scene = Scene({"paddocks": record.land, "row_parts": row_parts(record), "escapes": mine})
    paint_map(page, lay_map(box, view, scene, Style(PAPER), escape_asks(mine, view), []))
    scale_bar(page, box.x + 1, box.bottom + 9.0, view, 40.0)
    page.text(box.right, box.bottom + 9.5, f"1:{view.scale:,.0f}", 8, align="right")
    return box.bottom + 12.0


def _words(record: NightRecord, escape: Entry, key: str) -> str:
    if key == "noticed_at":
        return f"{record.night:%a %-d %B %Y}, {clock(record, escape.at)}" if escape.at else ""
    if key == "area_ha":
        size = area_ha(escape)
        return "" if pd.isna(size) else f"{size:.2g} ha"
    return str(escape.body.get(key) or "")


def _field(page: Page, y: float, label: str, source: str, words: str) -> float:
    page.text(_X, y + 4.0, label, 9.5, True)
    page.text(_X, y + 7.4, source, 7, colour=PAPER.soft, width=58.0)
    x = _X + 60.0
    lines = max(len(wrap(words, 10, False, _W - 60.0)), 1)
    tall = max(lines * 4.4 + 4.0, 9.4)
    if words:
        page.paragraph(Box(x, y + 0.6, _W - 60.0, tall), words, 10)
    else:
        page.blank(x, _X + _W, y + 5.0)
    page.line(_X, y + tall, _X + _W, y + tall, 0.12, "#8A8A8A")
    return y + tall + 0.6


def _weather(page: Page, y: float, record: NightRecord, escape: Entry) -> float:
    """The reading nearest in time, and the forecast of that hour."""
    table = readings_table(record)
    if table.empty:
        return y
    gap = (table["time_utc"] - pd.Timestamp(escape.happened)).abs()
    near = table.iloc[int(gap.to_numpy().argmin())]
    gust = "" if pd.isna(near["gust_km_h"]) else tr(", gust {gust:.0f}").format(gust=near["gust_km_h"])
    said = tr("Nearest reading, {when}: wind {wind:.0f} km/h at {height:g} m{gust}, {temp:.0f} degC, {rh:.0f} %.")
    words = said.format(
        when=clock(record, near["time_utc"]), wind=near["wind_km_h"], height=near["height_m"], gust=gust,
        temp=near["temp_c"], rh=near["rh_pct"],
    )  # fmt: skip
    return y + page.paragraph(Box(_X, y, _W, 12.0), words, 9.5, True)
