"""The panels of a burn-order map that stand overleaf, each as an item that runs on where it must."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from mapper.draw.words import tr
from mapper.sheets.facts import Facts
from mapper.sheets.flow import Item
from mapper.sheets.order import every_block_columns, order_rows
from mapper.sheets.page import HEAD_MM, Box, Page, wrap
from mapper.sheets.panels import lines_that_fit, list_height, paint_list, paint_notes
from mapper.sheets.people import (
    PERSON_MM,
    paint_briefing,
    paint_people,
    paint_readings,
    paint_wrong,
    people_lines,
    wrong_height,
)
from mapper.sheets.table import table_item
from mapper.sheets.tally import paint_tally, tally_height
from mapper.sheets.windpanel import paint_wind

_LOOK_MM = 52.0  # the most of "look at this first" before the rest of the night


def notes_title() -> str:
    """Return the head of what the plan says besides."""
    return tr("WORTH KNOWING, AND WHAT THIS PLAN LEAVES OUT")


def tick_title() -> str:
    """Return the tally's head."""
    return tr("TICK EACH ROW WHEN LIT. CIRCLE A ROW THAT WAS MISSED OR WENT OUT")


def back_items(facts: Facts, front: frozenset[str], no_number: Sequence[int]) -> list[Item]:
    """Return the panels that the front does not show. no_number: rows whose number found no room on the map."""
    plan, paddock = facts.plan, facts.paddock
    items = []
    if facts.look:
        items.append(list_item(tr("LOOK AT THIS FIRST"), facts.look, True, _LOOK_MM))
    if "wind" not in front:
        items.append(Item("wind", lambda w: 36.0, lambda p, b: paint_wind(p, b, plan, paddock), True))
    if "briefing" not in front:
        items.append(Item("briefing", lambda w: 36.0, lambda p, b: paint_briefing(p, b, plan, paddock), True))
    if "tally" not in front and facts.numbers:
        items.append(tally_item(facts.numbers, facts.ends))
    if no_number:
        items.append(words_item(_no_number_words(no_number)))
    items.append(people_item(people_lines(plan)))
    items.append(Item("wrong", lambda w: wrong_height(plan, paddock, w), lambda p, b: paint_wrong(p, b, plan, paddock),
                      True))  # fmt: skip
    items.append(Item("readings", lambda w: 44.0, lambda p, b: paint_readings(p, b, plan)))
    rows = order_rows(plan, paddock)
    if len(rows) > (5 if "wind" in front else 6):
        items.append(table_item(tr("BURN ORDER, EVERY BLOCK"), every_block_columns(paddock), rows, 9))
    if facts.notes:
        items.append(replace(list_item(notes_title(), facts.notes, False), late=True))
    return items


def notes_item() -> Item:
    """Return the panel of lines to write on that fills a page's foot."""
    return Item("notes", lambda w: 22.0, paint_notes)


def list_item(title: str, lines: Sequence[str], ticks: bool, most: float = float("inf")) -> Item:
    """Return a panel of sentences."""

    def cut(width: float, height: float) -> tuple[Item, Item] | None:
        n = lines_that_fit(lines, width, height, ticks)
        if not 0 < n < len(lines):
            return None
        rest = title if title.endswith(")") else tr("{title} (more)").format(title=title)
        return list_item(title, lines[:n], ticks), list_item(rest, lines[n:], ticks)

    def draw(page: Page, box: Box) -> None:
        paint_list(page, box, title, lines, ticks=ticks)

    return Item("list", lambda w: list_height(lines, w, ticks), draw, cut=cut, most=most)


def words_item(words: str, pt: float = 8.5) -> Item:
    """Return a bold paragraph without a frame."""
    line = pt * 0.3528 * 1.2

    def draw(page: Page, box: Box) -> None:
        page.paragraph(box, words, pt, True, leading=1.2)

    return Item("words", lambda w: line * len(wrap(words, pt, True, w)) + 0.4, draw)


def tally_item(numbers: Sequence[int], ends: frozenset[int]) -> Item:
    """Return the tally of rows to tick."""

    def cut(width: float, height: float) -> tuple[Item, Item] | None:
        n = next((n for n in range(len(numbers), 0, -1) if tally_height(n, width) <= height), 0)
        return (tally_item(numbers[:n], ends), tally_item(numbers[n:], ends)) if 0 < n < len(numbers) else None

    def draw(page: Page, box: Box) -> None:
        paint_tally(page, box, numbers, ends, tick_title())

    return Item("tally", lambda w: tally_height(len(numbers), w), draw, cut=cut)


def people_item(lines: Sequence[tuple[str, str]]) -> Item:
    """Return the panel of people."""

    def cut(width: float, height: float) -> tuple[Item, Item] | None:
        n = int((height - HEAD_MM) / PERSON_MM)
        return (people_item(lines[:n]), people_item(lines[n:])) if 0 < n < len(lines) else None

    return Item("people", lambda w: HEAD_MM + PERSON_MM * len(lines), lambda p, b: paint_people(p, b, lines), True, cut)


def _no_number_words(numbers: Sequence[int]) -> str:
    said = ", ".join(str(n) for n in numbers)
    return tr("No room on the map for the numbers of rows {rows}: count on from the numbers beside them.").format(
        rows=said
    )


Side = Callable[[Page], None]
