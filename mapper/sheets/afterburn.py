"""The after-burn record: the rows as they burnt, times against the plan, readings, escapes, what is still to do."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import shapely

from mapper.draw.asburnt import escape_asks, part_asks, stroke
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.record.entry import Entry, standing
from mapper.record.escape import area_ha, escape_areas, escapes, still_missing
from mapper.record.merge import conflicts
from mapper.record.night import NightRecord
from mapper.record.parts import km_by_state, row_parts, state_of_pieces
from mapper.record.progress import blocks_as_burnt
from mapper.record.readings import readings_table
from mapper.record.said import number_list
from mapper.record.states import FIRE_WENT_ALONG, STATES
from mapper.sheets.backs import list_item, notes_item
from mapper.sheets.flow import Item, flow
from mapper.sheets.mapframe import lay_map, map_view, paint_map, row_turn_deg, scale_bar
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import paint_caution
from mapper.sheets.table import table_item
from mapper.weather.wind import compass_point

Side = Callable[[Page], None]
RECORD_CAUTION = (
    "This record is the farm's own. It does not replace any report that the permit, the local burning code or the fire "
    "authority asks for."
)
_X, _W = 8.0, 194.0
# The map beside its panels where the rest of the night stands under it, else as wide as the page, panels under it.
_MAP, _WIDE_MAP = Box(12.0, 22.0, 112.0, 104.0), Box(12.0, 22.0, 186.0, 172.0)
_ROWS, _TIMES = Box(128.0, 22.0, 74.0, 58.0), Box(128.0, 82.0, 74.0, 55.0)
_WIDE_ROWS, _WIDE_TIMES = Box(_X, 208.0, 96.0, 60.0), Box(_X + 98.0, 208.0, 96.0, 60.0)
_STACK = Box(_X, 139.0, _W, 132.0)
_WHOLE = Box(_X, 22.0, _W, 249.0)
_LIT = ("burnt", "went out", "missed", "cool", "late", "got away", "left", "lit", "")


def record_sides(record: NightRecord, made_at: datetime) -> list[Side]:
    """Return the sides of a night's record, A4 upright: a map for each paddock, then all else in turn."""
    names = [str(n) for n in record.land["paddock"]] or [""]
    parts = row_parts(record)
    pages = flow(_items(record), [_STACK])
    sides: list[Side] = []
    for n, name in enumerate(names):
        mine = parts[parts["paddock"] == name].reset_index(drop=True)
        last = n + 1 == len(names)
        sides.append(_front(record, name, mine, made_at, pages[0] if last and pages else []))
    # What did not fit under the last map runs on over whole sides.
    rest = [item for page in pages[1:] for item, _ in page]
    for placed in flow(rest, [_WHOLE], notes_item()) if rest else []:
        sides.append(_overleaf(record, made_at, placed))
    return sides


def clock(record: NightRecord, when: datetime) -> str:
    """Return a time as read on the farm's clock."""
    return f"{when.astimezone(ZoneInfo(record.zone)):%H:%M}"


def title(page: Page, record: NightRecord, words: str, left: str, made_at: datetime) -> None:
    """Write a record page's head and foot: what it is, of which night and plan, and the caution."""
    wide = page.text(_X, 15.0, words, 17, True)
    invented = tr(" (invented data)") if record.invented and "invented" not in record.farm else ""
    page.text(_X + wide + 5, 11.6, left, 9.5, True, width=page.width - 2 * _X - wide - 52)
    farm = f"{record.farm}{invented}  ·  {tr('plan no. {number}').format(number=record.plan_number)}"
    page.text(_X + wide + 5, 16.4, farm, 8.5, width=page.width - 2 * _X - wide - 52)
    page.text(page.width - _X, 11.6, f"{record.night:%a %-d %B %Y}", 12, True, "right")
    times = [e.at for e in standing(record.entries) if e.kind == "rows" and e.at]
    span = f"{clock(record, min(times))} {tr('to')} {clock(record, max(times))}" if times else tr("no times written")
    page.text(page.width - _X, 16.4, span, 8.5, align="right")
    page.line(_X, 18.6, page.width - _X, 18.6, 0.8)
    paint_caution(page, Box(_X, 272.5, _W, 9.6), RECORD_CAUTION)
    people = ", ".join(dict.fromkeys(e.by for e in record.entries)) or tr("nobody yet")
    foot = tr("Printed {when}. Written down by {people}. Times are clock times read on the paddock.").format(
        when=f"{made_at.astimezone(ZoneInfo(record.zone)):%a %-d %b %Y %H:%M}", people=people
    )
    page.paragraph(Box(_X, 283.5, _W, 8), f"{foot} {record.pieces.crs.name}.", 7.5)


def _front(
    record: NightRecord, name: str, parts: pd.DataFrame, made_at: datetime, placed: list[tuple[Item, Box]]
) -> Side:
    land = record.land[record.land["paddock"] == name].reset_index(drop=True)
    box, rows_box, times_box = (_MAP, _ROWS, _TIMES) if placed else (_WIDE_MAP, _WIDE_ROWS, _WIDE_TIMES)

    def paint(page: Page) -> None:
        area = shapely.union_all(land.geometry.to_numpy())
        km = parts["length_m"].sum() / 1000
        head = tr("{name}  ·  {area:.0f} ha  ·  {rows} rows").format(
            name=name, area=area.area / 10_000, rows=int((parts.groupby("piece_id")["order_no"].first() > 0).sum())
        )
        title(page, record, tr("After-burn record"), head, made_at)
        gone = escape_areas(record)
        gone = gone[gone.distance(area) < 500].reset_index(drop=True)
        seen = shapely.union_all([area, *gone.geometry.to_numpy()])
        view = map_view(seen, box, row_turn_deg(record.pieces[record.pieces["paddock"] == name]), 6.0)
        scene = Scene({"paddocks": land, "row_parts": parts, "escapes": gone})
        asks = part_asks(parts, view) + escape_asks(gone, view)
        paint_map(page, lay_map(box, view, scene, Style(PAPER), asks, []))
        map_foot(page, box, view)
        _rows_panel(page, rows_box, parts, km)
        _times_panel(page, times_box, record, name)
        for item, where in placed:
            item.paint(page, where)

    return paint


def map_foot(page: Page, box: Box, view: View) -> None:
    """Draw scale bar and scale under a map, and how many row numbers found no room on it."""
    scale_bar(page, box.x + 1, box.bottom + 9.0, view, 40.0)
    page.text(box.right, box.bottom + 9.5, f"1:{view.scale:,.0f}", 8, align="right")
    if page.unplaced:
        words = tr("{count} numbers found no room here.").format(count=len(page.unplaced))
        page.text(box.x + 46, box.bottom + 9.5, words, 7.5, width=box.w - 62)


def _overleaf(record: NightRecord, made_at: datetime, placed: list[tuple[Item, Box]]) -> Side:
    def paint(page: Page) -> None:
        title(page, record, tr("After-burn record"), ", ".join(record.land["paddock"]), made_at)
        for item, where in placed:
            item.paint(page, where)

    return paint


def marks_strip(page: Page, x: float, y: float, states: list[str]) -> None:
    """Draw the marks of rows that stand on a map, with their words, in one line."""
    for state in (s for s in _LIT if s in states):
        page.painter.save()
        _mark(page, x, y, state)
        page.painter.restore()
        x += 14.0 + page.text(x + 13.0, y + 1.1, STATES.get(state, tr("Not written down")), 8, True) + 4.0


def _mark(page: Page, x: float, y: float, state: str) -> None:
    stroke(page.painter, np.array([[x, y], [x + 11.0, y]]) * page.k, state, page.k, PAPER, 0.8 * page.k)


def _rows_panel(page: Page, box: Box, parts: pd.DataFrame, km: float) -> None:
    inside = page.panel(box, tr("ROWS"))
    by_state: dict[str, list[int]] = {}
    for number, state in state_of_pieces(parts).items():
        by_state.setdefault(state, []).append(number)
    left = int((parts["order_no"] <= 0).sum())
    shown = [s for s in _LIT if s in by_state or (s == "left" and left)]
    tall = min((inside.h - 8.0) / max(len(shown), 1), 7.0)
    y = inside.y + tall / 2 + 0.6
    for state in shown:
        numbers = by_state.get(state, [])
        _mark(page, inside.x + 2.5, y, state)
        page.text(inside.x + 17, y + 1.2, STATES.get(state, tr("Not written down")), 8.5, True)
        page.text(inside.x + 49, y + 1.2, f"{len(numbers) or left}", 9.5, True, "right")
        some = number_list(numbers) if state not in ("burnt", "left") else tr("parts kept unlit") * (state == "left")
        page.text(inside.x + 51, y + 1.2, some, 8, width=inside.right - inside.x - 52)
        y += tall
    burnt = sum(km_by_state(parts).get(s, 0.0) for s in FIRE_WENT_ALONG)
    page.line(box.x, box.bottom - 7.4, box.right, box.bottom - 7.4, 0.25)
    page.text(box.x + 2, box.bottom - 2.4, tr("{a:.1f} of {b:.1f} km burnt").format(a=burnt, b=km), 9, True)
    share = f"{100 * burnt / km:.0f} %" if km else ""
    page.text(box.right - 2, box.bottom - 2.2, share, 12, True, "right")


def _times_panel(page: Page, box: Box, record: NightRecord, name: str) -> None:
    inside = page.panel(box, tr("TIMES: PLANNED (hollow), REAL (solid)"))
    blocks = blocks_as_burnt(record)
    blocks = blocks[blocks["paddock"] == name].reset_index(drop=True)
    known = blocks[["planned_from", "planned_to", "from", "to"]].stack()
    if known.empty:
        page.text(inside.x + 2, inside.y + 6, tr("No times written down."), 9)
        return
    first, last = known.min().floor("h"), known.max().ceil("h")
    x0, wide = inside.x + 10, inside.w - 16

    def at(when: pd.Timestamp) -> float:
        return float(x0 + wide * ((when - first) / (last - first)))

    hours = pd.date_range(first, last, freq=f"{max(int((last - first).total_seconds() // 3600 // 5), 1)}h")
    for hour in hours:
        page.line(at(hour), inside.y + 5, at(hour), inside.bottom - 1, 0.15, PAPER.soft)
        page.text(at(hour), inside.y + 3.8, clock(record, hour), 7, align="centre")
    tall = min((inside.h - 7) / max(len(blocks), 1), 9.0)
    lines: Any = blocks.itertuples()
    for n, block in enumerate(lines):
        y = inside.y + 6 + n * tall
        page.text(inside.x + 2, y + tall / 2 + 1.4, str(block.block), min(12.0, tall * 2.2), True)
        spans = ((block.planned_from, block.planned_to, "", 0.0), (blocks["from"][n], block.to, PAPER.ink, tall * 0.4))
        for begin, end, fill, down in spans:
            if pd.notna(begin) and pd.notna(end):
                page.rect(Box(at(begin), y + down, max(at(end) - at(begin), 0.8), tall * 0.36), fill, 0.3)


def _items(record: NightRecord) -> list[Item]:
    items = []
    if len(readings_table(record)):
        items.append(_readings_item(record))
    got_away = escapes(record)
    if got_away:
        items.append(_escapes_item(record, got_away))
    to_do = _still_to_do(record)
    if to_do:
        items.append(list_item(tr("STILL TO DO"), to_do, True))
    items.append(_patrol_item(record))
    notes = [f"{clock(record, e.happened)} {_said(e)} ({e.by})" for e in standing(record.entries)
             if e.kind in ("hold", "note", "close")]  # fmt: skip
    if notes:
        items.append(list_item(tr("WHAT HAPPENED"), notes, False))
    items.append(Item("signed", lambda w: 20.0, _signed))
    return items


def _said(entry: Entry) -> str:
    words = {"hold": tr("Lighting held: {text}"), "note": "{text}", "close": tr("The burn was closed.")}[entry.kind]
    return words.format(text=entry.body.get("why") or entry.body.get("text") or "")


def _readings_item(record: NightRecord) -> Item:
    table = readings_table(record)
    columns = ((tr("Time"), 0.08, True), (tr("Wind from"), 0.09, False), (tr("km/h, at"), 0.12, True),
               (tr("Gust"), 0.07, False), (tr("degC"), 0.07, False), (tr("Humidity"), 0.09, False),
               (tr("Index"), 0.07, False), (tr("Forecast km/h"), 0.12, False),
               (tr("Carry on / stop"), 0.29, True))  # fmt: skip
    lines: Any = table.itertuples()
    rows = [
        (
            clock(record, r.time_utc), "" if pd.isna(r.wind_from_deg) else compass_point(r.wind_from_deg),
            f"{r.wind_km_h:.0f} at {r.height_m:g} m", _number(r.gust_km_h), _number(r.temp_c), _number(r.rh_pct),
            _number(r.index), _number(r.wind_km_h_forecast), tr("carry on") if r.carry_on else str(r.why),
        )
        for r in lines
    ]  # fmt: skip
    return table_item(tr("READINGS TAKEN ON THE PADDOCK"), columns, rows)


def _number(value: float) -> str:
    return "" if pd.isna(value) else f"{value:.0f}"


def _escapes_item(record: NightRecord, got_away: tuple[Entry, ...]) -> Item:
    columns = ((tr("No."), 0.07, True), (tr("Noticed"), 0.09, True), (tr("Where"), 0.22, False),
               (tr("What burnt"), 0.22, False), (tr("Out at"), 0.1, True), (tr("ha"), 0.08, False),
               (tr("Authority told"), 0.22, False))  # fmt: skip
    rows = []
    for e in got_away:
        body, size = e.body, area_ha(e)
        rows.append((f"!{body['name']}", clock(record, e.happened), str(body.get("place", "")),
                     str(body.get("burnt", "")), str(body.get("out_at", "")), "" if pd.isna(size) else f"{size:.2g}",
                     str(body.get("told", ""))))  # fmt: skip
    return table_item(tr("FIRE THAT GOT AWAY"), columns, rows)


def _still_to_do(record: NightRecord) -> list[str]:
    found = []
    by_state: dict[str, list[int]] = {}
    for number, state in state_of_pieces(row_parts(record)).items():
        by_state.setdefault(state, []).append(number)
    for state, words in (
        ("missed", tr("Light, or look at in the next crop: rows {rows} (missed)")),
        ("went out", tr("Light again, or look at in the next crop: rows {rows} (went out)")),
        ("lit", tr("Still written as alight: rows {rows}. See that they are out")),
        ("", tr("Not written down: rows {rows}")),
    ):
        if state in by_state:
            found.append(words.format(rows=number_list(by_state[state])) + ".")
    for escape in escapes(record):
        missing = ", ".join(f.label.lower() for f in still_missing(escape, record.escape_fields))
        if missing:
            found.append(tr("{name}: write down {what}.").format(name=escape.body["name"], what=missing))
    return found + [c.text for c in conflicts(record.entries)]


def _patrol_item(record: NightRecord) -> Item:
    columns = ((tr("When"), 0.14, True), (tr("Place"), 0.2, False), (tr("Smoke or heat seen"), 0.3, False),
               (tr("Done"), 0.2, False), (tr("By"), 0.16, False))  # fmt: skip
    zone = ZoneInfo(record.zone)
    rows = [
        (f"{e.happened.astimezone(zone):%a %H:%M}", str(e.body.get("place", "")), str(e.body["seen"]),
         str(e.body.get("done", "")), e.by)
        for e in standing(record.entries) if e.kind == "patrol"
    ]  # fmt: skip
    # Lines to write on: burns of the last two days are looked at before wind (CFA advice, read).
    rows += [("", "", "", "", "")] * max(4 - len(rows), 1)
    return table_item(tr("LOOKED AT AGAIN"), columns, rows)


def _signed(page: Page, box: Box) -> None:
    inside = page.panel(box, tr("SIGNED"), black=False)
    y = inside.y + 9.0
    for n, words in enumerate((tr("In charge"), tr("Date, time"), tr("Permit no."))):
        x = inside.x + 2 + n * inside.w / 3
        wide = page.text(x, y, words, 9, True)
        page.blank(x + wide + 2, inside.x + (n + 1) * inside.w / 3 - 3, y + 0.6)
