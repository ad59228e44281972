"""Panels that every sheet shares: title, caution, the band of a plan that is no go, lists, notes."""

from collections.abc import Sequence

from mapper.draw.palette import PAPER
from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import in_charge
from mapper.sheets.page import Box, Page, elide, fitting_pt, text_width, wrap


def paint_list(page: Page, box: Box, title: str, lines: Sequence[str], black: bool = True, ticks: bool = False) -> None:
    """A panel of sentences, as tall as list_height says."""
    inside = page.panel(box, title, black).inset(2, 1.2)
    y = inside.y
    for words in lines:
        wide = inside.w - (5 if ticks else 0)
        tall = _sentence_mm(words, wide)
        if ticks:
            page.tick(inside.x, y + 2.0, 2.8)
        page.paragraph(Box(inside.right - wide, y, wide, tall), words, 8.5, True, leading=1.3)
        y += tall


def _sentence_mm(words: str, wide: float) -> float:
    return 3.9 * len(wrap(words, 8.5, True, wide)) + 0.9


def list_height(lines: Sequence[str], width: float, ticks: bool = False) -> float:
    """Return the height that paint_list wants for all its lines."""
    wide = width - 4 - (5 if ticks else 0)
    return 9.0 + sum(_sentence_mm(words, wide) for words in lines)


def lines_that_fit(lines: Sequence[str], width: float, height: float, ticks: bool = False) -> int:
    """Return how many of the first lines paint_list shows in so much height."""
    return sum(list_height(lines[:n], width, ticks) <= height for n in range(1, len(lines) + 1))


def paint_notes(page: Page, box: Box) -> None:
    """Lines to write on."""
    inside = page.panel(box, tr("NOTES (rows missed, rows that went out, spots to watch tomorrow)"), black=False)
    for n in range(1, int(inside.h / 7.5) + 1):
        if inside.y + n * 7.5 < inside.bottom - 2:
            page.blank(inside.x + 3, inside.right - 3, inside.y + n * 7.5)


def paint_caution(page: Page, box: Box, words: str) -> None:
    """The caution, bold, framed, large enough to be read."""
    words = tr(words)
    page.rect(box, PAPER.tint, 0.35)
    pt = 8.5 if len(wrap(words, 8.5, True, box.w - 3)) * 8.5 * 0.3528 * 1.2 <= box.h - 1 else 8.0
    page.paragraph(box.inset(1.5, 0.6), words, pt, True, leading=1.2)


def paint_foot(page: Page, box: Box, words: str) -> None:
    """The place to say in an emergency call, and the sources: small, never cut where a smaller type helps."""
    fits = (pt for pt in (7.5, 7.2, 6.9) if len(wrap(words, pt, False, box.w)) * pt * 0.3528 * 1.2 <= box.h + 0.3)
    page.paragraph(box, words, next(fits, 6.6), leading=1.2)


def paint_not_a_go(page: Page, box: Box, plan: BurnPlan, more: str) -> None:
    """The black band of a plan that is not a go: what stands against it, as much as fits, and where the rest is."""
    page.rect(box, PAPER.ink, 0)
    wide = page.text(box.x + 2, box.y + 5.0, tr("NOT A GO"), 13, True, colour=PAPER.ground)
    one = len(wrap(" ".join(plan.against), 8.5, True, box.w - wide - 8)) == 1
    room = Box(box.x + wide + 6, box.y + (2.0 if one else 0.5), box.w - wide - 8, box.h - 0.5)
    words = " ".join(plan.against)
    if len(wrap(words, 8.5, True, room.w)) > 2:
        first = plan.against[0]
        words = (
            tr("{first} And {len} more: see {more}.").format(first=first, len=len(plan.against) - 1, more=more)
            if len(plan.against) > 1
            else first
        )
    page.paragraph(room, words, 8.5, True, PAPER.ground, 1.15)


def title_bar(
    page: Page, plan: BurnPlan, title: str, middle: tuple[str, str], right: tuple[str, str], x: float
) -> None:
    """The sheet's title, what it is of, and the date."""
    wide = page.text(x, 15.0, title, 22 if page.width > 300 else 19, True)
    page.text(x + wide + 2, 11.6, tr("plan"), 8.5, True)
    wide += 3 + max(page.text(x + wide + 2, 15.2, tr("no. {number}").format(number=plan.number), 8.5, True), 7.0)
    left = x + wide + 5
    # Names of any length: the right side takes no more than half of what the title leaves.
    most = (page.width - x - left) * (0.5 if middle[0] else 0.68)
    size = fitting_pt(right[0], True, most, (12, 10, 9))
    right = elide(right[0], size, True, most), right[1]
    room_right = max(text_width(right[0], size, True), text_width(right[1], 9))
    page.text(page.width - x, 12.4, right[0], size, True, "right")
    page.text(page.width - x, 17.2, right[1], 9, False, "right")
    room = page.width - x - room_right - 4 - left
    size = next((pt for pt in (10.0, 9.5, 9.0, 8.5) if text_width(middle[0], pt, True) <= room), 8.0)
    page.text(left, 12.4, middle[0], size, True, width=room)
    farm = middle[1] or farm_words(plan)
    size = next((pt for pt in (9.0, 8.5, 8.0) if text_width(farm, pt) <= room), 7.5)
    page.text(left, 17.2, farm, size, width=room)
    page.line(x, 19.4, page.width - x, 19.4, 0.8)


def farm_name(plan: BurnPlan) -> str:
    """The farm's name, marked where its data are invented."""
    invented = tr(" (invented data)") if plan.farm.invented and "invented" not in plan.farm.name else ""
    return f"{plan.farm.name}{invented}"


def farm_words(plan: BurnPlan) -> str:
    """The farm, and who is in charge."""
    return tr("{farm}  ·  In charge: {name}").format(farm=farm_name(plan), name=in_charge(plan))


def names_without_place(page: Page, plan: BurnPlan) -> list[str]:
    """Return the names of assets that found no place on the page's map."""
    ids = [n.split(" ", 1)[1] for n in page.unplaced if n.startswith("asset ")]
    names = plan.farm.assets.set_index("asset")["name"]
    return list(dict.fromkeys(str(names.get(i) or i) for i in ids))


def few_of(names: Sequence[str], most: int = 2) -> str:
    """Return the first names and how many more there are."""
    return ", ".join(names[:most]) + (
        tr(" and {most} more").format(most=len(names) - most) if len(names) > most else ""
    )
