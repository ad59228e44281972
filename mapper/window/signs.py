"""Names on the map: paddocks with their state, blocks with rows and time, things with their names."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from mapper.draw.lettering import load_fonts
from mapper.draw.view import View
from mapper.window.icons import paint_icon
from mapper.window.looks import BODY, SMALL, Colours

if TYPE_CHECKING:
    from mapper.window.state import Session


@dataclass(frozen=True)
class Sign:
    """A small plate of lines at a place (farm metres). rank: lower is placed first. mark: an icon before a line."""

    x: float
    y: float
    lines: tuple[str, ...]
    rank: int = 5
    picked: bool = False
    mark: str = ""
    plate: bool = True
    below: bool = False
    dashed: bool = False
    room_m: tuple[float, float] = (math.inf, math.inf)


def signs_of(session: "Session", clock: object) -> tuple[Sign, ...]:
    """Return the signs for the step in hand; clock(time) writes a time in the farm's zone."""
    farm = session.farm
    if farm is None:
        return ()
    signs: list[Sign] = []
    blocks = session.layer("blocks") if session.step in {"order", "sheets", "evening"} else None
    with_blocks: set[str] = set()
    if blocks is not None and len(blocks):
        stale = "order" in session.stale
        for b in blocks.itertuples():
            with_blocks.add(str(b.paddock))
            spot = b.geometry.representative_point()
            when = "" if b.starts_at != b.starts_at else str(clock(b.starts_at))  # type: ignore[operator]
            signs.append(Sign(
                spot.x, spot.y, (str(b.block), f"{b.first_no}–{b.last_no}", when), 1,
                (b.paddock, b.block) == (session.paddock, session.block), dashed=stale, room_m=_room(b.geometry),
            ))  # fmt: skip
    if session.step == "record":
        found = _record_signs(session)
        signs += found
        with_blocks |= set(farm.paddocks["paddock"]) if found else set()
    rows = session.layer("windrows")
    for p in farm.paddocks.itertuples():
        spot = p.geometry.representative_point()
        count = 0 if rows is None else int((rows["paddock"] == p.paddock).sum())
        about = f"{p.geometry.area / 1e4:.0f} ha" + (
            f", {count} rows" if count else ", no rows yet" if rows is not None else ""
        )
        y = spot.y
        if p.paddock in with_blocks:
            y = p.geometry.bounds[3]
            spot = type(spot)((p.geometry.bounds[0] + p.geometry.bounds[2]) / 2, y)
        signs.append(Sign(spot.x, y, (str(p.paddock), about), 2, p.paddock == session.paddock))
    for a in farm.assets.itertuples():
        if a.kind in {"tree", "pole", "trees", "track"} or not a.name:
            continue
        spot = (
            a.geometry.representative_point()
            if a.geometry.geom_type != "LineString"
            else a.geometry.interpolate(0.5, normalized=True)
        )
        signs.append(
            Sign(spot.x, spot.y, (str(a.name),), 4 if a.kind in {"house", "road"} else 6, plate=False, below=True)
        )
    for n in farm.neighbours.itertuples():
        spot = n.geometry.representative_point()
        signs.append(Sign(spot.x, spot.y, (str(n.name),), 7, plate=False))
    return tuple(sorted(signs, key=lambda s: (not s.picked, s.rank, s.lines)))


def _record_signs(session: "Session") -> list[Sign]:
    """Row numbers where lighting began: every fifth, and each that did not burn as wanted; names of escapes."""
    from mapper.draw.asburnt import NAMED

    layers = session.book.layers()
    if not layers:
        return []
    states, signs = session.book.states, []
    parts = layers["row_parts"]
    for part in parts[(parts["order_no"] > 0) & (parts["from_m"] == 0)].itertuples():
        named = states.get(part.order_no) in NAMED
        if part.order_no % 5 == 0 or named:
            x, y = part.geometry.coords[0]
            signs.append(Sign(x, y, (str(part.order_no),), 3 if named else 5, plate=named))
    for escape in layers["escapes"].itertuples():
        spot = escape.geometry.representative_point()
        signs.append(Sign(spot.x, spot.y, (str(escape.name),), 0, picked=True))
    return signs


def paint_signs(p: QPainter, view: View, signs: tuple[Sign, ...], c: Colours) -> None:
    """Paint the signs in the order given; one that would lie on another is tried higher and lower, then left out."""
    taken: list[QRectF] = []
    frame = QRectF(0, 0, *view.size)
    fonts = [_font(BODY, True), _font(SMALL, False), _font(BODY + 2, True)]
    for sign in signs:
        x, y = (float(v) for v in view.to_px(np.float64(sign.x), np.float64(sign.y)))  # type: ignore[arg-type]
        if not frame.contains(x, y):
            continue
        lines = sign.lines
        if min(sign.room_m) * view.px_per_m < 56:
            lines = lines[:1]
        heads = [fonts[0] if k == 0 and sign.plate else fonts[1] for k in range(len(lines))]
        width = max(QFontMetricsF(f).horizontalAdvance(t) for f, t in zip(heads, lines, strict=True))
        width += 16 if sign.plate else 4
        height = 17.0 * len(lines) + (7 if sign.plate else 0)
        for dx, dy in _tries(sign, width, height):
            box = QRectF(x - width / 2 + dx, y - height / 2 + dy, width, height)
            if not any(box.intersects(t) for t in taken):
                break
        else:
            continue
        taken.append(box.adjusted(-2, -2, 2, 2))
        _paint(p, sign, lines, box, heads, c)


def _room(shape: Any) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    # A slanted or bent block is narrower than its box.
    narrow = 2 * shape.area / max(shape.length, 1e-9)
    return min(x1 - x0, 2.2 * narrow), min(y1 - y0, 2.2 * narrow)


def _tries(sign: Sign, width: float, height: float) -> tuple[tuple[float, float], ...]:
    """Return where a sign may stand, best first: offsets of its middle from its place, pixels."""
    if sign.below:
        side = width / 2 + 12
        return (0, height / 2 + 10), (side, 0), (-side, 0), (0, -height / 2 - 10)
    return (0, 0), (0, -height - 6), (0, height + 6), (0, -2 * height - 12)


def _paint(p: QPainter, sign: Sign, lines: tuple[str, ...], box: QRectF, fonts: list[QFont], c: Colours) -> None:
    ink = QColor(c.act_ink if sign.picked else c.ink)
    if sign.plate:
        pen = QPen(QColor(c.act if sign.picked else c.line), 1)
        if sign.dashed:
            pen = QPen(QColor(c.edge), 1.2, Qt.PenStyle.DashLine)
        p.setPen(pen)
        p.setBrush(QColor(c.act if sign.picked else c.panel))
        p.drawRoundedRect(box, 4, 4)
    for k, (line, font) in enumerate(zip(lines, fonts, strict=True)):
        room = QRectF(box.x(), box.y() + (3 if sign.plate else 0) + 17 * k, box.width(), 17)
        p.setFont(font)
        if not sign.plate:
            # A halo by painting the words round about is far cheaper than by a path (measured).
            p.setPen(QColor(c.ground))
            for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (1, 1), (-1, 1), (1, -1)):
                p.drawText(room.translated(dx, dy), Qt.AlignmentFlag.AlignCenter, line)
            ink = QColor(c.soft)
        p.setPen(ink)
        p.drawText(room, Qt.AlignmentFlag.AlignCenter, line)
    if sign.mark:
        paint_icon(p, sign.mark, QRectF(box.x() + 3, box.y() + 3, 13, 13), ink)


def _font(size_px: int, bold: bool) -> QFont:
    font = QFont(load_fonts())
    font.setPixelSize(size_px)
    font.setBold(bold)
    return font
