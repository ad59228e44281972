"""A page laid out in millimetres, on a PDF or on a picture; it remembers every word's box so that tests can look."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter

from mapper.draw.lettering import font, metrics
from mapper.draw.palette import PAPER
from mapper.draw.strokes import pen

Align = Literal["left", "centre", "right"]
HEAD_MM = 6.0
# Painter units per mm of every page, so that words break and stand alike on screen, picture and paper.
DPI = 1200
FINE = DPI / 25.4


@dataclass(frozen=True)
class Box:
    """A rectangle in mm."""

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        """The right side."""
        return self.x + self.w

    @property
    def bottom(self) -> float:
        """The lower side."""
        return self.y + self.h

    def inset(self, dx: float, dy: float | None = None) -> "Box":
        """Return the box made smaller on all sides."""
        dy = dx if dy is None else dy
        return Box(self.x + dx, self.y + dy, self.w - 2 * dx, self.h - 2 * dy)


@dataclass(frozen=True)
class Written:
    """A run of words on the page and the box it fills, mm; its type in points."""

    words: str
    box: Box
    pt: float = 9.0
    bold: bool = True


@dataclass(frozen=True)
class GeoFrame:
    """A map frame on the page, mm from the top left, and the farm-grid corners: top left, top right, bottom right,
    bottom left (easting, northing)."""

    box: Box
    corners: tuple[tuple[float, float], ...]


@dataclass
class Page:
    """One side of paper, width x height mm; the painter counts FINE units a mm, k for short."""

    painter: QPainter
    width: float
    height: float
    k: float = FINE
    written: list[Written] = field(default_factory=list)
    frames: list[GeoFrame] = field(default_factory=list)
    # The maps as laid out (mapframe.Laid), and the names of what found no place on them.
    maps: list[Any] = field(default_factory=list)
    unplaced: list[str] = field(default_factory=list)

    @property
    def labels(self) -> list[Written]:
        """The words on the page's maps and their boxes."""
        found = []
        for laid in self.maps:
            for one in laid.placing.placed:
                left, top, right, bottom = (v / self.k for v in one.box)
                box = Box(laid.box.x + left, laid.box.y + top, right - left, bottom - top)
                found.append(Written(" ".join(one.ask.lines), box, one.ask.size_pt, one.ask.bold))
        return found

    def text(
        self, x: float, y: float, words: str, pt: float = 9, bold: bool = False, align: Align = "left",
        colour: str = PAPER.ink, width: float | None = None,
    ) -> float:  # fmt: skip
        """Write one line on baseline y; cut with "..." where wider than `width`. Return its width in mm."""
        words = elide(words, pt, bold, width) if width is not None else words
        wide = text_width(words, pt, bold)
        left = x - {"left": 0.0, "centre": wide / 2, "right": wide}[align]
        self.painter.setPen(QColor(colour))
        self.painter.setFont(font(pt, bold, self.k))
        self.painter.drawText(QPointF(left * self.k, y * self.k), words)
        if words.strip():
            self.written.append(Written(words, Box(left, y - pt * 0.255, wide, pt * 0.3), pt, bold))
        return wide

    def paragraph(
        self, box: Box, words: str, pt: float = 9, bold: bool = False, colour: str = PAPER.ink, leading: float = 1.25
    ) -> float:
        """Write words broken to the box's width; lines past its foot end in "...". Return the height used in mm."""
        line = pt * 0.3528 * leading
        lines = wrap(words, pt, bold, box.w)
        fits = max(int(box.h / line + 0.05), 1)
        if len(lines) > fits:
            lines = [*lines[: fits - 1], elide(" ".join(lines[fits - 1 :]), pt, bold, box.w)]
        for n, words_ in enumerate(lines):
            self.text(box.x, box.y + line * (n + 0.8), words_, pt, bold, colour=colour)
        return line * len(lines)

    def line(self, x0: float, y0: float, x1: float, y1: float, width: float = 0.25, colour: str = PAPER.ink) -> None:
        """Draw a line, mm."""
        self.painter.setPen(pen(colour, width * self.k))
        self.painter.drawLine(QPointF(x0 * self.k, y0 * self.k), QPointF(x1 * self.k, y1 * self.k))

    def rect(self, box: Box, fill: str = "", line: float = 0.35, colour: str = PAPER.ink) -> None:
        """Draw a rectangle; line 0 leaves the outline out."""
        shape = QRectF(box.x * self.k, box.y * self.k, box.w * self.k, box.h * self.k)
        if fill:
            self.painter.fillRect(shape, QColor(fill))
        if line:
            self.painter.setPen(pen(colour, line * self.k))
            self.painter.drawRect(shape)

    def panel(self, box: Box, title: str, black: bool = True) -> Box:
        """Draw a framed panel with its head, white on black or black on grey; return the room inside."""
        self.rect(Box(box.x, box.y, box.w, HEAD_MM), PAPER.ink if black else "#D4D4D4", 0.35)
        self.rect(box)
        colour = PAPER.ground if black else PAPER.ink
        self.text(box.x + 2, box.y + 4.3, title, 9.5, True, colour=colour, width=box.w - 4)
        return Box(box.x, box.y + HEAD_MM, box.w, box.h - HEAD_MM)

    def tick(self, x: float, y: float, side: float = 3.0) -> None:
        """Draw an empty box to tick; y is its middle."""
        self.rect(Box(x, y - side / 2, side, side), PAPER.ground, 0.35)

    def blank(self, x0: float, x1: float, y: float) -> None:
        """Draw a line to write on."""
        if x1 - x0 > 2:
            self.line(x0, y, x1, y, 0.2)

    def reversed(self, x: float, y: float, words: str, pt: float = 9) -> float:
        """Write white on black from x on baseline y; return the width used."""
        wide = text_width(words, pt, True) + 1.6
        self.rect(Box(x, y - pt * 0.3, wide, pt * 0.39), PAPER.ink, 0)
        self.text(x + 0.8, y, words, pt, True, colour=PAPER.ground)
        return wide

    def clipped(self, box: Box, draw: Callable[[], None]) -> None:
        """Draw something with nothing shown outside the box."""
        self.painter.save()
        self.painter.setClipRect(QRectF(box.x * self.k, box.y * self.k, box.w * self.k, box.h * self.k))
        draw()
        self.painter.restore()


def text_width(words: str, pt: float, bold: bool = False) -> float:
    """Return the width of words in mm."""
    return metrics(pt, bold, FINE).horizontalAdvance(words) / FINE


def fitting_pt(words: str, bold: bool, width: float, sizes: Sequence[float]) -> float:
    """Return the first of the sizes (points, largest first) at which the words fit the width; else the last."""
    return next((pt for pt in sizes if text_width(words, pt, bold) <= width), sizes[-1])


def elide(words: str, pt: float, bold: bool, width: float) -> str:
    """Return the words, cut with "..." where they are wider than width in mm."""
    if text_width(words, pt, bold) <= width:
        return words
    low, high = 0, len(words)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(words[:middle].rstrip() + "…", pt, bold) <= width:
            low = middle
        else:
            high = middle - 1
    return words[:low].rstrip() + "…"


def wrap(words: str, pt: float, bold: bool, width: float) -> list[str]:
    """Return the words broken into lines no wider than width in mm; a word too wide for a line is cut."""
    lines: list[str] = []
    for part in words.split("\n"):
        line = ""
        for word in part.split(" "):
            longer = f"{line} {word}".strip()
            if line and text_width(longer, pt, bold) > width:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return [elide(line, pt, bold, width) for line in lines]
