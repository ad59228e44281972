"""Who was given what: one line a paper, to fill in when it is handed over or sent."""

from collections.abc import Callable, Sequence

from mapper.draw.words import tr
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.sheets.flow import Placed, flow
from mapper.sheets.formats import TOP
from mapper.sheets.night import day
from mapper.sheets.page import Box, Page
from mapper.sheets.panels import paint_caution, title_bar
from mapper.sheets.table import Column, table_item

Side = Callable[[Page], None]


def sides(plan: BurnPlan, papers: Sequence[str]) -> list[Side]:
    """Return the painters of the list. papers: titles of the sheets, each with room for three who were given it."""
    columns: tuple[Column, ...] = (
        (tr("Paper"), 0.4, True), (tr("Given to"), 0.2, False), (tr("How (hand, mail, phone)"), 0.14, False),
        (tr("Date, time"), 0.13, False), (tr("By"), 0.13, False),
    )  # fmt: skip
    rows: list[tuple[str, ...]] = []
    for title in papers:
        # A notice goes to one; maps and books to several.
        rows += [(title, "", "", "", ""), *[("", "", "", "", "")] * (0 if title.startswith(tr("Notice")) else 2)]
    table = table_item(tr("WHO WAS GIVEN WHAT"), columns, [*rows, *[("", "", "", "", "")] * 3], 8.5, 7.4)
    pages = flow([table], (Box(10, TOP + 0.5, 190, 256),))

    def side(placed: Placed) -> Side:
        def draw(page: Page) -> None:
            title_bar(page, plan, tr("Cover list"), ("", ""), (day(plan.night), tr("stays with the farm")), 10)
            for item, box in placed:
                item.paint(page, box)
            paint_caution(page, Box(10, 281, 190, 11.6), CAUTION)

        return draw

    return [side(p) for p in pages]
