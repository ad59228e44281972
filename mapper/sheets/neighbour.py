"""The notice to one neighbour: their land and house, the burn's outline, the road, the smoke. Nobody else's."""

from typing import Any

import numpy as np
import pandas as pd
import shapely

from mapper.draw import marks, symbols
from mapper.draw.labels import Ask
from mapper.draw.naming import asset_asks, grid_spots, map_obstacles, round_spot
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style, symbol_spots
from mapper.draw.strokes import draw_segments, hatch_lines, pen, to_px
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.plan.burnplan import NEIGHBOUR_CAUTION, BurnPlan
from mapper.sheets.mapframe import Inset, check_line, lay_map, map_view, paint_map, scale_bar
from mapper.sheets.night import clock, day, gate_place, in_charge, lit_span, nearest_road, when, winds
from mapper.sheets.page import Box, Page, text_width
from mapper.sheets.panels import paint_caution
from mapper.sheets.texts import lines_of

_X, _W = 12.0, 186.0
_SOFT = PAPER.soft


def paint_notice(page: Page, plan: BurnPlan, neighbour: str, scene: Scene) -> None:
    """Paint the one side of a neighbour's notice. neighbour: id in the farm's layer."""
    row = plan.farm.neighbours[plan.farm.neighbours["neighbour"] == neighbour].iloc[0]
    page.text(_X, 22.0, tr("Notice of burning"), 26, True)
    page.text(_X + _W, 22.0, tr("plan no. {number}").format(number=plan.number), 9, True, "right")
    invented = tr(" (invented data)") if plan.farm.invented else ""
    page.text(_X, 30.0, tr("For {row}{invented}").format(row=row["name"], invented=invented), 12, True, width=_W)
    page.line(_X, 33.0, _X + _W, 33.0, 0.8)
    _facts(page, plan, row)
    top = 58.5
    if not plan.go:
        page.rect(Box(_X, 57.0, _W, 8), PAPER.ink, 0)
        undecided = tr("NOT DECIDED YET: this burn is not a go as it is planned. We will tell you.")
        page.text(_X + 2, 62.6, undecided, 11, True, colour=PAPER.ground, width=_W - 4)
        top = 67.0
    box = Box(_X, top, _W, 178.0 - top)
    view = _map(page, box, plan, row, scene)
    half = (_W - 6) / 2
    _ring_us(page, Box(_X, 184, half, 33), plan)
    stop = page.panel(Box(_X + half + 6, 184, half, 33), tr("WE WILL CHANGE OR STOP IT IF")).inset(3, 2)
    page.paragraph(stop, " ".join(lines_of(plan, "notice_stop")), 9.5, leading=1.3)
    _advice(page, Box(_X, 220, _W, 31), plan)
    paint_caution(
        page,
        Box(_X, 254, _W, 12),
        f"{tr(NEIGHBOUR_CAUTION)} {tr('If the date moves we will tell you again.')}",
    )
    told = tr("Told by: ______________________  on ____ / ____  at ____ : ____")
    page.text(_X, 272.5, told, 9, True)
    by = tr(" by {author}").format(author=plan.author) if plan.author else ""
    smoke = tr("; dots = smoke now; dotted outline = smoke after a change") if scene.layer("smoke") is not None else ""
    words = tr(
        "Made {when}{by}, {name}, plan no. {number}. Map marks: hatched = the paddock where rows are burnt"
        "{smoke}; heavy outline = your land. Sources: boundaries typed in by the farm, smoke computed from the "
        "forecast. Grid and datum: {name2}. Scale 1:{scale:,.0f}."
    ).format(
        when=when(plan, plan.made_at, year=True),
        by=by,
        name=plan.farm.name,
        number=plan.number,
        smoke=smoke,
        name2=plan.farm.grid.name,
        scale=view.scale,
    )
    page.paragraph(Box(_X, 275.0, _W, 10), words, 7.5, leading=1.2)
    check_line(page, _X, 289.5)


def mail_words(plan: BurnPlan, name: str) -> str:
    """Return the words to mail with a notice: whom it is for, night, hours, who to ring. Nothing of anybody else."""
    first, last = lit_span(plan)
    hours = tr("hours not known yet")
    if not pd.isna(first):
        hours = tr("{first} to about {last}").format(first=clock(plan, first), last=clock(plan, last))
    undecided = "" if plan.go else tr("This burn is not decided yet. We will tell you.")
    lines = lines_of(plan, "email", to=name, night=day(plan.night), hours=hours)
    subject = tr("Notice of burning, {night}").format(night=day(plan.night))
    return "\n\n".join(t for t in (subject, *lines[:-1], undecided, lines[-1], NEIGHBOUR_CAUTION) if t) + "\n"


def _facts(page: Page, plan: BurnPlan, row: Any) -> None:
    first, last = lit_span(plan)
    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)]
    hours = tr("hours not known yet")
    if not pd.isna(first):
        hours = tr("{first} to about {last}").format(first=clock(plan, first), last=clock(plan, last))
    area = lands.geometry.area.sum() / 1e4
    size, names = f"{area:.0f} ha" if area >= 10 else f"{area:.1f} ha", ", ".join(plan.paddocks)
    place, named = f"{names}, {size}", ""
    if text_width(place, 11, True) > (_W - 8) / 3:
        place, named = tr("{len} paddocks, {size}").format(len=len(plan.paddocks), size=size), f"{names}; "
    road = nearest_road(plan)
    gate = gate_place(plan).name
    why, *more_why = lines_of(plan, "notice_why")
    columns = (
        (tr("When"), day(plan.night), hours),
        (tr("Where"), place, f"{named}{gate}{', ' + road if road else ''}, {distance_words(plan, row)}"),
        (tr("Why"), why, " ".join(more_why)),
    )
    wide = (_W - 8) / 3
    for n, (head, main, more) in enumerate(columns):
        x = _X + n * (wide + 4)
        page.text(x, 38.5, head, 9, colour=_SOFT)
        page.paragraph(Box(x, 40.0, wide, 5.5), main, 11, True)
        page.paragraph(Box(x, 46.2, wide, 10.5), more, 8.5, leading=1.15)


def distance_words(plan: BurnPlan, row: Any) -> str:
    """Return how far the burn is from the neighbour's house, or from their land where no house is known."""
    burn = shapely.union_all(
        plan.farm.paddocks.loc[plan.farm.paddocks["paddock"].isin(plan.paddocks)].geometry.to_numpy()
    )
    houses = plan.farm.assets[
        (plan.farm.assets["kind"] == "house") & (plan.farm.assets["neighbour"] == row["neighbour"])
    ]
    from_house = len(houses) > 0
    gap = float(houses.geometry.distance(burn).min()) if from_house else float(row.geometry.distance(burn))
    words = tr("{gap:.1f} km").format(gap=gap / 1000) if gap >= 1000 else f"{round(gap, -1):.0f} m"
    if not from_house and gap < 1:
        return tr("next to your land")
    return (tr("{words} from your house") if from_house else tr("{words} from your land")).format(words=words)


def _map(page: Page, box: Box, plan: BurnPlan, row: Any, scene: Scene) -> View:
    burn = shapely.union_all(scene.layer("paddocks").geometry.to_numpy())
    view = map_view(_look(plan, row, burn), box, 0.0, 12.0)
    now, after = winds(plan)

    def extra(painter: Any) -> None:
        shape = to_px(burn, view)
        painter.setPen(pen(PAPER.ink, 0.2 * page.k))
        draw_segments(painter, hatch_lines(shape, 2.0 * page.k, 60.0))
        marks.outline(painter, shape, pen(PAPER.ink, 0.9 * page.k))
        marks.outline(painter, to_px(row.geometry, view), pen(PAPER.ink, 1.1 * page.k))
        for _, _, at in symbol_spots(scene, view):
            symbols.house(painter, at, page.k * 1.2, PAPER)

    style = Style(PAPER, frozenset({"neighbours", "paddock_edges", "symbols"}))
    insets = (_wind_inset(plan, now, view), _scale_inset(view))
    asks = _asks(plan, row, burn, scene, view, now, after)
    assets = scene.layer("assets")
    houses = () if assets is None else assets[assets["kind"] == "house"].geometry.buffer(60)
    busy = shapely.union_all([burn, *houses])
    paint_map(page, lay_map(box, view, scene, style, asks, map_obstacles(scene, view), insets, busy, extra))
    return view


def _look(plan: BurnPlan, row: Any, burn: Any) -> Any:
    """What the map must show: the burn, their houses, and the part of their land that lies nearest to the burn."""
    houses = plan.farm.assets[
        (plan.farm.assets["kind"] == "house") & (plan.farm.assets["neighbour"] == row["neighbour"])
    ]
    gap = float(row.geometry.distance(burn))
    near = shapely.intersection(row.geometry, burn.buffer(gap + 900))
    return shapely.union_all([burn, *houses.geometry.buffer(60), near])


def _asks(plan: BurnPlan, row: Any, burn: Any, scene: Scene, view: View, now: Any, after: Any) -> list[Ask]:
    mm = view.px_per_mm
    frame = shapely.box(*view.bounds())
    found = [a for a in asset_asks(scene, view, frozenset({"road", "railway"}))]
    spots, likes = grid_spots(to_px(burn, view), 4 * mm)
    area = burn.area / 1e4
    found.append(
        Ask(
            "burn",
            (
                tr("Burning here"),
                tr("{area:.0f} ha").format(area=area) if area >= 10 else tr("{area:.1f} ha").format(area=area),
            ),
            spots,
            likes,
            1,
            "plate",
            10,
        )
    )
    if len(spots) < 4:
        spots, likes = round_spot(spots[0], mm, 6.0, 26.0)
        found[-1] = Ask(
            "burn", found[-1].lines, spots, likes, 1, "plate", 10, leader=True, anchor=_xy(spots.mean(axis=0))
        )
    land = shapely.intersection(row.geometry, frame)
    if not land.is_empty:
        spots, likes = grid_spots(to_px(land, view), 5 * mm)
        found.append(Ask("land", (tr("Your land"),), spots, likes * 0.3, 2, "halo", 11))
    for name, _, at in symbol_spots(scene, view):
        spots, likes = round_spot(at, mm, 3.4, 21.0)
        found.append(
            Ask(
                f"house {name}",
                (tr("Your house"),),
                spots,
                likes,
                1,
                "halo",
                10,
                leader=True,
                anchor=_xy(at),
                owner=name,
            )
        )
    smoke = scene.layer("smoke")
    here = [tr("Smoke may drift here"), tr("with the forecast {point} wind").format(point=now.words) if now else ""]
    there = ["", ""]
    if after is not None:
        there = [tr("and here if the wind goes {point}").format(point=after.words),
                 tr("(after {time})").format(time=clock(plan, after.starts_at))]  # fmt: skip
    for when_, wind, words in (("now", now, here), ("after", after, there)):
        if smoke is None or wind is None or not (smoke["when"] == when_).any():
            continue
        area_ = shapely.union_all(smoke.loc[smoke["when"] == when_].geometry.to_numpy())
        seen = shapely.intersection(shapely.difference(area_, burn), frame)
        if not seen.is_empty:
            spots, likes = grid_spots(to_px(seen, view), 6 * mm)
            found.append(Ask(f"smoke {when_}", tuple(words), spots, likes * 0.3, 3, "plate", 9))
    return found


def _xy(at: Any) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _wind_inset(plan: BurnPlan, wind: Any, view: View) -> Inset:
    def draw(page: Page, box: Box) -> None:
        middle = box.x + box.w / 2
        if wind is None:
            page.paragraph(box.inset(2), tr("No forecast wind yet"), 9, True)
            return
        at = np.array([middle, box.y + 8.5]) * page.k
        symbols.wind_arrow(page.painter, at, page.k, PAPER, view.screen_bearing(wind.from_deg + 180), 13)
        page.text(
            middle,
            box.y + 20.5,
            tr("Wind from {words}, {km_h:.0f} km/h").format(words=wind.words, km_h=wind.km_h),
            9,
            True,
            "centre",
        )
        page.text(
            middle,
            box.y + 24.5,
            tr("forecast for {clock}").format(clock=clock(plan, wind.starts_at)),
            8,
            False,
            "centre",
        )

    return Inset(46.0, 27.0, draw)


def _scale_inset(view: View) -> Inset:
    def draw(page: Page, box: Box) -> None:
        at = np.array([box.x + 5.5, box.y + 10.0]) * page.k
        symbols.north_arrow(page.painter, at, page.k, PAPER, view.screen_bearing(0))
        page.text(box.x + 13, box.y + 4.6, tr("1:{scale:,.0f} on A4, north up").format(scale=view.scale), 8)
        scale_bar(page, box.x + 13, box.y + 11.5, view, 42.0)

    return Inset(66.0, 16.0, draw)


def _ring_us(page: Page, box: Box, plan: BurnPlan) -> None:
    inside = page.panel(box, tr("RING US")).inset(3, 0)
    page.text(inside.x, inside.y + 5.0, tr("Before, during or after:"), 9)
    page.text(inside.x, inside.y + 13.0, plan.farm.phone or "__________________", 18, True, width=inside.w)
    page.text(
        inside.x,
        inside.y + 19.2,
        tr("{in_charge}, in charge of the burn").format(in_charge=in_charge(plan)),
        9.5,
        True,
        width=inside.w,
    )
    page.text(inside.x, inside.y + 24.6, tr("Permit no. ______________   radio ch. ______"), 9)


def _advice(page: Page, box: Box, plan: BurnPlan) -> None:
    inside = page.panel(box, tr("WHAT YOU MAY SEE, AND WHAT WE ASK"), black=False).inset(4, 0)
    lines = lines_of(plan, "notice_advice")
    y = inside.y + 6.0
    for n, words in enumerate(lines):
        page.rect(Box(inside.x, y - 2.0, 1.5, 1.5), PAPER.ink, 0)
        y += page.paragraph(Box(inside.x + 4, y - 3.2, inside.w - 4, inside.bottom - y + 3.2), words, 9.5,
                            n + 1 == len(lines), leading=1.2) + 2.6  # fmt: skip
