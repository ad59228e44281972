"""Tables that shrink to their room, and say how many rows found none."""

from collections.abc import Sequence

import numpy as np

from mapper.draw.palette import PAPER
from mapper.draw.words import tr
from mapper.sheets.flow import Item
from mapper.sheets.page import HEAD_MM, Box, Page, elide, text_width, wrap

SOFT = PAPER.soft


Column = tuple[str, float, bool]  # head, share of the width, bold


def paint_table(
    page: Page, box: Box, columns: Sequence[Column], rows: Sequence[Sequence[str]], pt: float = 9,
    least: float = 4.4, most: float = 8.0, rest: str = "on the back",
) -> int:  # fmt: skip
    """Draw a table; a word that begins with "!" is reversed, "[]" is a box to tick. Return how many rows found room.

    Where not all do, the last line says how many more there are and where.
    """
    head_h = 4.6
    room = box.h - head_h
    edges = box.x + 2 + np.concatenate([[0], np.cumsum([c[1] for c in columns])]) * (box.w - 4)
    for n, (head, _, _) in enumerate(columns):
        page.text(edges[n], box.y + 3.4, head, 7.5, colour=SOFT, width=edges[n + 1] - edges[n] - 0.6)
    wide = [edges[n + 1] - edges[n] - 0.8 for n in range(len(columns))]
    tall = np.array([_tall(row, columns, wide, pt, least) for row in rows])
    run = np.cumsum(tall)
    # Rows take the height of their words; where not all find room, one line is kept to say so.
    shown = len(rows) if not len(rows) or run[-1] <= room + 1e-6 else int(np.searchsorted(run, room - least + 1e-6))
    spare = max(room - tall.sum(), 0.0) / max(len(rows), 1) if shown == len(rows) else 0.0
    heights = tall[:shown] + min(spare, max(most - least, 0.0))
    tops = box.y + head_h + np.concatenate([[0.0], np.cumsum(heights)])
    for r, row in enumerate(rows[:shown]):
        y = float(tops[r])
        page.line(box.x, y, box.right, y, 0.12, "#8A8A8A")
        for n, words in enumerate(row):
            _cell(page, edges[n], y, wide[n], float(heights[r]), words, pt, columns[n][2])
    if shown < len(rows):
        y = float(tops[-1])
        page.line(box.x, y, box.right, y, 0.12, "#8A8A8A")
        more = tr("and {count} more {where}").format(count=len(rows) - shown, where=rest)
        page.text(box.x + 2, y + least / 2 + 1.2, more, pt, True, width=box.w - 4)
    return shown


def _tall(row: Sequence[str], columns: Sequence[Column], wide: Sequence[float], pt: float, least: float) -> float:
    lines = max(len(wrap(words, pt, c[2], w)) for words, c, w in zip(row, columns, wide, strict=True))
    return max(least, lines * pt * 0.4 + 0.4) if lines > 1 else least


def _cell(page: Page, x: float, y: float, w: float, h: float, words: str, pt: float, bold: bool) -> None:
    middle = y + h / 2
    if words == "[]":
        page.tick(x, middle, min(4.0, h - 1.0))
    elif words.startswith("!"):
        page.reversed(x, middle + pt * 0.13, elide(words[1:], pt, True, w - 1.6), pt)
    elif h >= 2 * pt * 0.40 and text_width(words, pt, bold) > w:
        lines, room = wrap(words, pt, bold, w), int(h / (pt * 0.39))
        if len(lines) > room:
            lines = [*lines[: room - 1], elide(" ".join(lines[room - 1 :]), pt, bold, w)]
        for k, line in enumerate(lines):
            page.text(x, middle + pt * (0.13 + (k - (len(lines) - 1) / 2) * 0.38), line, pt, bold)
    else:
        page.text(x, middle + pt * 0.13, words, pt, bold, width=w)


def table_mm(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: float, pt: float = 8.5,
             least: float = 4.4) -> float:  # fmt: skip
    """Return the height that the rows want, without the heads."""
    wide = [(width - 4) * c[1] - 1.5 for c in columns]
    return sum(_tall(row, columns, wide, pt, least) for row in rows)


def table_item(
    title: str, columns: Sequence[Column], rows: Sequence[Sequence[str]], pt: float = 8.5, least: float = 6.0
) -> Item:
    """Return a table in a panel that runs on."""

    def tall_of(count: int, width: float) -> float:
        return HEAD_MM + 5.5 + table_mm(columns, rows[:count], width, pt, least)

    def cut(width: float, height: float) -> tuple[Item, Item] | None:
        n = sum(
            HEAD_MM + 5.5 + table_mm(columns, rows[:k], width, pt, least) <= height for k in range(1, len(rows) + 1)
        )
        if not 0 < n < len(rows):
            return None
        return table_item(title, columns, rows[:n], pt, least), table_item(title, columns, rows[n:], pt, least)

    def draw(page: Page, box: Box) -> None:
        paint_table(page, page.panel(box, title), columns, rows, pt, least)

    return Item(title, lambda w: tall_of(len(rows), w), draw, cut=cut)
