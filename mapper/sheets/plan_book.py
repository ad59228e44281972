"""The plan book: the burn plan in words, parts as published planning standards ask for, bound with its maps.

Parts follow the Interagency Prescribed Fire Planning Guide (PMS 484) and NRCS job sheet 338: place and directions,
objectives, prescription, weather, breaks, hazards, people, clothing, first aid, communication, notices, test fire,
lighting and holding, contingency, smoke, patrol, after-burn record, sign-off.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial
from typing import Any

import numpy as np
import pandas as pd
import shapely

from mapper.draw.naming import asset_asks, land_asks, map_obstacles
from mapper.draw.palette import PAPER
from mapper.draw.scene import Style
from mapper.draw.words import tr
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets import charts
from mapper.sheets.backs import list_item
from mapper.sheets.bookitems import chart_item, part_item, signature_item
from mapper.sheets.buffer_map import break_columns, break_rows, care_columns, keep_clear_of
from mapper.sheets.flow import Item, Placed, flow
from mapper.sheets.formats import TOP
from mapper.sheets.limitpanel import limit_lines, stop_words
from mapper.sheets.mapframe import Laid, lay_map, map_view, paint_map
from mapper.sheets.night import area_words, clock, day, gate_place, in_charge, lands_of, lit_span, nearest_road, when
from mapper.sheets.order import left_words, order_columns, order_rows
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import farm_words, paint_caution, paint_not_a_go, title_bar
from mapper.sheets.scenes import night_scene
from mapper.sheets.table import Column, table_item
from mapper.sheets.texts import LINE, lines_of, set_by

Side = Callable[[Page], None]
_STACK = Box(10.0, TOP + 0.5, 190.0, 256.0)


@dataclass(frozen=True)
class Part:
    """One numbered part: its name and its items."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Bound:
    """A sheet bound into the book: its name in the contents and its sides, A4 portrait."""

    name: str
    sides: tuple[Side, ...]


def sides(plan: BurnPlan, bound: Sequence[Bound]) -> list[Side]:
    """Return the painters of the book's pages: cover, parts, then the sheets that are bound in."""
    return _Book(plan, bound).sides()


def _text(plan: BurnPlan, name: str, key: str, more: Sequence[str] = ()) -> Item:
    return part_item(name, [*more, *lines_of(plan, key)], set_by(plan, key))


def _table(title: str, columns: Sequence[tuple[str, float, bool]], rows: Sequence[Sequence[str]]) -> Item:
    return table_item(title, columns, rows, 8.5)


def parts_of(plan: BurnPlan) -> list[Part]:
    """Return the parts in their order, filled from the plan where it knows, with lines to write on where not."""
    return [
        Part(tr("Go or no go"), (_go(plan), *_against(plan), _limits(plan))),
        Part(tr("Place and way in"), (_text(plan, "", "directions"), _place(plan))),
        Part(tr("Objectives"), (_text(plan, "", "objectives"),)),
        Part(tr("Prescription"), (_prescription(plan), _limit_sources(plan))),
        Part(tr("Weather"), _weather(plan)),
        Part(tr("Breaks"), (_table(tr("BREAKS: PRESENT AGAINST WANTED"), break_columns(), break_rows(plan)),)),
        Part(tr("Hazards and what to keep clear of"), _hazards(plan)),
        Part(tr("People and equipment"), (_text(plan, "", "complexity"), _people(plan))),
        Part(tr("Protective clothing"), (_text(plan, "", "clothing"),)),
        Part(tr("First aid and medical"), (_text(plan, "", "first_aid"),)),
        Part(tr("Communication"), (_text(plan, "", "communication"),)),
        Part(tr("Notices"), (_told(plan),)),
        Part(tr("Test fire"), (_text(plan, "", "test_fire"),)),
        Part(tr("Lighting"), _lighting(plan)),
        Part(tr("Holding"), (_text(plan, "", "holding"),)),
        Part(tr("Contingency"), (_text(plan, "", "contingency"), *_escapes(plan), _wrong(plan))),
        Part(tr("Smoke"), (_text(plan, "", "smoke", _smoke_lines(plan)),)),
        Part(tr("Patrol"), (_text(plan, "", "patrol", _patrol_lines(plan)),)),
        Part(tr("After-burn record"), (_text(plan, "", "after_burn"),)),
        Part(tr("Sign-off"), (signature_item((tr("Plan written by"), tr("Plan read by"), tr("Breaks walked by"),
                                              tr("Go, person in charge"), tr("Out and left, person in charge"))),)),
        Part(tr("What the plan says of itself"), _own_words(plan)),
        Part(tr("Glossary"), (_text(plan, "", "glossary"),)),
    ]  # fmt: skip


def _prescription(plan: BurnPlan) -> Item:
    return _text(plan, "", "prescription", [tr("Stop and hold {words}").format(words=stop_words(plan))])


def _go(plan: BurnPlan) -> Item:
    ban = plan.ban
    checked = tr("No ban declared today: checked at {at} by {by}").format(
        at=when(plan, ban.checked_at) if ban.state == "none" and ban.checked_at is not None else LINE,
        by=(ban.by if ban.state == "none" else "") or LINE)  # fmt: skip
    lines = [checked, tr("Permit here, number: {line}").format(line=LINE),
             tr("Fire service told at {line} by {line}, spoke with {line}").format(line=LINE)]  # fmt: skip
    return part_item("", lines, "", True)


def _against(plan: BurnPlan) -> tuple[Item, ...]:
    if plan.go:
        return (part_item("", [tr("Nothing that the program checked stands against lighting. The permit and the person "
                                  "in charge decide.")]),)  # fmt: skip
    return (list_item(tr("NOT A GO BECAUSE"), list(plan.against), True),)


def _limits(plan: BurnPlan) -> Item:
    rows = [(what, value or LINE, "", "", "[]") for what, value, _ in limit_lines(plan, None)[3:]]
    columns: tuple[Column, ...] = (
        (tr("Light only if"), 0.32, True), (tr("Limit"), 0.28, True), (tr("Read at"), 0.14, False),
        (tr("Reading"), 0.18, False), ("", 0.08, False),
    )  # fmt: skip
    return _table(tr("LIGHT ONLY IF ALL ARE TICKED"), columns, rows)


def _place(plan: BurnPlan) -> Item:
    rows = []
    for name in plan.paddocks:
        gate = gate_place(plan, name)
        place = gate.words.split(": ", 1)[1].removesuffix(" (WGS 84)")
        crop = str(plan.farm.paddock(name)["crop"]) or LINE
        grid = f"{gate.east:.0f} E {gate.north:.0f} N"
        road = nearest_road(plan, name) or LINE
        rows.append((name, area_words(lands_of(plan, name)), crop, gate.name, place, grid, road))
    columns: tuple[Column, ...] = (
        (tr("Paddock"), 0.17, True), (tr("Area"), 0.08, False), (tr("Crop"), 0.1, False), (tr("Gate"), 0.12, True),
        (tr("Latitude, longitude (WGS 84)"), 0.22, True), (tr("Grid, m"), 0.16, False), (tr("Road"), 0.15, False),
    )  # fmt: skip
    return _table(tr("WHERE"), columns, rows)


def _limit_sources(plan: BurnPlan) -> Item:
    rows = []
    for limit in plan.farm.limits.limits.values():
        height = f", {limit.averaging_min:g} min at {limit.height_m:g} m" if limit.kind.group == "weather" and (
            limit.key.startswith(("wind", "gust"))) else ""  # fmt: skip
        who = f"{limit.source}, {limit.date}" + (f" ({tr('starting value')})" if limit.starting else "")
        unit = limit.unit.replace("degC", "°C").replace("ug/m3", "µg/m³")
        rows.append((limit.kind.label, f"{limit.value:g} {unit}".strip() + height, who))
    columns: tuple[Column, ...] = (
        (tr("Local limit"), 0.3, True),
        (tr("Value"), 0.25, True),
        (tr("Who set it"), 0.45, False),
    )
    return _table(tr("LOCAL LIMITS"), columns, rows)


def _weather(plan: BurnPlan) -> tuple[Item, ...]:
    items: list[Item] = []
    if plan.weather is not None:
        said = [tr("Forecast: {issue}.").format(issue=plan.weather.issue), plan.weather.rows.words,
                *plan.weather.rows.why, *plan.weather.four.words]  # fmt: skip
        items.append(part_item("", said))
    if not len(plan.hours):
        return (*items, part_item("", [tr("No forecast covers this night: {line}").format(line=LINE)]))
    drawn = [("hours", charts.hours_chart), ("air", charts.air_chart)]
    if np.isfinite(plan.hours["moisture_pct"]).any():
        drawn.append(("moisture", charts.moisture_chart))
    if plan.weather is not None and plan.weather.stop_winds:
        drawn.append(("stop wind", charts.stop_wind_chart))
    items += [chart_item(name, partial(paint, plan)) for name, paint in drawn]
    items.append(_hours(plan))
    for table in plan.weather.stop_winds if plan.weather is not None else ():
        columns: list[tuple[str, float, bool]] = [(tr("Air, °C"), 0.16, True)]
        columns += [(f"{h} %", 0.84 / len(table.rh_pct), True) for h in table.rh_pct]
        rows = [(f"{t}", *(f"{v:.0f}" for v in line)) for t, line in zip(table.temp_c, table.wind_km_h, strict=True)]
        items.append(table_item(table.title, columns, rows, 8.5, 4.6))
        items.append(part_item("", [table.rule], table.source))
    return tuple(items)


def _hours(plan: BurnPlan) -> Item:
    rows = []
    hour: Any
    for hour in charts.evening_hours(plan).itertuples():
        gust = "" if np.isnan(hour.gust_km_h) else f"{hour.gust_km_h:.0f}"
        rows.append((clock(plan, hour.time_utc), f"{hour.wind_from_deg:.0f}°", f"{hour.wind_km_h:.0f}", gust,
                     f"{hour.temp_c:.0f}", f"{hour.rh_pct:.0f}", f"{hour.moisture_pct:.0f}", hour.verdict,
                     str(hour.why).split("; ", 1)[0]))  # fmt: skip
    columns: tuple[Column, ...] = (
        (tr("Hour"), 0.08, True), (tr("From"), 0.07, False), ("km/h", 0.06, True), (tr("Gust"), 0.06, False),
        ("°C", 0.05, False), (tr("RH %"), 0.06, False), (tr("Straw %"), 0.07, False), (tr("Verdict"), 0.1, True),
        (tr("First reason"), 0.45, False),
    )  # fmt: skip
    return _table(tr("HOURS OF THE EVENING"), columns, rows)


def _hazards(plan: BurnPlan) -> tuple[Item, ...]:
    own = part_item("", [tr("Power lines, wells, wires, holes, old tips, chemicals, gas: {line}").format(line=LINE)])
    return (_table(tr("WHAT TO KEEP CLEAR OF"), care_columns(), [k.cells for k in keep_clear_of(plan)]), own)


def _escapes(plan: BurnPlan) -> tuple[Item, ...]:
    table = plan.escapes
    if not len(table):
        return ()
    near = table.sort_values("minutes").drop_duplicates(["paddock", "side", "name"]).head(14)
    rows = [
        (str(e.paddock), str(e.side), str(e.name), f"{max(int(float(str(e.minutes))), 0)} min")
        for e in near.itertuples()
    ]
    columns: tuple[Column, ...] = (
        (tr("Paddock"), 0.28, True), (tr("Side"), 0.2, False), (tr("Reaches"), 0.34, True),
        (tr("Soonest after"), 0.18, True),
    )  # fmt: skip
    return (_table(tr("IF FIRE GETS OVER A SIDE, IN THE FORECAST WIND"), columns, rows),)


def _people(plan: BurnPlan) -> Item:
    blank = ("", "", "", "")
    rows = [(c.crew, str(c.people), str(c.units), f"{c.water_l:,.0f} L", *blank) for c in plan.farm.crews]
    rows = [(in_charge(plan), "", "", "", plan.farm.phone, *blank[1:]), *rows, *[("", "", "", "", *blank)] * 3]
    columns: tuple[Column, ...] = (
        (tr("Crew or person"), 0.2, True), (tr("People"), 0.08, False), (tr("Units"), 0.07, False),
        (tr("Water"), 0.1, False), (tr("Phone"), 0.15, False), (tr("Names"), 0.2, False), (tr("Job"), 0.1, False),
        (tr("Here at"), 0.1, False),
    )  # fmt: skip
    return _table(tr("WHO IS HERE"), columns, rows)


def _told(plan: BurnPlan) -> Item:
    rows = []
    row: Any
    for row in plan.tell.itertuples() if len(plan.tell) else ():
        by = "" if pd.isna(row.by) else when(plan, row.by)
        rows.append((str(row.who), str(row.phone), str(row.why), by, str(row.told_at) or "", ""))
    columns: tuple[Column, ...] = (
        (tr("Who"), 0.22, True), (tr("Phone"), 0.15, False), (tr("Why"), 0.27, False), (tr("By"), 0.14, False),
        (tr("Told at"), 0.12, True), (tr("By whom"), 0.1, False),
    )  # fmt: skip
    return _table(tr("WHO MUST BE TOLD"), columns, [*rows, ("", "", "", "", "", "")])


def _lighting(plan: BurnPlan) -> tuple[Item, ...]:
    rows = order_rows(plan, None)
    left = [words for name in plan.paddocks if (words := left_words(plan, name))]
    items = [_text(plan, "", "lighting", left)]
    if rows:
        columns = (
            (order_columns()[0][0], 0.22, True),
            *order_columns()[1:5],
            (tr("Note"), 0.17, False),
            order_columns()[6],
        )
        items.append(_table(tr("BURN ORDER"), columns, rows))
    ways = plan.ways_out[plan.ways_out["paddock"].isin(plan.paddocks)]
    out = [(f"{w.paddock} {w.block}", str(w.name), str(w.to), clock(plan, w.until), str(w.note)) for w in
           ways.drop(columns="geometry").itertuples(name="Way")]  # fmt: skip
    way_columns: tuple[Column, ...] = (
        (tr("Block"), 0.22, True), (tr("Way out"), 0.12, True), (tr("To"), 0.26, False), (tr("Until"), 0.1, True),
        (tr("Note"), 0.3, False),
    )  # fmt: skip
    items.append(_table(tr("WAYS OUT"), way_columns, out or [("", tr("none drawn: walk them"), "", "", "")]))
    mine = plan.windrows[plan.windrows["paddock"].isin(plan.paddocks)]
    if np.isfinite(mine["load_kg_m"]).any():
        items.append(chart_item("loads", lambda: charts.load_chart(plan)))
    return tuple(items)


def _wrong(plan: BurnPlan) -> Item:
    lines = [f"{n}  {words}" for n, words in enumerate(lines_of(plan, "if_it_goes_wrong"), 1)]
    return part_item(tr("If it goes wrong"), lines, set_by(plan, "if_it_goes_wrong"), True)


def _smoke_lines(plan: BurnPlan) -> list[str]:
    reach = plan.smoke_reach
    return [str(w) for w in reach["words"]] if len(reach) and "words" in reach else []


def _patrol_lines(plan: BurnPlan) -> list[str]:
    return [] if plan.weather is None else [plan.weather.patrol.words]


def _own_words(plan: BurnPlan) -> tuple[Item, ...]:
    own = {"", *plan.paddocks}
    look = list(dict.fromkeys(r.text for r in plan.remarks if r.level != "note" and r.paddock in own))
    notes = list(dict.fromkeys(r.text for r in plan.remarks if r.level == "note" and r.paddock in own))
    others = [p for p in plan.farm.paddocks["paddock"] if p not in plan.paddocks]
    figures = [f for f in plan.figures if not f.name.startswith(tuple(f"{p}: " for p in others))]
    rows = [
        (f.name, f"{f.value:.3g} {f.unit}".strip() + (" !" if f.outside else ""), f.source, f.inputs) for f in figures
    ]
    columns: tuple[Column, ...] = (
        (tr("Figure (! outside its equation's range)"), 0.27, True), (tr("Value"), 0.13, True),
        (tr("Source"), 0.36, False), (tr("From"), 0.24, False),
    )  # fmt: skip
    items = [list_item(tr("LOOK AT THIS FIRST"), look, True)] if look else []
    items += [list_item(tr("WHAT THIS PLAN LEAVES OUT"), notes, False)] if notes else []
    return (*items, _table(tr("FIGURES AND WHERE THEY COME FROM"), columns, rows)) if rows else tuple(items)


class _Book:
    """The pages, laid out once."""

    def __init__(self, plan: BurnPlan, bound: Sequence[Bound]) -> None:
        self.plan, self.bound = plan, bound

    @cached_property
    def parts(self) -> list[Part]:
        """The numbered parts."""
        return parts_of(self.plan)

    @cached_property
    def pages(self) -> list[Placed]:
        """What stands on the pages of text."""
        items: list[Item] = []
        for n, part in enumerate(self.parts, 1):
            items += [part_head(f"{n}  {part.name}"), *part.items]
        return flow(items, (_STACK,))

    def sides(self) -> list[Side]:
        """Return cover, text, bound sheets."""
        text = [self._text_side(k) for k in range(len(self.pages))]
        return [self._cover, *text, *(side for sheet in self.bound for side in sheet.sides)]

    def _frame(self, page: Page, title: str, number: int) -> None:
        plan = self.plan
        count = 1 + len(self.pages) + sum(len(b.sides) for b in self.bound)
        right = (day(plan.night), tr("page {number} of {count}").format(number=number, count=count))
        title_bar(page, plan, title, (", ".join(plan.paddocks), farm_words(plan)), right, 10.0)
        paint_caution(page, Box(10, 281, 190, 11.6), CAUTION)

    def _text_side(self, k: int) -> Side:
        def draw(page: Page) -> None:
            self._frame(page, tr("Plan book"), k + 2)
            for item, box in self.pages[k]:
                item.paint(page, box)

        return draw

    def _contents(self) -> list[tuple[str, int]]:
        at = {item.name: k + 2 for k, placed in reversed(list(enumerate(self.pages))) for item, _ in placed}
        found = [(f"{n}  {p.name}", at.get(f"{n}  {p.name}", 2)) for n, p in enumerate(self.parts, 1)]
        number = 2 + len(self.pages)
        for sheet in self.bound:
            found.append((sheet.name, number))
            number += len(sheet.sides)
        return found

    def _cover(self, page: Page) -> None:
        plan = self.plan
        self._frame(page, tr("Plan book"), 1)
        y = TOP
        if not plan.go:
            paint_not_a_go(page, Box(10, y, 190, 8), plan, tr("part 1"))
            y += 11
        first, last = lit_span(plan)
        gate, road = gate_place(plan), nearest_road(plan)
        say = f"{gate.words}{', ' + road if road else ''}"
        facts = [
            (tr("Night"), day(plan.night)),
            (tr("Paddocks"), f"{', '.join(plan.paddocks)}, {area_words(lands_of(plan))}"),
            (tr("Light-up, last row out"), f"{clock(plan, first) or LINE}, {clock(plan, last) or LINE}"),
            (tr("In charge"), f"{in_charge(plan)} {plan.farm.phone}".strip()),
            (tr("For {number} say").format(number=plan.farm.emergency_number), say),
            (tr("Written"), f"{when(plan, plan.made_at)} {plan.author}, {tr('plan no.')} {plan.number}"),
        ]  # fmt: skip
        inside = page.panel(Box(10, y, 190, 6 + 8.2 * len(facts)), tr("THIS BURN"))
        for n, (what, value) in enumerate(facts):
            base = inside.y + 8.2 * n + 5.4
            page.text(inside.x + 3, base, what, 9.5)
            page.text(inside.x + 46, base, value, 10.5, True, width=inside.w - 49)
            page.line(inside.x, inside.y + 8.2 * (n + 1), inside.right, inside.y + 8.2 * (n + 1), 0.12, "#8A8A8A")
        y = inside.bottom + 4
        rows = self._contents()
        half = -(-len(rows) // 2)
        step = min(6.0, (276 - y - 8) / half)
        inside = page.panel(Box(10, y, 190, 6 + step * half + 2), tr("WHAT IS IN IT"), black=False)
        for n, (what, number) in enumerate(rows):
            x, base = inside.x + 3 + 95 * (n // half), inside.y + step * (n % half) + 4.6
            wide = page.text(x, base, what, 9, True, width=76)
            page.text(x + 87, base, str(number), 9, False, "right")
            if 80 - wide > 6:
                page.line(x + wide + 2, base, x + 81, base, 0.12, "#8A8A8A")
        room = Box(14, inside.bottom + 4, 186, 268 - inside.bottom - 4)
        if room.h > 40:
            paint_map(page, self._place(room))
            page.text(14, room.bottom + 7.5, tr("Where it is: 1:{scale} on A4, grid north up.").format(
                scale=f"{self._place(room).view.scale:,.0f}"), 7.5)  # fmt: skip

    @lru_cache(maxsize=4)  # noqa: B019
    def _place(self, box: Box) -> Laid:
        """The small map on the cover: tonight's paddocks, roads, water, gates, neighbours."""
        plan = self.plan
        scene = night_scene(plan)
        lands = shapely.union_all(lands_of(plan).geometry.to_numpy())
        view = map_view(lands.buffer(250.0), box, 0.0, 8.0)
        hidden = frozenset({"pieces", "windrows", "breaks", "edges", "buffers", "smoke"})
        asks = asset_asks(scene, view, frozenset({"road", "railway", "gate", "water", "town"}))
        asks += land_asks(scene, view, "paddocks", "paddock", 1)
        asks += land_asks(scene, view, "neighbours", "name")
        style = Style(replace(PAPER, stubble="#D4D4D4"), hidden)
        return lay_map(box, view, scene, style, asks, map_obstacles(scene, view))


def part_head(name: str) -> Item:
    """Return a part's head, which stays with what follows."""

    def draw(page: Page, box: Box) -> None:
        page.text(box.x, box.y + 6.4, name, 12, True, width=box.w)
        page.line(box.x, box.y + 8.0, box.right, box.y + 8.0, 0.5)

    return Item(name, lambda w: 8.6, draw, head=True)
