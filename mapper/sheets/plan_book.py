"""The plan book: the burn plan in words, parts as published planning standards ask for, bound with its maps.

Parts follow the Interagency Prescribed Fire Planning Guide (PMS 484) and NRCS job sheet 338: place and directions,
objectives, prescription, weather, breaks, hazards, people, clothing, first aid, communication, notices, test fire,
lighting and holding, contingency, smoke, patrol, after-burn record, sign-off.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import shapely

from mapper.draw.naming import asset_asks, land_asks, map_obstacles
from mapper.draw.palette import PAPER
from mapper.draw.scene import Style
from mapper.draw.words import tr
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.bookbefore import (
    against_items,
    breaks_items,
    go_item,
    hazards_items,
    limit_sources_item,
    limits_item,
    look_items,
    place_item,
    prescription_item,
)
from mapper.sheets.bookitems import signature_item, text_item
from mapper.sheets.bookweather import weather_items
from mapper.sheets.bookwork import (
    escapes_items,
    lighting_items,
    own_words_items,
    patrol_lines,
    people_item,
    smoke_lines,
    told_item,
    wrong_item,
)
from mapper.sheets.flow import Item, Placed, flow
from mapper.sheets.formats import TOP
from mapper.sheets.mapframe import Laid, lay_map, map_view, paint_map
from mapper.sheets.night import area_words, clock, day, gate_place, in_charge, lands_of, lit_span, nearest_road, when
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import farm_words, paint_caution, paint_not_a_go, title_bar
from mapper.sheets.scenes import night_scene
from mapper.sheets.texts import LINE

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


def parts_of(plan: BurnPlan) -> list[Part]:
    """Return the parts in their order, filled from the plan where it knows, with lines to write on where not."""
    return [
        Part(tr("Go or no go"), (go_item(plan), *against_items(plan), *look_items(plan), limits_item(plan))),
        Part(tr("Place and way in"), (text_item(plan, "directions"), place_item(plan))),
        Part(tr("Objectives"), (text_item(plan, "objectives"),)),
        Part(tr("Prescription"), (prescription_item(plan), limit_sources_item(plan))),
        Part(tr("Weather"), weather_items(plan)),
        Part(tr("Breaks"), breaks_items(plan)),
        Part(tr("Hazards and what to keep clear of"), hazards_items(plan)),
        Part(tr("People and equipment"), (text_item(plan, "complexity"), people_item(plan))),
        Part(tr("Protective clothing"), (text_item(plan, "clothing"),)),
        Part(tr("First aid and medical"), (text_item(plan, "first_aid"),)),
        Part(tr("Communication"), (text_item(plan, "communication"),)),
        Part(tr("Notices"), (told_item(plan),)),
        Part(tr("Test fire"), (text_item(plan, "test_fire"),)),
        Part(tr("Lighting"), lighting_items(plan)),
        Part(tr("Holding"), (text_item(plan, "holding"),)),
        Part(tr("Contingency"), (text_item(plan, "contingency"), *escapes_items(plan), wrong_item(plan))),
        Part(tr("Smoke"), (text_item(plan, "smoke", smoke_lines(plan)),)),
        Part(tr("Patrol"), (text_item(plan, "patrol", patrol_lines(plan)),)),
        Part(tr("After-burn record"), (text_item(plan, "after_burn"),)),
        Part(tr("Sign-off"), (signature_item((tr("Plan written by"), tr("Plan read by"), tr("Breaks walked by"),
                                              tr("Go, person in charge"), tr("Out and left, person in charge"))),)),
        Part(tr("What the plan says of itself"), own_words_items(plan)),
        Part(tr("Glossary"), (text_item(plan, "glossary"),)),
    ]  # fmt: skip


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
