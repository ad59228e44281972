"""The burn-order map: of one paddock or of all paddocks of the night, in four formats and as many sides as it wants."""

from collections.abc import Callable
from functools import cached_property
from typing import Any

import pandas as pd
import shapely

from mapper.draw.labels import Ask
from mapper.draw.naming import (
    asset_asks,
    block_asks,
    break_asks,
    frame_asks,
    land_asks,
    map_obstacles,
    number_asks,
    start_finish_asks,
    way_out_asks,
)
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.backs import back_items, notes_item, tick_title
from mapper.sheets.facts import Facts
from mapper.sheets.flow import Placed, flow
from mapper.sheets.formats import TOP, Front, formats_of, front_of, margin_of
from mapper.sheets.insets import Part, draw_frames, join_tags, join_words, part_view, parts_of
from mapper.sheets.legend import entries, paint_legend
from mapper.sheets.limitpanel import paint_limits
from mapper.sheets.mapframe import Laid, check_line, lay_map, map_view, paint_map, scale_marks, wind_inset
from mapper.sheets.night import area_words, clock, day, gate_place, lands_of, lit_span, source_line, winds
from mapper.sheets.order import paint_order
from mapper.sheets.page import Box, Page, elide
from mapper.sheets.panels import (
    farm_name,
    farm_words,
    few_of,
    names_without_place,
    paint_caution,
    paint_foot,
    paint_not_a_go,
    title_bar,
)
from mapper.sheets.people import paint_briefing
from mapper.sheets.tally import paint_tally, tally_fits, tally_height
from mapper.sheets.windpanel import paint_wind

Side = Callable[[Page], None]


def sides(plan: BurnPlan, paddock: str | None, paper: str, scene: Scene) -> list[Side]:
    """Return the painters of the sheet's sides. paper: a name of formats.PAPERS_MM; paddock None: all of the night."""
    return _BurnOrder(Facts(plan, paddock, scene), paper).sides()


def best_format(plan: BurnPlan, paddock: str | None, size: str, scene: Scene) -> str:
    """Return the format of a size ("A4", "A3") on which the map is largest; the usual one where all are alike."""
    facts = Facts(plan, paddock, scene)

    return min(formats_of(size), key=lambda p: round(_front_view(facts, front_of(p, not plan.go)).scale))


def _front_view(facts: Facts, front: Front) -> View:
    """Return the front map's view: rows upright, unless the turn would make the map much smaller."""
    turned = map_view(facts.land, front.map, facts.turn_deg, front.clear_mm)
    straight = map_view(facts.land, front.map, 0.0, front.clear_mm)
    return straight if turned.scale > 1.25 * straight.scale else turned


class _BurnOrder:
    """One sheet in one format; the map is laid out once, whoever asks first."""

    def __init__(self, facts: Facts, paper: str) -> None:
        self.facts, self.paper, self.plan = facts, paper, facts.plan
        self.margin = margin_of(paper)
        count = len(facts.numbers)
        wide = 284.0 if paper == "A3 landscape" else 277.0
        on_front = paper.startswith("A3") and count and tally_fits(count, wide, 32.0)
        self.front: Front = front_of(paper, not self.plan.go, tally_height(count, wide) if on_front else 0.0)

    def sides(self) -> list[Side]:
        """Return front, maps of parts, then what stands overleaf."""
        found: list[Side] = [self.paint_front, *(self._part_side(p) for p in self.parts)]
        return [*found, *(self._back_side(k) for k in range(len(self.overleaf)))]

    @cached_property
    def view(self) -> View:
        """The front map's view."""
        return _front_view(self.facts, self.front)

    @cached_property
    def _parts(self) -> tuple[float, list[Part]]:
        if self.facts.paddock is None:
            return self.view.scale, []
        pitch = self.facts.scene.row_pitch_m
        return parts_of(self.facts.lit_ground, pitch, self.view.scale, self._part_box, self.view.turn_deg)

    @property
    def parts(self) -> list[Part]:
        """The numbered maps, where the front cannot show every row."""
        return self._parts[1]

    @cached_property
    def laid(self) -> Laid:
        """The front's map."""
        parts = self.parts
        frames = (lambda painter: draw_frames(painter, self.view, parts)) if parts else None
        more = frame_asks(self.view, {p.number: p.frame for p in parts})
        return self._lay(self.front.map, self.view, more, frames, bool(parts))

    @property
    def _tiers(self) -> int:
        """How many steps the numbers stand in beyond the rows' ends: a large sheet has room for two."""
        return 2 if self.paper.startswith("A3") or self.parts else 1

    def _lay(self, box: Box, view: View, more: list[Ask], extra: Any, overview: bool = False, tags: Any = ()) -> Laid:
        facts, scene = self.facts, self.facts.scene
        hours = lambda at: clock(self.plan, at)  # noqa: E731
        asks = [*([] if overview else number_asks(scene, view, self._tiers)), *block_asks(scene, view, hours),
                *break_asks(scene, view), *way_out_asks(scene, view, hours), *asset_asks(scene, view),
                *start_finish_asks(scene, view), *land_asks(scene, view, "neighbours", "name"), *more]  # fmt: skip
        if facts.paddock is None:
            asks += land_asks(scene, view, "paddocks", "paddock", 4)
        now, after = winds(self.plan, facts.paddock)
        change = clock(self.plan, after.starts_at) if after is not None else ""
        style = Style(PAPER, frozenset({"lighting"}) if overview else frozenset())
        insets = (*tags, wind_inset(now, after, change, view))
        return lay_map(box, view, scene, style, asks, map_obstacles(scene, view), insets, self._busy, extra)

    @cached_property
    def _busy(self) -> Any:
        """The ground that an inset must not cover: the paddock and all that lies at its edge."""
        ways = self.facts.scene.layer("ways_out")
        points = self.facts.scene.layer("lighting_points")
        shapes = [self.facts.land.buffer(30), *(ways.geometry.buffer(15) if ways is not None else ())]
        return shapely.union_all([*shapes, *(points.geometry.buffer(60) if points is not None else ())])

    @cached_property
    def overleaf(self) -> list[Placed]:
        """What stands on the backs."""
        shown = frozenset(self.front.boxes)
        missing = self.no_number(self.laid) if not self.parts else []
        return flow(back_items(self.facts, shown, missing), self.front.stacks, notes_item())

    @staticmethod
    def no_number(laid: Laid) -> list[int]:
        """Return the row numbers that found no room on a map."""
        return sorted({int(n.split()[1]) for n in laid.placing.left if n.startswith("row ")})

    def paint_front(self, page: Page) -> None:
        """Paint the front: the map with all that is needed beside it."""
        plan, facts, boxes = self.plan, self.facts, self.front.boxes
        self._title(page, tr("Burn-order map"))
        if not plan.go:
            paint_not_a_go(page, Box(self.margin, TOP - 0.5, page.width - 2 * self.margin, 8), plan, tr("overleaf"))
        paint_map(page, self.laid)
        scale_marks(page, boxes["scale"], self.view, self.paper, facts.north, self._without_place(page))
        paint_limits(page, boxes["limits"], plan, facts.paddock)
        paint_order(page, boxes["order"], plan, facts.paddock, tr("overleaf"))
        if "wind" in boxes:
            paint_wind(page, boxes["wind"], plan, facts.paddock)
            paint_briefing(page, boxes["briefing"], plan, facts.paddock)
        if "tally" in boxes:
            paint_tally(page, boxes["tally"], facts.numbers, facts.ends, tick_title())
        hidden = frozenset({"lighting"}) if self.parts else frozenset()
        found = entries(facts.scene, self.view, hidden, bool(self.parts), facts.north)
        paint_legend(page, boxes["legend"], found, self.front.legend_columns)
        paint_caution(page, boxes["caution"], CAUTION)
        gate = gate_place(plan, facts.paddock)
        words = f"{tr('For')} {plan.farm.emergency_number}: {gate.words}. {source_line(plan, facts.paddock)}"
        paint_foot(page, boxes["foot"], words)
        check_line(page, boxes["check"].x, boxes["check"].y)

    def _title(self, page: Page, title: str) -> None:
        plan, facts = self.plan, self.facts
        lands = lands_of(plan, facts.paddock)
        first, last = lit_span(plan, facts.paddock)
        count = len(facts.numbers)
        crops = ", ".join(dict.fromkeys(c for c in lands["crop"] if c))
        name = facts.paddock or tr("{count} paddocks").format(count=len(plan.paddocks))
        # A long name gives way to the figures after it.
        parts = [elide(name, 10, True, 52.0), area_words(lands), tr("{count} rows to light").format(count=count)]
        what = "  ·  ".join(parts) + (f", {crops}" if crops else "")
        hours = tr("light-up {first}   last out {last}").format(first=clock(plan, first), last=clock(plan, last))
        right = (day(plan.night), hours if not pd.isna(first) else tr("nothing to light"))
        title_bar(page, plan, title, (what, farm_words(plan)), right, self.margin)

    def _without_place(self, page: Page) -> str:
        """Name what found no place on the map, for the line under it."""
        if self.parts:
            count = len(self.parts)
            if count == 1:
                return tr("Overview: rows and their numbers are on map 1, overleaf.")
            return tr("Overview: rows and their numbers are on maps 1 to {count}.").format(count=count)
        numbers = self.no_number(self.laid)
        others = [
            *names_without_place(page, self.plan),
            *(n.split(" ", 1)[1] for n in page.unplaced if n.startswith("way ")),
            *(f"{tr('block')} {n.rsplit(' ', 1)[1]}" for n in page.unplaced if n.startswith("block ")),
        ]
        breaks = self.facts.scene.layer("breaks")
        others += [tr("width of the {side} break").format(side=breaks.iloc[int(n.split()[1])]["side"].lower())
                   for n in page.unplaced if n.startswith("break ")]  # fmt: skip
        said = [tr("Every 5th row is heavy and numbered.")]
        if numbers:
            said.append(tr("{count} numbers found no room: listed overleaf.").format(count=len(numbers)))
        if others:
            said.append(tr("No room on the map for: {names}.").format(names=few_of(others, 6)))
        return " ".join(said)

    def _side(self, page: Page, title: str) -> Box:
        """Paint what every further side carries; return the room inside."""
        caution = 8.6 if page.width > 250 else 11.6
        name = self.facts.paddock or tr("all paddocks tonight")
        title_bar(page, self.plan, title, ("", farm_name(self.plan)), (name, day(self.plan.night)), self.margin)
        foot = page.height - 4.4 - caution
        paint_caution(page, Box(self.margin, foot, page.width - 2 * self.margin, caution), CAUTION)
        return Box(self.margin, TOP, page.width - 2 * self.margin, foot - TOP - 2.5)

    def _back_side(self, k: int) -> Side:
        def draw(page: Page) -> None:
            self._side(page, tr("Burn-order map: back"))
            for item, box in self.overleaf[k]:
                item.paint(page, box)

        return draw

    @property
    def _part_box(self) -> Box:
        """The frame of a part's map, mm."""
        width, height = self.front.stacks[-1].right + self.margin, self.front.stacks[0].bottom + 18.0
        return Box(self.margin + 4, TOP, width - 2 * self.margin - 4, height - TOP - 18.0 - 20.0)

    def _part_side(self, part: Part) -> Side:
        scale = self._parts[0]

        def draw(page: Page) -> None:
            facts = self.facts
            title = tr("Burn order: map {number} of {count}").format(number=part.number, count=len(self.parts))
            room, box = self._side(page, title), self._part_box
            view = part_view(part, box, self.view.turn_deg, scale)
            near = [p for p in self.parts if p.number in part.joins.values()]
            laid = self._lay(box, view, [], lambda p: draw_frames(p, view, near), tags=join_tags(part, box))
            paint_map(page, laid)
            words = join_words(part)
            if missing := self.no_number(laid):
                words += " " + tr("No room for the numbers of rows {rows}.").format(
                    rows=", ".join(str(n) for n in missing)
                )
            strip = Box(room.x + 4, box.bottom + 5.5, room.w - 4, 8)
            scale_marks(page, strip, view, self.paper, facts.north, words)

        return draw
