"""Panels that run on: each takes the next room on the page, and a long one goes on overleaf; nothing is lost."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from mapper.sheets.page import Box, Page

_GAP = 2.0
# A stack with less room than this gets the next panel in a new stack.
_LEAST_CUT = 26.0


@dataclass(frozen=True)
class Item:
    """A panel. tall(width): the height it wants, mm. paint(page, box). half: two stand side by side on a wide stack.

    cut(width, height): what of it fits into so much height, and the rest, or None where it cannot be parted.
    most: a first part of it is no taller than this; the rest follows after the others, but before those that are
    late. head: it stands on one page with the beginning of what follows.
    """

    name: str
    tall: Callable[[float], float]
    paint: Callable[[Page, Box], None]
    half: bool = False
    cut: "Callable[[float, float], tuple[Item, Item] | None] | None" = None
    most: float = float("inf")
    head: bool = False
    late: bool = False


Placed = list[tuple[Item, Box]]


def flow(items: Sequence[Item], stacks: Sequence[Box], filler: Item | None = None) -> list[Placed]:
    """Return what stands where, side by side of paper. filler: panel for room left at a stack's foot."""
    sides: list[Placed] = [[]]
    stack, y = 0, stacks[0].y
    queue = list(items)
    while queue:
        box = stacks[stack]
        item, wide = queue[0], box.w
        pair = item.half and len(queue) > 1 and queue[1].half and wide >= 180.0
        if pair:
            wide = (wide - _GAP) / 2
        tall = max(i.tall(wide) for i in queue[: 2 if pair else 1])
        room = box.bottom - y
        if not pair and item.cut is not None and tall > item.most:
            parts = item.cut(wide, min(item.most, max(room, _LEAST_CUT)))
            if parts is not None:
                late = next((k for k, i in enumerate(queue) if i.late), len(queue))
                queue = [parts[0], *queue[1:late], replace(parts[1], most=float("inf")), *queue[late:]]
                continue
        # What fits whole into a stack of its own is not parted.
        long = item.cut is not None and tall > room + 1e-6 and tall > box.h and room >= _LEAST_CUT
        parts = item.cut(wide, room) if long and item.cut is not None else None
        if parts is not None:
            queue = [*parts, *queue[1:]]
            continue
        follows = _GAP + _beginning(queue[1], wide, box.h) if item.head and len(queue) > 1 else 0.0
        if tall + follows <= room + 1e-6 or y <= box.y + 1e-6:
            sides[-1].append((item, Box(box.x, y, wide, min(tall, room))))
            if pair:
                sides[-1].append((queue[1], Box(box.x + wide + _GAP, y, wide, min(tall, room))))
            queue = queue[2 if pair else 1 :]
            y += tall + _GAP
            continue
        y = _next(sides, stacks, stack, y, filler)
        stack = (stack + 1) % len(stacks)
    while stack < len(stacks):
        _next(sides, stacks, stack, y, filler, last=True)
        stack += 1
        y = stacks[stack].y if stack < len(stacks) else y
    return [s for s in sides if s]


def _beginning(item: Item, wide: float, stack_mm: float) -> float:
    """Return how much room an item wants to begin: all of it, or a first piece where it is longer than a page."""
    tall = item.tall(wide)
    return tall if tall <= stack_mm or item.cut is None else _LEAST_CUT


def _next(
    sides: list[Placed], stacks: Sequence[Box], stack: int, y: float, filler: Item | None, last: bool = False
) -> float:
    """Fill the foot of a stack and open the next one, overleaf where it was the last; return where that begins."""
    box = stacks[stack]
    if filler is not None and box.bottom - y >= filler.tall(box.w) and (sides[-1] or not last):
        sides[-1].append((filler, Box(box.x, y, box.w, box.bottom - y)))
    if stack + 1 == len(stacks) and not last:
        sides.append([])
    return stacks[(stack + 1) % len(stacks)].y
