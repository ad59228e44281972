"""The burn-order map: A4 on two sides, or A3 on one; more sides where a table runs on."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import shapely
from PySide6.QtGui import QImage, QPainter

from mapper.draw.labels import Ask, Obstacle
from mapper.draw.naming import (
    asset_asks,
    block_asks,
    break_asks,
    land_asks,
    map_obstacles,
    number_asks,
    start_finish_asks,
    way_out_asks,
)
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.view import View
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.legend import entries, paint_legend
from mapper.sheets.limitpanel import paint_limits
from mapper.sheets.mapframe import check_line, map_view, paint_map, row_turn_deg, scale_marks, wind_inset
from mapper.sheets.night import clock, day, gate_place, lit_span, source_line, winds
from mapper.sheets.order import ORDER_COLUMNS, order_rows, paint_order
from mapper.sheets.page import PAPERS_MM, Box, Page
from mapper.sheets.panels import (
    farm_words,
    few_of,
    list_height,
    names_without_place,
    paint_caution,
    paint_list,
    paint_not_a_go,
    paint_notes,
    title_bar,
)
from mapper.sheets.people import (
    PEOPLE_MM,
    paint_briefing,
    paint_people,
    paint_readings,
    paint_wrong,
    people_height,
    people_lines,
)
from mapper.sheets.table import paint_table
from mapper.sheets.tally import paint_tally, tally_fits, tally_height
from mapper.sheets.windpanel import paint_wind

_LOOK = "Look at this first"
_LEFT_OUT = "What this plan leaves out"
TICK_TITLE = "TICK EACH ROW WHEN LIT. CIRCLE A ROW THAT WAS MISSED OR WENT OUT"
Side = Callable[[Page], None]
# Room for remarks on the back; what does not fit gets a side of its own.
_LOOK_MM = 36.0
# Rows nearer than this on paper get a map a block.
_LEAST_PITCH_MM = 0.8


@dataclass(frozen=True)
class _Facts:
    """What every side of the sheet needs of its paddock."""

    plan: BurnPlan
    paddock: str
    scene: Scene
    numbers: list[int]
    ends: frozenset[int]
    look: list[str]
    notes: list[str]
    # Row numbers that found no room on the front, by paper: the back lists them.
    no_room: dict[str, list[int]] = field(default_factory=dict)


def _facts(plan: BurnPlan, paddock: str, scene: Scene) -> _Facts:
    pieces = plan.pieces[(plan.pieces["paddock"] == paddock) & (plan.pieces["order_no"] > 0)]
    blocks = plan.blocks[plan.blocks["paddock"] == paddock]
    against = [] if plan.go else [f"NOT A GO: {t}" for t in plan.against]
    said = [r.text for r in plan.remarks if r.level != "note" and r.paddock in ("", paddock)]
    known = {a.rstrip(".").removeprefix(f"{paddock}: ") for a in plan.against}
    said = [t for t in said if t.rstrip(".").removeprefix(f"{paddock}: ") not in known]
    notes = [r.text for r in plan.remarks if r.level == "note" and r.paddock in ("", paddock)]
    numbers = sorted({int(v) for v in pieces["order_no"]})
    ends = frozenset(int(v) for v in blocks["last_no"])
    return _Facts(plan, paddock, scene, numbers, ends, [*against, *dict.fromkeys(said)], [*dict.fromkeys(notes)])


def sides(plan: BurnPlan, paddock: str, paper: str, scene: Scene) -> list[Side]:
    """Return the painters of the sheet's sides. paper is "A4" (two sides or more) or "A3" (one or more)."""
    facts = _facts(plan, paddock, scene)
    if paper == "A3":
        return [lambda page: _a3(page, facts), *_over(facts, None)]
    return [lambda page: _a4_front(page, facts), lambda page: _a4_back(page, facts), *_over(facts, "A4")]


def _title(page: Page, facts: _Facts, title: str, x: float) -> None:
    plan, paddock = facts.plan, facts.paddock
    land = plan.farm.paddock(paddock)
    first, last = lit_span(plan, paddock)
    rows = plan.pieces[(plan.pieces["paddock"] == paddock) & (plan.pieces["order_no"] > 0)]
    crop = f", {land['crop']}" if land["crop"] else ""
    what = f"{paddock}  ·  {land.geometry.area / 1e4:.0f} ha  ·  {len(rows)} rows to light{crop}"
    if land.geometry.area < 1e5:
        what = what.replace(f"{land.geometry.area / 1e4:.0f} ha", f"{land.geometry.area / 1e4:.1f} ha")
    hours = f"light-up {clock(plan, first)}   last out {clock(plan, last)}" if len(rows) else "nothing to light"
    title_bar(page, plan, title, (what, farm_words(plan)), (day(plan.night), hours), x)


def _asks(facts: _Facts) -> Callable[[Scene, View], list[Ask]]:
    def asks(scene: Scene, view: View) -> list[Ask]:
        hours = lambda at: clock(facts.plan, at)  # noqa: E731
        return [
            *number_asks(scene, view), *block_asks(scene, view, hours), *break_asks(scene, view),
            *way_out_asks(scene, view, hours), *asset_asks(scene, view), *start_finish_asks(scene, view),
            *land_asks(scene, view, "neighbours", "name"),
        ]  # fmt: skip

    return asks


def _map(page: Page, box: Box, facts: _Facts, margin_mm: float, part: Any = None) -> View:
    """Paint the paddock's map, or a part of it: an area in metres."""
    plan, paddock = facts.plan, facts.paddock
    land = plan.farm.paddock(paddock).geometry if part is None else part
    pieces = facts.scene.layer("pieces")
    view = map_view(land, box, page.k, row_turn_deg(pieces if pieces is not None else []), margin_mm)
    now, after = winds(plan, paddock)
    change = clock(plan, after.starts_at) if after is not None else ""
    obstacles: Callable[[Scene, View], list[Obstacle]] = map_obstacles
    paint_map(page, box, view, facts.scene, Style(PAPER), _asks(facts), obstacles,
              (wind_inset(page, now, after, change, view),), _busy(facts, land))  # fmt: skip
    return view


def _busy(facts: _Facts, land: Any) -> Any:
    """The ground that an inset must not cover: the paddock and all that lies at its edge."""
    ways = facts.scene.layer("ways_out")
    points = facts.scene.layer("lighting_points")
    shapes = [land.buffer(30), *(ways.geometry.buffer(15) if ways is not None else ())]
    return shapely.union_all([*shapes, *(points.geometry.buffer(60) if points is not None else ())])


def _foot(page: Page, facts: _Facts, x: float, y: float, width: float) -> None:
    gate = gate_place(facts.plan, facts.paddock)
    words = f"{source_line(facts.plan, facts.paddock)} For {facts.plan.farm.emergency_number}: {gate.words}."
    page.paragraph(Box(x, y, width, 9.6), words, 7.5, leading=1.2)


def _without_place(page: Page, facts: _Facts) -> str:
    """Name what found no place on the map, for the line under it."""
    numbers = sorted({int(n.split()[1]) for n in page.unplaced if n.startswith("row ")})
    facts.no_room["A3" if page.width > 300 else "A4"] = numbers
    others = [*names_without_place(page, facts.plan),
              *(n.split(" ", 1)[1] for n in page.unplaced if n.startswith("way ")),
              *(f"block {n.rsplit(' ', 1)[1]}" for n in page.unplaced if n.startswith("block "))]  # fmt: skip
    rows = f"{len(numbers)} numbers found no room: listed overleaf." if numbers else ""
    return f"{rows} {f'No room on the map for: {few_of(others)}.' if others else ''}".strip()


def _no_number(facts: _Facts, paper: str) -> str:
    """Name the rows without a number on the map; the front is laid out first where it has not been yet."""
    if paper not in facts.no_room:
        image = QImage(1, 1, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        width, height = PAPERS_MM[paper]
        (_a3 if paper == "A3" else _a4_front)(Page(painter, 150 / 25.4, width, height), facts)
        painter.end()
    numbers = facts.no_room[paper]
    said = ", ".join(str(n) for n in numbers)
    return f"No room on the map for the numbers of rows {said}: count on from the numbers beside them." if said else ""


def _a4_front(page: Page, facts: _Facts) -> None:
    plan = facts.plan
    _title(page, facts, "Burn-order map", 8)
    top = 21.5
    if not plan.go:
        paint_not_a_go(page, Box(8, 21.0, 194, 8), plan, "the back")
        top = 30.5
    box = Box(12, top, 190, 168.0 - top)
    view = _map(page, box, facts, 16)
    note = f"Every 5th row is heavy and numbered. {_without_place(page, facts)}"
    scale_marks(page, 12, 173.0, view, "A4", note, 190)
    paint_limits(page, Box(8, 182, 96, 58), plan, facts.paddock)
    paint_order(page, Box(106, 182, 96, 58), plan, facts.paddock)
    paint_legend(page, Box(8, 242, 194, 26), entries(facts.scene, view), 4)
    paint_caution(page, Box(8, 269, 194, 11.6), CAUTION)
    _foot(page, facts, 8, 281.2, 194)
    check_line(page, 8, 292.6)


def _a4_back(page: Page, facts: _Facts) -> None:
    plan, paddock = facts.plan, facts.paddock
    title_bar(page, plan, "Burn-order map: back", ("", ""), (paddock, day(plan.night)), 8)
    paint_wind(page, Box(8, 21.5, 96, 36), plan, paddock)
    paint_briefing(page, Box(106, 21.5, 96, 36), plan, paddock)
    tall = tally_height(len(facts.numbers), 194, 118)
    paint_tally(page, Box(8, 59.5, 194, tall), facts.numbers, facts.ends, TICK_TITLE)
    y = 61.5 + tall
    if said := _no_number(facts, "A4"):
        y += page.paragraph(Box(8, y - 1.2, 194, 6.5), said, 7.5, True, leading=1.15) + 0.8
    look_h = min(list_height(facts.look, 194, True), _LOOK_MM) if facts.look else 0.0
    people_h = people_height(plan)
    free = 281.0 - y - people_h - 2 - (look_h + 2 if look_h else 0)
    readings_h = min(max(free * 0.62, 0.0), 46.0)
    if readings_h >= 24:
        paint_readings(page, Box(8, y, 194, readings_h), plan)
        y += readings_h + 2
    paint_people(page, Box(8, y, 112, people_h), plan)
    paint_wrong(page, Box(122, y, 80, people_h), plan, paddock)
    y += people_h + 2
    if look_h:
        paint_list(page, Box(8, y, 194, look_h), "LOOK AT THIS FIRST", facts.look, ticks=True)
        y += look_h + 2
    if 281.0 - y > 16:
        paint_notes(page, Box(8, y, 194, 281.0 - y - 1.5))
    paint_caution(page, Box(8, 281, 194, 11.6), CAUTION)


def _a3(page: Page, facts: _Facts) -> None:
    plan, paddock = facts.plan, facts.paddock
    _title(page, facts, "Burn-order map", 10)
    top = 21.5
    if not plan.go:
        paint_not_a_go(page, Box(10, 21.0, 400, 8), plan, "overleaf")
        top = 30.5
    tall = min(tally_height(len(facts.numbers), 284, 40), 40)
    bottom = 283.0 - tall - 14
    box = Box(14, top, 280, bottom - 5 - top)
    view = _map(page, box, facts, 22)
    scale_marks(
        page, 14, bottom, view, "A3", f"Every 5th row is heavy and numbered. {_without_place(page, facts)}", 280
    )
    paint_tally(page, Box(10, bottom + 10, 284, tall), facts.numbers, facts.ends, TICK_TITLE)
    _foot(page, facts, 10, bottom + tall + 11.5, 284)
    check_line(page, 10, 292.6)
    x, w = 298.0, 112.0
    y = top
    for height, draw in (
        (59.0, lambda b: paint_limits(page, b, plan, paddock)), (34.0, lambda b: paint_wind(page, b, plan, paddock)),
        (53.0, lambda b: paint_order(page, b, plan, paddock, "overleaf")),
        (30.0, lambda b: paint_briefing(page, b, plan, paddock)),
    ):  # fmt: skip
        draw(Box(x, y, w, height))
        y += height + 2
    caution_y = 288.0 - 20.0
    paint_legend(page, Box(x, y, w, caution_y - 1.5 - y), entries(facts.scene, view), 2)
    paint_caution(page, Box(x, caution_y, w, 19.6), CAUTION)


def _over(facts: _Facts, first_side: str | None) -> list[Side]:
    """Return further sides: blocks, row numbers, remarks that found no room on the first ones."""
    blocks = order_rows(facts.plan, facts.paddock)
    a4 = first_side == "A4"
    found = _block_sides(facts, Box(12, 21.5, 190, 146.5) if a4 else Box(14, 21.5, 280, 210))
    if len(blocks) > (7 if a4 else 6):
        found += _table_sides(facts, blocks)
    if not (tally_fits(len(facts.numbers), 194, 118) if a4 else tally_fits(len(facts.numbers), 284, 40)):
        found += _tally_sides(facts)
    if not a4:
        found.append(lambda page: _people_side(page, facts))
    if a4 and 6.0 + 5.0 * len(people_lines(facts.plan)) > PEOPLE_MM:
        found.append(lambda page: _told_side(page, facts))
    looks = facts.look if list_height(facts.look, 194 if a4 else 400, True) > (_LOOK_MM if a4 else 87.0) else []
    lists = [(t, lines, t == _LOOK) for t, lines in ((_LOOK, looks), (_LEFT_OUT, facts.notes)) if lines]
    return found + _list_sides(facts, lists, 194 if a4 else 400)


def _side(page: Page, facts: _Facts, title: str) -> Box:
    margin = 8.0 if page.width < 300 else 10.0
    title_bar(page, facts.plan, title, ("", ""), (facts.paddock, day(facts.plan.night)), margin)
    paint_caution(page, Box(margin, 281, page.width - 2 * margin, 11.6), CAUTION)
    return Box(margin, 21.5, page.width - 2 * margin, 257.5)


def _block_sides(facts: _Facts, front: Box) -> list[Side]:
    """Return a map a block where the whole paddock's rows lie too near to each other to be told apart."""
    blocks = facts.scene.layer("blocks")
    if blocks is None or len(blocks) < 2:
        return []
    land = facts.plan.farm.paddock(facts.paddock).geometry
    view = map_view(land, front, 1.0, row_turn_deg(facts.scene.layer("pieces")))
    if facts.scene.row_pitch_m * 1000.0 / view.scale >= _LEAST_PITCH_MM:
        return []

    def side(block: Any) -> Side:
        def draw(page: Page) -> None:
            room = _side(page, facts, f"Block {block.block}")
            mine = facts.scene.layer("pieces")
            mine = mine[(mine["block"] == block.block) & (mine["order_no"] > 0)]
            numbers = sorted({int(n) for n in mine["order_no"]})
            tall = tally_height(len(numbers), room.w, 60)
            box = Box(room.x + 4, room.y, room.w - 4, room.h - tall - 15)
            view = _map(page, box, facts, 14, block.geometry)
            starts = clock(facts.plan, block.starts_at)
            words = f"Block {block.block}, rows {block.first_no} to {block.last_no}, from {starts}."
            scale_marks(page, room.x + 4, box.bottom + 5, view, "A3" if page.width > 300 else "A4", words, room.w - 4)
            paint_tally(page, Box(room.x, room.bottom - tall, room.w, tall), numbers, frozenset(), TICK_TITLE)

        return draw

    return [side(b) for b in blocks.sort_values(["starts_at", "first_no"]).itertuples()]


def _table_sides(facts: _Facts, rows: list[tuple[str, ...]]) -> list[Side]:
    def side(some: list[tuple[str, ...]]) -> Side:
        def draw(page: Page) -> None:
            box = _side(page, facts, "Burn order, every block")
            inside = page.panel(Box(box.x, box.y, box.w, min(box.h, 6.5 + 5 + 8.0 * len(some))), "BURN ORDER")
            paint_table(page, inside, ORDER_COLUMNS, some)

        return draw

    return [side(rows[n : n + 40]) for n in range(0, len(rows), 40)]


def _tally_sides(facts: _Facts) -> list[Side]:
    def side(some: list[int]) -> Side:
        def draw(page: Page) -> None:
            paint_tally(page, _side(page, facts, "Rows to tick"), some, facts.ends, TICK_TITLE)

        return draw

    return [side(facts.numbers[n : n + 900]) for n in range(0, len(facts.numbers), 900)]


def _list_sides(facts: _Facts, lists: list[tuple[str, list[str], bool]], width: float) -> list[Side]:
    """Return sides with lists (title, lines, with boxes to tick): all on one where they fit."""

    def side(some: list[tuple[str, list[str], bool]]) -> Side:
        def draw(page: Page) -> None:
            box = _side(page, facts, some[0][0])
            y = box.y
            for title, lines, ticks in some:
                tall = min(list_height(lines, box.w, ticks), box.bottom - y)
                paint_list(page, Box(box.x, y, box.w, tall), title.upper(), lines, ticks=ticks)
                y += tall + 3

        return draw

    if lists and sum(list_height(lines, width, ticks) + 3 for _, lines, ticks in lists) <= 257:
        return [side(lists)]
    return [
        side([(title, lines[n : n + 24], ticks)]) for title, lines, ticks in lists for n in range(0, len(lines), 24)
    ]


def _told_side(page: Page, facts: _Facts) -> None:
    """Everybody who is told, where the back had no room for all."""
    paint_people(page, _side(page, facts, "Who is told"), facts.plan)


def _people_side(page: Page, facts: _Facts) -> None:
    """The back of an A3 sheet: readings, people, what to do when it goes wrong, what to look at."""
    box = _side(page, facts, "Burn-order map: back")
    half = (box.w - 4) / 2
    paint_people(page, Box(box.x, box.y, half, 80), facts.plan)
    paint_wrong(page, Box(box.x + half + 4, box.y, half, 80), facts.plan, facts.paddock)
    paint_readings(page, Box(box.x, box.y + 84, box.w, 76), facts.plan)
    page.paragraph(Box(box.x, box.y + 161.5, box.w, 6.0), _no_number(facts, "A3"), 7.5, True, leading=1.15)
    rest = Box(box.x, box.y + 168, box.w, box.h - 170)
    if facts.look:
        paint_list(page, rest, "LOOK AT THIS FIRST", facts.look, ticks=True)
    else:
        paint_notes(page, rest)
