"""The window's own controls: buttons, ticks, lists and number boxes that look alike in light and dark."""

from typing import ClassVar

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QCheckBox, QComboBox, QLabel, QPushButton, QWidget

from mapper.window import looks
from mapper.window.icons import paint_icon
from mapper.window.words import said


def _focus_ring(p: QPainter, widget: QWidget, radius: float) -> None:
    if widget.hasFocus():
        p.setPen(QPen(QColor(looks.colours(widget).focus), 2))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRoundedRect(QRectF(widget.rect()).adjusted(1, 1, -1, -1), radius, radius)


class PushButton(QPushButton):
    """A button with words and perhaps an icon; `act` marks the one thing to do next."""

    def __init__(self, text: str, icon: str = "", act: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(said(text), parent)
        self.act, self._icon_name = act, icon
        self.setAccessibleName(self.text())
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFont(looks.font_px(self, looks.BODY, bold=act))
        self.setMinimumHeight(looks.CONTROL_PX)

    def set_words(self, text: str) -> None:
        """Change the words, for the eye and for a reader."""
        self.setText(said(text))
        self.setAccessibleName(self.text())

    def sizeHint(self) -> QSize:
        """Return room for icon, words and air."""
        width = self.fontMetrics().horizontalAdvance(self.text()) + 28 + (24 if self._icon_name else 0)
        return QSize(width, looks.CONTROL_PX + 1)

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the button."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        ink, fill, edge = c.ink, c.panel, c.edge
        if not self.isEnabled():
            ink, fill, edge = c.faint, c.page, c.line
        elif self.act:
            ink, fill, edge = c.act_ink, c.act, c.act
        if self.isEnabled() and (self.isDown() or self.underMouse()):
            fill = QColor(fill).darker(112 if self.isDown() else 105).name() if not c.dark or self.act else c.line
        p.setPen(QPen(QColor(edge), 1))
        p.setBrush(QColor(fill))
        p.drawRoundedRect(box, looks.RADIUS_M, looks.RADIUS_M)
        words = self.fontMetrics().horizontalAdvance(self.text())
        icon = 24 if self._icon_name else 0
        left = (self.width() - words - icon) / 2
        if icon:
            paint_icon(p, self._icon_name, QRectF(left, self.height() / 2 - 9, 18, 18), ink)
        p.setPen(QColor(ink))
        p.setFont(self.font())
        p.drawText(QRectF(left + icon, 0, words + 4, self.height()), Qt.AlignmentFlag.AlignVCenter, self.text())
        _focus_ring(p, self, looks.RADIUS_M)


class IconButton(QAbstractButton):
    """A square button with an icon only; its name is read out and shown as a tip."""

    def __init__(self, icon: str, name: str, key: str = "", checkable: bool = False, parent: QWidget | None = None):
        super().__init__(parent)
        self.icon_name, name = icon, said(name)
        self.setCheckable(checkable)
        self.setAccessibleName(name)
        self.setToolTip(f"{name}  ({key})" if key else name)
        self.setFixedSize(34, 34)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the icon, on a tinted ground when it is on."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = c.act if self.isChecked() else c.ink if self.isEnabled() else c.faint
        if self.isChecked() or (self.isEnabled() and self.underMouse()):
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(QColor(c.act_ground if self.isChecked() else c.page if not c.dark else c.line))
            p.drawRoundedRect(QRectF(self.rect()), looks.RADIUS_M, looks.RADIUS_M)
        paint_icon(p, self.icon_name, QRectF(8, 8, 18, 18), ink)
        _focus_ring(p, self, looks.RADIUS_M)


class Tick(QCheckBox):
    """A box to tick."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(said(text), parent)
        self.setAccessibleName(self.text())
        self.setMinimumHeight(28)

    def sizeHint(self) -> QSize:
        """Return room for the box and the words."""
        return QSize(self.fontMetrics().horizontalAdvance(self.text()) + 32, 28)

    def hitButton(self, pos: object) -> bool:
        """The words tick it too."""
        return True

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the box and the words."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(1, self.height() / 2 - 9, 18, 18)
        on = self.isChecked()
        p.setPen(QPen(QColor(c.act if on else c.edge), 1.4))
        p.setBrush(QColor(c.act if on else c.panel))
        p.drawRoundedRect(box, looks.RADIUS_S, looks.RADIUS_S)
        if on:
            paint_icon(p, "done", box.adjusted(1, 1, -1, -1), c.act_ink)
        if self.hasFocus():
            p.setPen(QPen(QColor(c.focus), 2))
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.drawRoundedRect(box.adjusted(-0.5, -0.5, 0.5, 0.5), looks.RADIUS_S, looks.RADIUS_S)
        p.setPen(QColor(c.ink if self.isEnabled() else c.faint))
        words = QRectF(28, 0, self.width() - 28, self.height())
        text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, int(words.width()))
        p.drawText(words, Qt.AlignmentFlag.AlignVCenter, text)


class Choice(QComboBox):
    """A list to choose one from."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setMinimumHeight(looks.CONTROL_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the styled frame and our own arrow."""
        super().paintEvent(event)
        c = looks.colours(self)
        box = QRectF(self.width() - 24, self.height() / 2 - 8, 16, 16)
        paint_icon(QPainter(self), "down", box, c.soft if self.isEnabled() else c.faint)


class Words(QLabel):
    """Text in one of the window's few styles: title, head, body, soft or small."""

    SIZES: ClassVar = {
        "title": looks.TITLE,
        "head": looks.HEAD,
        "body": looks.BODY,
        "soft": looks.BODY,
        "small": looks.SMALL,
    }

    def __init__(self, text: str = "", style: str = "body", wrap: bool = True, parent: QWidget | None = None) -> None:
        super().__init__(said(text), parent)
        self.style_name = style
        self.setWordWrap(wrap)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setFont(looks.font_px(self, self.SIZES[style], bold=style in {"title", "head"}))
        self.set_tone("soft" if style in {"soft", "small"} else "ink")

    def setText(self, text: str) -> None:
        """Show other words."""
        super().setText(said(text))

    def set_tone(self, tone: str) -> None:
        """Colour the words: "ink", "soft", "warn" or "stop" (style sheet, looks.py)."""
        self.setProperty("tone", tone)
