"""The foot of the Rows step: a bar for each row, as tall as the row is long, parted by load class."""

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QToolTip, QWidget

from mapper.draw.palette import DARK, LIGHT, Palette
from mapper.window import looks
from mapper.window.rowload import CLASSES, RowBar

if TYPE_CHECKING:
    from mapper.farm.limits import LocalLimits

CHART_PX, LEFT_PX, TOP_PX, FOOT_PX, RIGHT_PX = 196, 58, 40, 28, 18
WORDS = {"light": "too light", "right": "right", "heavy": "too heavy", "": "not known"}


class RowChart(QWidget):
    """Signal picked(row_id). Arrow keys walk the rows; Home and End go to the first and the last."""

    picked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bars: tuple[RowBar, ...] = ()
        self._key: tuple[Any, ...] = ()
        self.row_id, self._heaps, self._title = "", 0, ""
        self.setFixedHeight(CHART_PX)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Rows by load")

    def show_rows(self, rows: Any, heaps: int, limits: "LocalLimits", row_id: str, title: str) -> None:
        """Show the rows of the layer windrows that belong to one paddock (or all)."""
        from mapper.window.rowload import row_bars

        key = (tuple(rows["row_id"]), float(rows["length_m"].sum()), tuple(rows["load_along"]), limits)
        if key != self._key:
            self._key, self.bars = key, row_bars(rows, limits)
        self.row_id, self._heaps, self._title = row_id, heaps, title
        self.setAccessibleDescription(self._said())
        self.update()

    def _said(self) -> str:
        bar = next((b for b in self.bars if b.row_id == self.row_id), None)
        if bar is None:
            return f"{len(self.bars)} rows"
        parts = [f"{m:.0f} m {WORDS[k]}" for k, m in zip(CLASSES, bar.metres, strict=True) if m > 0.5]
        return f"Row {bar.number}, {bar.length_m:.0f} m: {', '.join(parts)}"

    def _inner(self) -> QRectF:
        return QRectF(LEFT_PX, TOP_PX, self.width() - LEFT_PX - RIGHT_PX, self.height() - TOP_PX - FOOT_PX)

    def bar_at(self, x: float) -> RowBar | None:
        """Return the bar under an x of the widget."""
        inner = self._inner()
        if not self.bars or not inner.left() <= x <= inner.right():
            return None
        return self.bars[min(len(self.bars) - 1, int((x - inner.left()) / inner.width() * len(self.bars)))]

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick a row."""
        bar = self.bar_at(event.position().x())
        if bar is not None:
            self.picked.emit(bar.row_id)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Say what the bar under the pointer is; dragging walks the rows."""
        bar = self.bar_at(event.position().x())
        if bar is None:
            return
        if event.buttons() & Qt.MouseButton.LeftButton:
            self.picked.emit(bar.row_id)
            return
        QToolTip.showText(event.globalPosition().toPoint(), f"Row {bar.number}, {bar.length_m:,.0f} m", self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk the rows."""
        names = [b.row_id for b in self.bars]
        at = names.index(self.row_id) if self.row_id in names else -1
        last = len(names) - 1
        to = {
            Qt.Key.Key_Left: max(0, at - 1), Qt.Key.Key_Right: min(last, at + 1), Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }.get(Qt.Key(event.key()))  # fmt: skip
        if to is None or not names:
            super().keyPressEvent(event)
        else:
            self.picked.emit(names[to])

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint head, scale, bars and the picked row's frame."""
        c, p = looks.colours(self), QPainter(self)
        ink = DARK if c.dark else LIGHT
        p.fillRect(self.rect(), QColor(c.panel))
        p.fillRect(QRectF(0, 0, self.width(), 1), QColor(c.line))
        self._paint_head(p, c, ink)
        if not self.bars:
            return
        inner = self._inner()
        top_m = _round_up(max(b.length_m for b in self.bars))
        p.setFont(looks.font_px(self, looks.SMALL))
        for part in (0.0, 0.5, 1.0):
            y = inner.bottom() - part * inner.height()
            p.fillRect(QRectF(inner.left(), y, inner.width(), 1), QColor(c.line))
            p.setPen(QColor(c.soft))
            unit = " m" if part == 1.0 else ""
            at = QRectF(0, y - 9, LEFT_PX - 8, 18)
            p.drawText(at, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, f"{top_m * part:,.0f}{unit}")
        step = inner.width() / len(self.bars)
        for k, bar in enumerate(self.bars):
            self._paint_bar(p, bar, QRectF(inner.left() + k * step, 0, step, 0), inner, top_m, ink, c)
        self._paint_numbers(p, inner, step, c)
        if self.hasFocus():
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(QColor(c.focus), 2))
            p.drawRoundedRect(QRectF(self.rect()).adjusted(2, 3, -2, -2), looks.RADIUS_S, looks.RADIUS_S)

    def _paint_head(self, p: QPainter, c: looks.Colours, ink: Palette) -> None:
        p.setFont(looks.font_px(self, looks.HEAD, bold=True))
        p.setPen(QColor(c.ink))
        p.drawText(QRectF(looks.GAP_XL, 7, 300, 24), Qt.AlignmentFlag.AlignVCenter, self._title)
        x = looks.GAP_XL + p.fontMetrics().horizontalAdvance(self._title) + 24.0
        for name, words in WORDS.items():
            k = CLASSES.index(name)
            metres = sum(b.metres[k] for b in self.bars)
            if metres < 1:
                continue
            _paint_class(p, QRectF(x, 13, 22, 12), name, ink, c)
            text = f"{metres / 1000:.1f} km {words}"
            p.setFont(looks.font_px(self, looks.BODY, bold=True))
            p.setPen(QColor(c.ink))
            width = p.fontMetrics().horizontalAdvance(text)
            p.drawText(QRectF(x + 30, 7, width + 8, 24), Qt.AlignmentFlag.AlignVCenter, text)
            x += width + 54
        p.setFont(looks.font_px(self, looks.SMALL))
        p.setPen(QColor(c.soft))
        right = QRectF(x, 7, self.width() - x - RIGHT_PX, 24)
        note = "a bar is as tall as its row is long" + (f"; {self._heaps} heaps" if self._heaps else "")
        note = p.fontMetrics().elidedText(note, Qt.TextElideMode.ElideRight, int(right.width()))
        p.drawText(right, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, note)

    def _paint_bar(
        self, p: QPainter, bar: RowBar, slot: QRectF, inner: QRectF, top_m: float, ink: Palette, c: looks.Colours
    ) -> None:
        gap = 1.0 if slot.width() >= 4 else 0.3
        y = inner.bottom()
        for name, metres in zip(CLASSES, bar.metres, strict=True):
            high = metres / top_m * inner.height()
            if high > 0.2:
                _paint_class(p, QRectF(slot.x() + gap, y - high, slot.width() - 2 * gap, high), name, ink, c)
            y -= high
        if bar.row_id == self.row_id:
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(QColor(c.focus), 2))
            p.drawRoundedRect(QRectF(slot.x() - 1, y - 3, slot.width() + 2, inner.bottom() - y + 4), 2, 2)

    def _paint_numbers(self, p: QPainter, inner: QRectF, step: float, c: looks.Colours) -> None:
        p.setFont(looks.font_px(self, looks.SMALL))
        every = next(k for k in (1, 5, 10, 20, 50, 100, 1000) if k * step >= 34 or k == 1000)
        at = next((k for k, b in enumerate(self.bars) if b.row_id == self.row_id), -1)
        for k, bar in enumerate(self.bars):
            x = inner.left() + (k + 0.5) * step
            if k == at:
                plate = QRectF(x - 16, inner.bottom() + 5, 32, 18)
                p.setPen(Qt.PenStyle.NoPen)
                p.setBrush(QColor(c.focus))
                p.drawRoundedRect(plate, 3, 3)
                p.setPen(QColor(c.panel))
                p.drawText(plate, Qt.AlignmentFlag.AlignCenter, bar.number)
            elif (k + 1) % every == 0 and (at < 0 or abs(k - at) * step > 34):
                p.setPen(QColor(c.soft))
                p.drawText(QRectF(x - 20, inner.bottom() + 5, 40, 18), Qt.AlignmentFlag.AlignCenter, bar.number)
        p.setPen(QColor(c.soft))
        p.drawText(QRectF(0, inner.bottom() + 5, LEFT_PX - 8, 18), Qt.AlignmentFlag.AlignRight, "row")


def _paint_class(p: QPainter, box: QRectF, name: str, ink: Palette, c: looks.Colours) -> None:
    """A class by more than its colour: too light is hollow, too heavy is barred."""
    p.setPen(Qt.PenStyle.NoPen)
    if name == "light":
        p.setBrush(QColor(c.panel))
        p.setPen(QPen(QColor(ink.row_light), 1.2))
        p.drawRect(box.adjusted(0.6, 0.6, -0.6, -0.6))
    elif name == "heavy":
        p.fillRect(box, QColor(ink.row_heavy))
        y = box.bottom() - 3
        while y > box.top():
            p.fillRect(QRectF(box.x(), y, box.width(), 1), QColor(c.panel))
            y -= 4
    else:
        p.fillRect(box, QColor(c.faint if name == "right" else c.line))


def _round_up(metres: float) -> float:
    for step in (50, 100, 200, 250, 500, 1000, 2000, 5000):
        if metres <= 4 * step:
            return float(-(-metres // step) * step)
    return metres
