"""Paper: four formats, and where each panel of a burn-order map stands on them, mm."""

from dataclasses import dataclass

from mapper.sheets.page import Box

PAPERS_MM: dict[str, tuple[float, float]] = {
    "A4 portrait": (210.0, 297.0), "A4 landscape": (297.0, 210.0),
    "A3 portrait": (297.0, 420.0), "A3 landscape": (420.0, 297.0),
}  # fmt: skip
SIZES = ("A4", "A3")
# The orientation that a size is known for; it wins where both give the map the same scale.
USUAL = {"A4": "A4 portrait", "A3": "A3 landscape"}
TOP = 21.5
BAND = 9.0  # the black band of a plan that is not a go


def margin_of(paper: str) -> float:
    """Return the page's margin in mm."""
    return 8.0 if paper.startswith("A4") else 10.0


def formats_of(size: str) -> tuple[str, ...]:
    """Return the formats that a size ("A4", "A3") or a format's own name stands for, the usual one first."""
    if size in PAPERS_MM:
        return (size,)
    return (USUAL[size], *(name for name in PAPERS_MM if name.startswith(size) and name != USUAL[size]))


@dataclass(frozen=True)
class Front:
    """Where the panels stand on the front. map: the frame; clear_mm: map kept round the paddock for words.

    boxes: panels by name. legend_columns: how many. stacks: columns of a back's panels, left to right.
    """

    map: Box
    clear_mm: float
    boxes: dict[str, Box]
    legend_columns: int
    stacks: tuple[Box, ...]


def front_of(paper: str, band: bool, tally_mm: float = 0.0) -> Front:
    """Return the front's layout. band: leave room for "not a go"; tally_mm: height of the tally, 0 where overleaf."""
    top = TOP + (BAND if band else 0.0)
    return {"A4 portrait": _a4_portrait, "A4 landscape": _a4_landscape, "A3 portrait": _a3_portrait,
            "A3 landscape": _a3_landscape}[paper](top, tally_mm)  # fmt: skip


def _a4_portrait(top: float, tally: float) -> Front:
    boxes = {
        "scale": Box(12, 173.0, 190, 8), "limits": Box(8, 182, 96, 58), "order": Box(106, 182, 96, 58),
        "legend": Box(8, 242, 194, 26), "caution": Box(8, 269, 194, 11.6), "foot": Box(8, 281.2, 194, 9.6),
        "check": Box(8, 292.6, 100, 0),
    }  # fmt: skip
    return Front(Box(12, top, 190, 168.0 - top), 14.0, boxes, 4, (Box(8, TOP, 194, 257.5),))


def _a4_landscape(top: float, tally: float) -> Front:
    x, w = 203.0, 86.0
    legend = 181.5 - (top + 114.0)
    boxes = {
        "scale": Box(12, 173.5, 187, 8), "limits": Box(x, top, w, 60), "order": Box(x, top + 62, w, 50),
        "legend": Box(x, top + 114, w, legend), "caution": Box(8, 183.3, 281, 8.8), "foot": Box(8, 193.0, 281, 9.6),
        "check": Box(8, 205.0, 100, 0),
    }  # fmt: skip
    stacks = (Box(8, TOP, 139.5, 171.0), Box(149.5, TOP, 139.5, 171.0))
    return Front(Box(12, top, 187, 168.5 - top), 12.0, boxes, 2, stacks)


def _a3_landscape(top: float, tally: float) -> Front:
    bottom = 283.0 - (tally + 10 if tally else 0.0) - 4
    x, w, y = 298.0, 112.0, top
    boxes = {"scale": Box(14, bottom, 280, 8), "foot": Box(10, 284.5, 284, 6.6), "check": Box(10, 292.6, 100, 0)}
    if tally:
        boxes["tally"] = Box(10, bottom + 10, 284, tally)
    for name, tall in (("limits", 59.0), ("wind", 34.0), ("order", 53.0), ("briefing", 30.0)):
        boxes[name] = Box(x, y, w, tall)
        y += tall + 2
    boxes["legend"] = Box(x, y, w, 267.0 - y)
    boxes["caution"] = Box(x, 268.5, w, 19.6)
    stacks = (Box(10, TOP, 198, 257.5), Box(212, TOP, 198, 257.5))
    return Front(Box(14, top, 280, bottom - 5 - top), 20.0, boxes, 2, stacks)


def _a3_portrait(top: float, tally: float) -> Front:
    foot = 404.0
    boxes = {"foot": Box(10, foot, 277, 6.6), "check": Box(10, 415.0, 100, 0), "caution": Box(10, foot - 13, 277, 11.0),
             "legend": Box(10, foot - 42, 277, 28)}  # fmt: skip
    y = foot - 43.5
    if tally:
        boxes["tally"] = Box(10, y - tally, 277, tally)
        y -= tally + 2
    boxes |= {"wind": Box(10, y - 33, 137.5, 33), "briefing": Box(149.5, y - 33, 137.5, 33)}
    boxes |= {"limits": Box(10, y - 95, 137.5, 60), "order": Box(149.5, y - 95, 137.5, 60)}
    bottom = y - 95 - 11
    boxes["scale"] = Box(14, bottom + 1.5, 273, 8)
    return Front(Box(14, top, 273, bottom - 3.5 - top), 20.0, boxes, 5, (Box(10, TOP, 277, 380.5),))
