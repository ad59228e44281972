"""What a plan book is put together from: a part's text with lines to write on, tables, charts, signatures."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QByteArray, QRectF
from PySide6.QtSvg import QSvgRenderer

from mapper.draw.palette import PAPER
from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.flow import Item
from mapper.sheets.page import Box, Page, text_width, wrap
from mapper.sheets.texts import LINE, lines_of, set_by

_PT = 9.5
_LINE_MM = _PT * 0.3528 * 1.28
_HEAD_MM = 10.0
_BLANK = "_" * 16


def part_item(head: str, lines: Sequence[str], said: str = "", bold: bool = False) -> Item:
    """Return a part of the plan: its head (empty for one that goes on), lines, and who set them in small type."""

    def heights(width: float) -> list[float]:
        return [_LINE_MM * len(wrap(with_blanks(w, width - 4), _PT, bold, width - 4)) + 1.0 for w in lines]

    def foot(width: float) -> float:
        return 2.9 * len(wrap(said, 7, False, width)) + 1.2 if said else 0.0

    def top(width: float) -> float:
        return _HEAD_MM if head else 1.0

    def tall(width: float) -> float:
        return top(width) + sum(heights(width)) + foot(width) + 1.0

    def cut(width: float, height: float) -> tuple[Item, Item] | None:
        run, n = top(width) + 1.0, 0
        for one in heights(width):
            run += one
            if run > height:
                break
            n += 1
        if not 0 < n < len(lines):
            return None
        return part_item(head, lines[:n], "", bold), part_item("", lines[n:], said, bold)

    def draw(page: Page, box: Box) -> None:
        y = box.y
        if head:
            page.text(box.x, y + 5.6, head, 12, True, width=box.w)
            page.line(box.x, y + 7.4, box.right, y + 7.4, 0.5)
        y += top(box.w)
        for words, high in zip(lines, heights(box.w), strict=True):
            page.rect(Box(box.x, y + 1.3, 1.3, 1.3), PAPER.ink, 0)
            page.paragraph(Box(box.x + 4, y, box.w - 4, high), with_blanks(words, box.w - 4), _PT, bold, leading=1.28)
            y += high
        if said:
            page.paragraph(Box(box.x, y + 0.2, box.w, foot(box.w)), said, 7, colour=PAPER.soft, leading=1.15)

    return Item(head, tall, draw, cut=cut)


def text_item(plan: BurnPlan, key: str, more: Sequence[str] = ()) -> Item:
    """Return a text of the farm or of the program by its name, after lines of the plan's own."""
    return part_item("", [*more, *lines_of(plan, key)], set_by(plan, key))


def with_blanks(words: str, width: float) -> str:
    """Return a line with its blanks as long as a hand needs; one at the end runs to the margin."""
    made = words.replace(LINE, _BLANK)
    if words.endswith(LINE):
        last = wrap(made, _PT, False, width)[-1]
        spare = int((width - text_width(last, _PT) - 1.0) / text_width("_", _PT))
        made += "_" * max(spare, 0)
    return made


def chart_item(name: str, svg: Callable[[], bytes], tall: float = 64.0) -> Item:
    """Return a chart; svg() draws it when the page is painted."""

    def draw(page: Page, box: Box) -> None:
        renderer = QSvgRenderer(QByteArray(svg()))
        size = renderer.defaultSize()
        scale = min(box.w / size.width(), box.h / size.height())
        wide, high = size.width() * scale, size.height() * scale
        renderer.render(page.painter, QRectF((box.x + (box.w - wide) / 2) * page.k, box.y * page.k, wide * page.k,
                                             high * page.k))  # fmt: skip

    return Item(name, lambda w: tall, draw, half=True)


def signature_item(lines: Sequence[str]) -> Item:
    """Return lines to sign: who, name, signature, date and time."""
    step = 11.0

    def draw(page: Page, box: Box) -> None:
        for n, who in enumerate(lines):
            y = box.y + step * (n + 1) - 2.0
            page.text(box.x, y, who, 9, True, width=box.w * 0.34)
            at = box.x + box.w * 0.35
            for hint, share in ((tr("name"), 0.24), (tr("signature"), 0.24), (tr("date, time"), 0.17)):
                wide = box.w * share
                page.blank(at, at + wide - 3, y + 0.6)
                page.text(at, y + 3.6, hint, 7, colour=PAPER.soft)
                at += wide

    return Item("signatures", lambda w: step * len(lines) + 3.0, draw)
