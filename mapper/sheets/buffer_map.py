"""The buffer map: what must not burn, what needs care, and whether the breaks are wide enough. A3 or A4."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
import shapely

from mapper.draw.naming import asset_asks, break_asks, land_asks, map_obstacles, number_badge
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.words import tr
from mapper.farm.assets import ASSET_KINDS
from mapper.farm.magnetic import norths
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.flow import Placed, flow
from mapper.sheets.formats import BAND, PAPERS_MM, TOP, formats_of, margin_of
from mapper.sheets.legend import entries, paint_legend
from mapper.sheets.mapframe import Laid, check_line, lay_map, map_view, paint_map, scale_marks, wind_inset
from mapper.sheets.night import area_words, clock, day, gate_place, lands_of, lit_span, source_line, winds
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import (
    farm_words,
    few_of,
    names_without_place,
    paint_caution,
    paint_foot,
    paint_not_a_go,
    title_bar,
)
from mapper.sheets.table import Column, paint_table, table_item, table_mm

_HIDDEN = frozenset({"lighting", "ways_out", "start_finish", "blocks", "block_edges", "smoke", "pieces"})


def care_columns() -> tuple[Column, ...]:
    """Return the columns of what to keep clear of."""
    return (
        ("", 0.07, True),
        (tr("What"), 0.34, True),
        (tr("Wanted"), 0.13, False),
        (tr("Now"), 0.15, True),
        (tr("What to do"), 0.31, False),
    )


def break_columns() -> tuple[Column, ...]:
    """Return the columns of the breaks."""
    return (
        (tr("Paddock"), 0.18, False),
        (tr("Side"), 0.19, True),
        (tr("Present"), 0.12, True),
        (tr("Wanted"), 0.11, False),
        (tr("What to do"), 0.25, False),
        (tr("Guards"), 0.15, False),
    )


_CLEAR_MM = 20.0
_RING = "Ring round "
Side = Callable[[Page], None]


@dataclass(frozen=True)
class Keep:
    """One thing to keep clear of: number on the map, asset, words, wanted and present distance in metres, todo."""

    number: int
    asset: str
    what: str
    wanted_m: float
    now_m: float
    todo: str

    @property
    def short_m(self) -> float:
        """How much is missing, in whole metres as printed; 0 where nothing is or nothing is known."""
        return max(round(self.wanted_m) - round(self.now_m), 0.0) if np.isfinite(self.wanted_m) else 0.0

    @property
    def cells(self) -> tuple[str, ...]:
        """The table's row; a shortfall is reversed."""
        short = self.short_m > 0
        wanted = tr("not known") if np.isnan(self.wanted_m) else _metres(self.wanted_m)
        return (str(self.number), self.what, wanted, f"{'!' if short else ''}{_metres(self.now_m)}", self.todo)


def _metres(value: float) -> str:
    return f"{value / 1000:.1f} km" if value >= 1000 else f"{value:.0f} m"


def keep_clear_of(plan: BurnPlan) -> list[Keep]:
    """Return what must be kept clear of, shortfalls first, then the nearest, numbered.

    All assets of kinds that have a care distance or a ring, as far away as their distance (at least 1 km) reaches."""
    burnt = shapely.union_all(
        plan.farm.paddocks.loc[plan.farm.paddocks["paddock"].isin(plan.paddocks)].geometry.to_numpy()
    )
    rows = plan.pieces[(plan.pieces["order_no"] > 0) & (plan.pieces["left_reason"] == "")]
    fire = shapely.union_all(rows.geometry.to_numpy()) if len(rows) else burnt
    one = one_source(plan)
    found = []
    for asset in plan.farm.assets.itertuples():
        kind = ASSET_KINDS.get(str(asset.kind))
        if kind is None or not (kind.care_limit or kind.break_limit) or asset.kind == "pole":
            continue
        limit = plan.farm.limits.get(kind.care_limit or kind.break_limit)
        wanted = float("nan") if limit is None else limit.value
        now = float(asset.geometry.distance(fire))
        if now > max(1000.0, 0.0 if np.isnan(wanted) else wanted):
            continue
        owner = plan.farm.neighbours.loc[plan.farm.neighbours["neighbour"] == asset.neighbour, "name"]
        of = f"{owner.iloc[0]}, " if len(owner) else ""
        todo = _todo(str(asset.kind), kind.tell, wanted, now)
        source = tr("no local limit") if limit is None else "" if one else limit.source
        found.append(
            (
                now,
                str(asset.asset),
                f"{of}{_called(asset.name, kind.label)}",
                wanted,
                f"{todo} ({source})" if source else todo,
            )
        )
    found.sort(key=lambda f: (not (np.isfinite(f[3]) and round(f[0]) < round(f[3])), f[0], f[1]))
    return [Keep(n, a, w, wanted, now, t) for n, (now, a, w, wanted, t) in enumerate(found, 1)]


def one_source(plan: BurnPlan) -> str:
    """Return the source of all local limits where it is one and the same, else ""."""
    sources = {limit.source for limit in plan.farm.limits.limits.values()}
    return sources.pop() if len(sources) == 1 else ""


def _source_words(plan: BurnPlan) -> str:
    one = one_source(plan)
    return tr("Distances wanted: {one}.").format(one=one) if one else tr("Every width and distance names who set it.")


def _called(name: str, label: str) -> str:
    """An asset's words: a bare mark such as "T2" says what it is first."""
    return f"{label} {name}".strip() if len(name) <= 3 else name


def _todo(kind: str, tell: bool, wanted_m: float, now_m: float) -> str:
    if np.isnan(wanted_m):
        return tr("ask how far it must be")
    if round(now_m) >= round(wanted_m):
        return tr("clear")
    if kind == "power_line":
        return tr("leave rows in the strip unlit")
    if kind in ("road", "railway"):
        return tr("signs, watch the smoke")
    return tr("ask and tell first") if tell else tr("unit standing by")


def break_rows(plan: BurnPlan) -> list[tuple[str, ...]]:
    """Return the table of breaks: those too narrow first; a short width is reversed. Like rings stand in one row."""
    breaks = plan.breaks[plan.breaks["paddock"].isin(plan.paddocks)]
    order = ["short_m", "paddock", "side"]
    breaks = breaks.sort_values(order, ascending=[False, True, True], na_position="first")
    rows: dict[tuple[str, ...], list[str]] = {}
    for b in breaks.itertuples():
        present = tr("not known") if np.isnan(b.present_m) else f"{b.present_m:.3g} m"
        wanted = tr("not known") if np.isnan(b.wanted_m) else f"{b.wanted_m:.3g} m"
        ring = b.side.startswith(_RING)
        key = (b.paddock, "" if ring else b.side, f"!{present}" if b.short_m > 0 else present, wanted,
               b.todo or tr('wide enough'), "" if ring else b.guards)  # fmt: skip
        rows.setdefault(key, []).append(b.side.removeprefix(_RING) if ring else b.guards)
    found: list[tuple[str, ...]] = []
    for (paddock, side, present, wanted, todo, guards), names in rows.items():
        if side:
            found.append((paddock, f"{side} ({len(names)})" if len(names) > 1 else side, present, wanted, todo, guards))
        else:
            few = (
                ", ".join(names)
                if len(names) <= 3
                else tr("{names} + {len} more").format(names=names[0], len=len(names) - 1)
            )
            found.append((paddock, (_RING if len(names) <= 3 else tr("Rings: ")) + few, present, wanted, todo, ""))
    return found


@dataclass(frozen=True)
class _Layout:
    """Where the panels stand on the front, mm; legend_columns: how many columns of marks."""

    map: Box
    boxes: dict[str, Box]
    legend_columns: int


def _layout(paper: str, top: float) -> _Layout:
    if paper == "A4 portrait":
        boxes = {"scale": Box(12, 153, 190, 8), "care": Box(8, 163, 194, 38), "breaks": Box(8, 203, 194, 36),
                 "legend": Box(8, 241, 126, 26), "checks": Box(136, 241, 66, 26), "caution": Box(8, 269, 194, 11.6),
                 "foot": Box(8, 281.2, 194, 9.6), "check": Box(8, 292.6, 100, 0)}  # fmt: skip
        return _Layout(Box(12, top, 190, 148 - top), boxes, 3)
    if paper == "A4 landscape":
        x, w = 170.0, 119.0
        boxes = {"scale": Box(12, 173.5, 154, 8), "care": Box(x, top, w, 52), "breaks": Box(x, top + 54, w, 44),
                 "legend": Box(x, top + 100, w, 160 - top - 100), "checks": Box(x, 162, w, 19.5),
                 "caution": Box(8, 183.3, 281, 8.8), "foot": Box(8, 193.0, 281, 9.6),
                 "check": Box(8, 205.0, 100, 0)}  # fmt: skip
        return _Layout(Box(12, top, 154, 168.5 - top), boxes, 3)
    if paper == "A3 portrait":
        boxes = {"scale": Box(14, 242, 273, 8), "care": Box(10, 253, 277, 50), "breaks": Box(10, 305, 277, 46),
                 "legend": Box(10, 353, 175, 36), "checks": Box(187, 353, 100, 36), "caution": Box(10, 391, 277, 11),
                 "foot": Box(10, 404, 277, 6.6), "check": Box(10, 415, 100, 0)}  # fmt: skip
        return _Layout(Box(14, top, 273, 237 - top), boxes, 4)
    x, w = 280.0, 130.0
    boxes = {
        "scale": Box(14, 263.5, 262, 8),
        "care": Box(x, top, w, 72),
        "breaks": Box(x, top + 74, w, 54),
        "legend": Box(x, top + 130, w, 238 - top - 130),
        "checks": Box(x, 240, w, 26),
        "caution": Box(x, 268, w, 18),
        "foot": Box(10, 273.5, 266, 9.6),
        "check": Box(14, 286, 100, 0),
    }
    return _Layout(Box(14, top, 262, 258 - top), boxes, 2)


def sides(plan: BurnPlan, paper: str, scene: Scene) -> list[Side]:
    """Return the painters of the sheet's sides; tables that find no room on the front stand whole overleaf."""
    return _BufferMap(plan, paper, scene).sides()


def best_format(plan: BurnPlan, size: str) -> str:
    """Return the format of a size on which the map is largest; the usual one where all are alike."""
    lands = shapely.union_all(lands_of(plan).geometry.to_numpy())
    return min(formats_of(size), key=lambda p: round(map_view(lands, _layout(p, TOP).map, 0.0, _CLEAR_MM).scale))


class _BufferMap:
    """One sheet in one format."""

    def __init__(self, plan: BurnPlan, paper: str, scene: Scene) -> None:
        self.plan, self.paper, self.scene = plan, paper, scene
        self.margin = margin_of(paper)
        self.layout = _layout(paper, TOP + (0.0 if plan.go else BAND))
        self.keeps = keep_clear_of(plan)
        self.tables = {
            "care": (tr("WHAT TO KEEP CLEAR OF"), care_columns(), [k.cells for k in self.keeps]),
            "breaks": (tr("BREAKS: PRESENT AGAINST WANTED"), break_columns(), break_rows(plan)),
        }

        self._share_room()

    def _share_room(self) -> None:
        """Give the two tables the room they want of what both have: one that is short leaves the other more."""
        boxes = self.layout.boxes
        care, breaks = boxes["care"], boxes["breaks"]
        both = breaks.bottom - care.y - 2.0
        wants = {n: 11.5 + table_mm(*t[1:], boxes[n].w) for n, t in self.tables.items()}
        least = 25.0
        care_h = min(max(wants["care"], least), both - least)
        if wants["care"] + wants["breaks"] > both and wants["breaks"] > least:
            care_h = min(care_h, max(both - wants["breaks"], both * care.h / (care.h + breaks.h)))
        elif wants["care"] + wants["breaks"] <= both:
            care_h = wants["care"] + (both - wants["care"] - wants["breaks"]) / 2
        boxes["care"] = Box(care.x, care.y, care.w, care_h)
        boxes["breaks"] = Box(breaks.x, care.y + care_h + 2.0, breaks.w, both - care_h)

    def sides(self) -> list[Side]:
        """Return the front, and the lists that run on."""
        room = {n: self.layout.boxes[n].h - 6.0 - 4.6 for n in self.tables}
        long = [table_item(*t) for n, t in self.tables.items() if table_mm(*t[1:], self.layout.boxes[n].w) > room[n]]
        stack = Box(self.margin, TOP, self._size[0] - 2 * self.margin, self._size[1] - TOP - 18.5)
        return [self.paint_front, *(self._list_side(p) for p in (flow(long, (stack,)) if long else ()))]

    @property
    def _size(self) -> tuple[float, float]:
        return PAPERS_MM[self.paper]

    @cached_property
    def laid(self) -> Laid:
        """The map, laid out once."""
        plan, scene = self.plan, self.scene
        lands = shapely.union_all(lands_of(plan).geometry.to_numpy())
        view = map_view(lands, self.layout.map, 0.0, _CLEAR_MM)
        now, after = winds(plan)
        badges = {k.asset: k.number for k in self.keeps}
        asks = [*asset_asks(scene, view), *number_badge(scene, view, badges), *break_asks(scene, view, True),
                *land_asks(scene, view, "neighbours", "name"),
                *land_asks(scene, view, "paddocks", "paddock", 2)]  # fmt: skip
        change = clock(plan, after.starts_at) if after is not None else ""
        style = Style(replace(PAPER, stubble=PAPER.tint), _HIDDEN | {"windrows"})
        insets = (wind_inset(now, after, change, view),)
        return lay_map(self.layout.map, view, scene, style, asks, map_obstacles(scene, view), insets, lands)

    def paint_front(self, page: Page) -> None:
        """Paint the front: the map, both tables, marks, checks to sign."""
        plan, boxes = self.plan, self.layout.boxes
        lands = lands_of(plan)
        first, last = lit_span(plan)
        hours = tr("light-up {first}   last out {last}").format(first=clock(plan, first), last=clock(plan, last))
        what = f"{', '.join(plan.paddocks)}  ·  {area_words(lands)}"
        right = (day(plan.night), "" if pd.isna(first) else hours)
        title_bar(page, plan, tr("Buffer map"), (what, farm_words(plan)), right, self.margin)
        if not plan.go:
            band = Box(self.margin, TOP - 0.5, page.width - 2 * self.margin, 8)
            paint_not_a_go(page, band, plan, tr("the burn-order map's back"))
        paint_map(page, self.laid)
        middle = shapely.union_all(lands.geometry.to_numpy()).representative_point()
        north = norths(plan.farm.grid, middle.x, middle.y, plan.night)
        view = self.laid.view
        names = names_without_place(page, plan)
        missing = " " + tr("No room on the map for: {names}.").format(names=few_of(names, 6)) if names else ""
        scale_marks(page, boxes["scale"], view, self.paper, north, _source_words(plan) + missing)
        for name, (title, columns, rows) in self.tables.items():
            paint_table(page, page.panel(boxes[name], title), columns, rows, 8.5, 4.4, 9.0, tr("overleaf"))
        paint_legend(
            page, boxes["legend"], entries(self.scene, view, _HIDDEN, False, north), self.layout.legend_columns
        )
        _checks(page, boxes["checks"])
        paint_caution(page, boxes["caution"], CAUTION)
        gate = gate_place(plan)
        words = f"{tr('For')} {plan.farm.emergency_number}: {gate.words}. {source_line(plan)}"
        paint_foot(page, boxes["foot"], words)
        check_line(page, boxes["check"].x, boxes["check"].y)

    def _list_side(self, placed: Placed) -> Side:
        def draw(page: Page) -> None:
            title_bar(page, self.plan, tr("Buffer map: lists"), ("", ""), (day(self.plan.night), ""), self.margin)
            for item, box in placed:
                item.paint(page, box)
            foot = Box(self.margin, page.height - 16.0, page.width - 2 * self.margin, 11.6)
            paint_caution(page, foot, CAUTION)

        return draw


def _checks(page: Page, box: Box) -> None:
    inside = page.panel(box, tr("CHECKED (name, date)"), black=False)
    checks = (tr("Breaks walked and measured"), tr("Poles cleared and wetted down"), tr("Signs out, road manager told"))
    step = inside.h / len(checks)
    for n, what in enumerate(checks):
        y = inside.y + step * (n + 0.5)
        page.tick(inside.x + 2, y)
        wide = page.text(inside.x + 7, y + 1.2, what, 9, True)
        page.blank(inside.x + 9 + wide, inside.right - 2, y + 1.6)
