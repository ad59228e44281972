"""The line at the foot: what to do, the pointer's place in grid and degrees, grid, scale, saved or not."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import Words
from mapper.window.state import Session


class StatusLine(QWidget):
    """The foot of the window."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setFixedHeight(looks.STATUS_PX)
        row = QHBoxLayout(self)
        row.setContentsMargins(looks.GAP_XL, 1, looks.GAP_XL, 0)
        row.setSpacing(24)
        self.said = Words("Ready", "small", wrap=False)
        self.place, self.degrees, self.grid, self.scale, self.saved = (Words("", "small", wrap=False) for _ in range(5))
        for words, name in (
            (self.said, "What to do"), (self.place, "Place in the grid"), (self.degrees, "Place in degrees"),
            (self.grid, "Grid"), (self.scale, "Scale"), (self.saved, "Saved"),
        ):  # fmt: skip
            words.setAccessibleDescription(name)
        row.addWidget(self.said, 1)
        self.said.setMinimumWidth(120)
        for widget in (self.place, self.degrees, self.grid, self.scale, self.saved):
            row.addWidget(widget)
        session.said.connect(self.say)
        session.farm_changed.connect(self.refresh)
        session.plan_changed.connect(self.refresh)
        self.refresh()

    def say(self, text: str) -> None:
        """Say one line at the left."""
        self.said.setText(text)

    def refresh(self) -> None:
        """Show grid and saved state."""
        s = self._session
        self.grid.setText("" if s.farm is None else s.farm.grid.name.replace("GDA2020 / ", "GDA2020, "))
        if s.farm is None:
            self.saved.setText("")
        elif s.dirty:
            self.saved.setText("Not saved")
        else:
            at = s.saved_at.astimezone().strftime("%H:%M") if s.saved_at else ""
            self.saved.setText(f"Saved {at}".strip())

    def show_place(self, x: float, y: float, metres_per_px: float, px_per_inch: float) -> None:
        """Show the pointer's place and the screen's scale."""
        farm = self._session.farm
        if farm is None:
            return
        self.place.setText(f"{x:,.0f} E  {y:,.0f} N".replace(",", " "))
        lon, lat = (float(v) for v in farm.grid.to_lonlat(x, y))
        self.degrees.setText(f"{abs(lat):.5f}° {'S' if lat < 0 else 'N'}  {abs(lon):.5f}° {'W' if lon < 0 else 'E'}")
        self.show_scale(metres_per_px, px_per_inch)

    def show_scale(self, metres_per_px: float, px_per_inch: float) -> None:
        """Show the scale, to two figures."""
        ratio = metres_per_px * px_per_inch / 0.0254
        step = 10 ** max(0, len(str(int(ratio))) - 2)
        self.scale.setText(f"1:{round(ratio / step) * step:,.0f}")

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the line above."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.panel))
        p.fillRect(QRectF(0, 0, self.width(), 1), QColor(c.line))
