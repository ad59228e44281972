"""The buffer map: what must not burn, what needs care, and whether the breaks are wide enough. A3 or A4."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import shapely

from mapper.draw.labels import Ask
from mapper.draw.naming import asset_asks, break_asks, land_asks, map_obstacles, number_badge
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.view import View
from mapper.farm.assets import ASSET_KINDS
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.legend import entries, paint_legend
from mapper.sheets.mapframe import check_line, map_view, paint_map, scale_marks, wind_inset
from mapper.sheets.night import clock, day, gate_place, lit_span, source_line, winds
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import farm_words, few_of, names_without_place, paint_caution, paint_not_a_go, title_bar
from mapper.sheets.table import Column, paint_table

_HIDDEN = frozenset({"lighting", "ways_out", "start_finish", "blocks", "block_edges", "smoke", "pieces"})
_CARE_COLUMNS: tuple[Column, ...] = (
    ("", 0.07, True), ("What", 0.34, True), ("Wanted", 0.13, False), ("Now", 0.15, True),
    ("What to do", 0.31, False),
)  # fmt: skip
_BREAK_COLUMNS: tuple[Column, ...] = (
    ("Paddock", 0.18, False), ("Side", 0.19, True), ("Present", 0.12, True), ("Wanted", 0.11, False),
    ("What to do", 0.25, False), ("Guards", 0.15, False),
)  # fmt: skip
_CARE_TITLE, _BREAK_TITLE = "WHAT TO KEEP CLEAR OF", "BREAKS: PRESENT AGAINST WANTED"
_RING = "Ring round "
_GROUND_CHECKS = ("Breaks walked and measured", "Poles cleared and wetted down", "Signs out, road manager told")
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
        wanted = "not known" if np.isnan(self.wanted_m) else _metres(self.wanted_m)
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
        source = "no local limit" if limit is None else "" if one else limit.source
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
    return f"Distances wanted: {one}." if one else "Every width and distance names who set it."


def _called(name: str, label: str) -> str:
    """An asset's words: a bare mark such as "T2" says what it is first."""
    return f"{label} {name}".strip() if len(name) <= 3 else name


def _todo(kind: str, tell: bool, wanted_m: float, now_m: float) -> str:
    if np.isnan(wanted_m):
        return "ask how far it must be"
    if round(now_m) >= round(wanted_m):
        return "clear"
    if kind == "power_line":
        return "leave rows in the strip unlit"
    if kind in ("road", "railway"):
        return "signs, watch the smoke"
    return "ask and tell first" if tell else "unit standing by"


def break_rows(plan: BurnPlan) -> list[tuple[str, ...]]:
    """Return the table of breaks: those too narrow first; a short width is reversed. Like rings stand in one row."""
    breaks = plan.breaks[plan.breaks["paddock"].isin(plan.paddocks)]
    order = ["short_m", "paddock", "side"]
    breaks = breaks.sort_values(order, ascending=[False, True, True], na_position="first")
    rows: dict[tuple[str, ...], list[str]] = {}
    for b in breaks.itertuples():
        present = "not known" if np.isnan(b.present_m) else f"{b.present_m:.3g} m"
        wanted = "not known" if np.isnan(b.wanted_m) else f"{b.wanted_m:.3g} m"
        ring = b.side.startswith(_RING)
        key = (b.paddock, "" if ring else b.side, f"!{present}" if b.short_m > 0 else present, wanted,
               b.todo or "wide enough", "" if ring else b.guards)  # fmt: skip
        rows.setdefault(key, []).append(b.side.removeprefix(_RING) if ring else b.guards)
    found: list[tuple[str, ...]] = []
    for (paddock, side, present, wanted, todo, guards), names in rows.items():
        if side:
            found.append((paddock, f"{side} ({len(names)})" if len(names) > 1 else side, present, wanted, todo, guards))
        else:
            few = ", ".join(names) if len(names) <= 3 else f"{names[0]} + {len(names) - 1} more"
            found.append((paddock, (_RING if len(names) <= 3 else "Rings: ") + few, present, wanted, todo, ""))
    return found


def sides(plan: BurnPlan, paper: str, scene: Scene) -> list[Side]:
    """Return the painters of the sheet's sides; tables that run on get sides of their own."""
    keeps, breaks = keep_clear_of(plan), break_rows(plan)
    front = _a3 if paper == "A3" else _a4
    found: list[Side] = [lambda page: front(page, plan, scene, keeps, breaks)]
    fits = (12, 9) if paper == "A3" else (6, 6)
    lists = [
        ([k.cells for k in keeps], _CARE_COLUMNS, _CARE_TITLE, fits[0]),
        (breaks, _BREAK_COLUMNS, _BREAK_TITLE, fits[1]),
    ]
    long = [(rows, columns, title) for rows, columns, title, most in lists if len(rows) > most]
    if sum(len(rows) for rows, _, _ in long) <= 30:
        return [*found, _list_side(plan, long)] if long else found
    parts = [(rows[n : n + 30], columns, title) for rows, columns, title in long for n in range(0, len(rows), 30)]
    return [*found, *(_list_side(plan, [part]) for part in parts)]


def _list_side(plan: BurnPlan, lists: list[tuple[list[tuple[str, ...]], tuple[Column, ...], str]]) -> Side:
    def draw(page: Page) -> None:
        margin = 8.0 if page.width < 300 else 10.0
        title_bar(page, plan, "Buffer map: lists", ("", ""), (day(plan.night), ""), margin)
        y, step = 21.5, min(8.0, 220.0 / sum(len(rows) for rows, _, _ in lists))
        for rows, columns, title in lists:
            box = Box(margin, y, page.width - 2 * margin, 11.5 + step * len(rows))
            paint_table(page, page.panel(box, title), columns, rows, 8.5)
            y = box.bottom + 3
        paint_caution(page, Box(margin, 281, page.width - 2 * margin, 11.6), CAUTION)

    return draw


def _view(page: Page, plan: BurnPlan, box: Box) -> View:
    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)]
    return map_view(shapely.union_all(lands.geometry.to_numpy()), box, page.k, 0.0, 20.0)


def _map(page: Page, box: Box, plan: BurnPlan, scene: Scene, keeps: list[Keep]) -> View:
    view = _view(page, plan, box)
    now, after = winds(plan)
    badges = {k.asset: k.number for k in keeps}

    def asks(scene_: Scene, view_: View) -> list[Ask]:
        return [*asset_asks(scene_, view_), *number_badge(scene_, view_, badges), *break_asks(scene_, view_, True),
                *land_asks(scene_, view_, "neighbours", "name"),
                *land_asks(scene_, view_, "paddocks", "paddock", 2)]  # fmt: skip

    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)]
    change = clock(plan, after.starts_at) if after is not None else ""
    style = Style(replace(PAPER, stubble=PAPER.tint), _HIDDEN | {"windrows"})
    paint_map(page, box, view, scene, style, asks, map_obstacles,
              (wind_inset(page, now, after, change, view),), shapely.union_all(lands.geometry.to_numpy()))  # fmt: skip
    return view


def _title(page: Page, plan: BurnPlan, x: float) -> None:
    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)]
    first, last = lit_span(plan)
    hours = "" if pd.isna(first) else f"light-up {clock(plan, first)}   last out {clock(plan, last)}"
    names = ", ".join(plan.paddocks)
    what = f"{names}  ·  {lands.geometry.area.sum() / 1e4:.0f} ha"
    title_bar(page, plan, "Buffer map", (what, farm_words(plan)), (day(plan.night), hours), x)


def _checks(page: Page, box: Box) -> None:
    inside = page.panel(box, "CHECKED ON THE GROUND (name, date)", black=False)
    step = inside.h / len(_GROUND_CHECKS)
    for n, what in enumerate(_GROUND_CHECKS):
        y = inside.y + step * (n + 0.5)
        page.tick(inside.x + 2, y)
        wide = page.text(inside.x + 7, y + 1.2, what, 9, True)
        page.blank(inside.x + 9 + wide, inside.right - 2, y + 1.6)


def _foot(page: Page, plan: BurnPlan, x: float, y: float, width: float) -> None:
    names = names_without_place(page, plan)
    missing = f" No room on the map for {few_of(names)}." if names else ""
    gate = gate_place(plan)
    words = f"{source_line(plan)} For {plan.farm.emergency_number}: {gate.words}.{missing}"
    page.paragraph(Box(x, y, width, 9.6), words, 7.5, leading=1.2)


def _a3(page: Page, plan: BurnPlan, scene: Scene, keeps: list[Keep], breaks: list[tuple[str, ...]]) -> None:
    _title(page, plan, 10)
    top = 21.5
    if not plan.go:
        paint_not_a_go(page, Box(10, 21.0, 400, 8), plan, "the burn-order map's back")
        top = 30.5
    box = Box(14, top, 262, 258.0 - top)
    view = _map(page, box, plan, scene, keeps)
    scale_marks(page, 14, 263.5, view, "A3", _source_words(plan), 262)
    x, w = 280.0, 130.0
    cares = page.panel(Box(x, top, w, 76), _CARE_TITLE)
    paint_table(page, cares, _CARE_COLUMNS, [k.cells for k in keeps], 8.5, rest="overleaf")
    found = entries(scene, view, _HIDDEN)
    legend_h = 6.5 + 5.2 * -(-len(found) // 2)
    break_h = 238.0 - legend_h - 2 - top - 78
    paint_table(
        page, page.panel(Box(x, top + 78, w, break_h), _BREAK_TITLE), _BREAK_COLUMNS, breaks, 8.5, rest="overleaf"
    )
    paint_legend(page, Box(x, 238 - legend_h, w, legend_h), found, 2)
    _checks(page, Box(x, 240, w, 26))
    paint_caution(page, Box(x, 268, w, 18), CAUTION)
    _foot(page, plan, 10, 273.5, 266)
    check_line(page, 14, 286)


def _a4(page: Page, plan: BurnPlan, scene: Scene, keeps: list[Keep], breaks: list[tuple[str, ...]]) -> None:
    _title(page, plan, 8)
    top = 21.5
    if not plan.go:
        paint_not_a_go(page, Box(8, 21.0, 194, 8), plan, "the burn-order map's back")
        top = 30.5
    box = Box(12, top, 190, 148.0 - top)
    view = _map(page, box, plan, scene, keeps)
    scale_marks(page, 12, 153.0, view, "A4", _source_words(plan), 190)
    cares = page.panel(Box(8, 163, 194, 38), _CARE_TITLE)
    paint_table(page, cares, _CARE_COLUMNS, [k.cells for k in keeps], 8.5, 4.2, 5.6)
    paint_table(page, page.panel(Box(8, 203, 194, 36), _BREAK_TITLE), _BREAK_COLUMNS, breaks, 8.5, 4.2, 5.6)
    paint_legend(page, Box(8, 241, 118, 26), entries(scene, view, _HIDDEN), 3)
    _checks(page, Box(128, 241, 74, 26))
    paint_caution(page, Box(8, 269, 194, 11.6), CAUTION)
    _foot(page, plan, 8, 281.2, 194)
    check_line(page, 8, 292.6)
