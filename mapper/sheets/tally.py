"""A cell for every row number, to tick on the paddock."""

from collections.abc import Sequence

from mapper.sheets.page import HEAD_MM, Box, Page, text_width

# A cell lower than this is too small to tick.
_LEAST_MM = 4.8


def paint_tally(
    page: Page, box: Box, numbers: Sequence[int], ends: frozenset[int], title: str, tall: float = 7.6
) -> int:
    """A cell for every row number to tick; a heavy line after each block's last. Return how many found room."""
    inside = page.panel(box, title).inset(1.5)
    across = max(int(inside.w / 9.2), 1)
    down = -(-len(numbers) // across)
    if down > int(inside.h / _LEAST_MM):
        down = max(int(inside.h / _LEAST_MM), 1)
    h = min(tall, inside.h / max(down, 1))
    w = inside.w / across
    shown = min(len(numbers), across * down)
    for n in range(shown):
        number = numbers[n]
        cell = Box(inside.x + (n % across) * w, inside.y + (n // across) * h, w, h)
        page.rect(cell, "", 0.25)
        middle, base = cell.x + w / 2, cell.y + h / 2 + 1.15
        if number % 5 == 0:
            wide = text_width(str(number), 9.0, True) + 1.4
            page.reversed(middle - wide / 2 - 0.1, base, str(number), 9.0)
        else:
            page.text(middle, base, str(number), 9.0, True, "centre")
    for n in range(shown):
        if numbers[n] in ends and n + 1 < len(numbers):
            x, y = inside.x + (n % across + 1) * w, inside.y + (n // across) * h
            page.line(x, y, x, y + h, 1.0)
    return shown


def tally_height(count: int, width: float) -> float:
    """Return the height that a tally of so many rows wants at this width."""
    across = max(int((width - 3) / 9.2), 1)
    down = -(-max(count, 1) // across)
    return 9.2 + down * (7.2 if down <= 6 else 5.4 if down <= 14 else _LEAST_MM)


def tally_fits(count: int, width: float, height: float) -> bool:
    """Return whether so many rows find room in a panel of this size."""
    return int((height - HEAD_MM - 3) / _LEAST_MM) * max(int((width - 3) / 9.2), 1) >= count
