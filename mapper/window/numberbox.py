"""A number box that takes both decimal marks and never guesses at a thousands mark."""

import math
import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from PySide6.QtCore import QDate, QDateTime, QEvent, QTime, QTimer
from PySide6.QtGui import QFocusEvent, QResizeEvent, QValidator
from PySide6.QtWidgets import QAbstractSpinBox, QDateTimeEdit, QDoubleSpinBox, QTimeEdit, QWidget

# A stock box turns a typed "12,5" into 125 without a word (measured in en_AU), so the text is read here.
_WHOLE = re.compile(r"[+-]?\d+([.,]\d+)?$")
_PARTLY = re.compile(r"[+-]?\d*([.,]\d*)?$")


def read_number(text: str) -> float | None:
    """Return the number a person typed, or None where it is not one ("1.234,5" and "1 234" are not)."""
    text = text.strip()
    return float(text.replace(",", ".")) if _WHOLE.match(text) else None


class NumberBox(QDoubleSpinBox):
    """A number with a unit beside it. An empty box is "not known" (NaN) where `may_be_empty`."""

    def __init__(
        self,
        name: str,
        low: float,
        high: float,
        decimals: int = 1,
        may_be_empty: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        # The lowest value stands for "empty"; it is never shown as a number.
        self._empty, self._low = low - 1.0 if may_be_empty else None, low
        self.setDecimals(decimals)
        self.setRange(low if self._empty is None else self._empty, high)
        if may_be_empty:
            self.setSpecialValueText("not known")
            self.setValue(self._empty or 0.0)
        self.setAccessibleName(name)
        self.setButtonSymbols(QAbstractSpinBox.ButtonSymbols.NoButtons)
        self.setKeyboardTracking(False)
        self.setFixedWidth(84)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Ready "not known" to be typed over, however the box was reached."""
        super().focusInEvent(event)
        if self._empty is not None and self.value() <= self._empty:
            QTimer.singleShot(0, self, self.selectAll)

    def number(self) -> float:
        """Return the value, NaN where the box is empty."""
        return math.nan if self._empty is not None and self.value() <= self._empty else self.value()

    def set_number(self, value: float) -> None:
        """Show a value without telling anybody; NaN empties the box."""
        self.blockSignals(True)
        self.setValue(self._empty if self._empty is not None and math.isnan(value) else value)
        self.blockSignals(False)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the text the whole box: a styled box keeps room for the buttons it does not have."""
        super().resizeEvent(event)
        self.lineEdit().setGeometry(self.rect().adjusted(8, 2, -6, -2))

    def changeEvent(self, event: QEvent) -> None:
        """A change of looks lays the text out anew, in no room at all."""
        super().changeEvent(event)
        QTimer.singleShot(0, self, lambda: self.lineEdit().setGeometry(self.rect().adjusted(8, 2, -6, -2)))

    def validate(self, text: str, pos: int) -> tuple[QValidator.State, str, int]:
        """Accept one decimal mark, point or comma; refuse group marks."""
        bare = text.strip()
        if self._empty is not None and bare in {"", self.specialValueText()}:
            return QValidator.State.Acceptable, text, pos
        value = read_number(bare)
        if value is not None and self._low <= value <= self.maximum():
            return QValidator.State.Acceptable, text, pos
        if _PARTLY.match(bare) or self.specialValueText().startswith(bare):
            return QValidator.State.Intermediate, text, pos
        return QValidator.State.Invalid, text, pos

    def valueFromText(self, text: str) -> float:
        """Return the typed number."""
        value = read_number(text)
        if value is None:
            return self._empty if self._empty is not None else self.value()
        return value

    def textFromValue(self, value: float) -> str:
        """Write with a point, as everywhere on screen and paper."""
        text = f"{value:.{self.decimals()}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text

    def stepBy(self, steps: int) -> None:
        """Step from the lowest real value when the box was empty."""
        if self._empty is not None and self.value() <= self._empty:
            self.setValue(self._low)
        else:
            super().stepBy(steps)


class ClockBox(QTimeEdit):
    """A time of day."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setDisplayFormat("HH:mm")
        self.setAccessibleName(name)
        self.setButtonSymbols(QAbstractSpinBox.ButtonSymbols.NoButtons)
        self.setFixedWidth(84)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the text the whole box, as above."""
        super().resizeEvent(event)
        self.lineEdit().setGeometry(self.rect().adjusted(8, 2, -6, -2))


class MomentBox(QDateTimeEdit):
    """A day and a time as on the clock of a zone; arrow keys step the part that the cursor is in."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setDisplayFormat("ddd d MMM yyyy HH:mm")
        self.setAccessibleName(name)
        self.setButtonSymbols(QAbstractSpinBox.ButtonSymbols.NoButtons)
        self.setFixedWidth(180)

    def show_moment(self, at: datetime, zone: str) -> None:
        """Show a moment without telling anybody."""
        local = at.astimezone(ZoneInfo(zone))
        self.blockSignals(True)
        self.setDateTime(QDateTime(QDate(local.year, local.month, local.day), QTime(local.hour, local.minute)))
        self.blockSignals(False)

    def moment(self, zone: str) -> datetime:
        """Return the moment shown, UTC."""
        d, t = self.date(), self.time()
        local = datetime(d.year(), d.month(), d.day(), t.hour(), t.minute(), tzinfo=ZoneInfo(zone))
        return local.astimezone(UTC)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the text the whole box, as above."""
        super().resizeEvent(event)
        self.lineEdit().setGeometry(self.rect().adjusted(8, 2, -6, -2))
