"""What a file would bring, before anything changes: on a small map, in words, with what was repaired and refused."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import PushButton, Words
from mapper.window.dialog import Dialog
from mapper.window.remarks import Card
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from mapper.farm.farm import Farm
    from mapper.window.bring import Brought
    from mapper.window.window import MainWindow

LAYERS = ("paddocks", "assets", "neighbours", "breaks_there", "rows_before")
MOST_POINTS, MOST_LINES, HOURS = 6000, 8, 6
# The answer that neither brings in nor leaves.
LOOK_AGAIN = 2


def new_shapes(before: "Farm | None", after: "Farm") -> list[Any]:
    """Return the shapes that a farm has and the farm before it had not, layer by layer (new rows stand last)."""
    found: list[Any] = []
    for name in LAYERS:
        old, new = None if before is None else getattr(before, name), getattr(after, name)
        if new is None or new is old:
            continue
        kept = 0 if old is None or name == "rows_before" else len(old)
        found += list(new.geometry)[kept:]
    return found


class MiniMap(QWidget):
    """The paddocks there are in grey, what is new in colour; north is up."""

    def __init__(self, known: list[Any], new: list[Any], points: Any = None) -> None:
        super().__init__()
        self._known, self._new = [_rings(g) for g in known], [_rings(g) for g in new]
        every = np.zeros((0, 2)) if points is None else np.asarray(points, float)
        self._points = every[:: max(1, len(every) // MOST_POINTS)]
        corners = [xy for rings in self._new for xy in rings] + ([self._points] if len(self._points) else [])
        about = np.vstack(corners or [xy for rings in self._known for xy in rings] or [np.zeros((1, 2))])
        about = about[np.isfinite(about).all(axis=1)]
        about = about if len(about) else np.zeros((1, 2))
        self._low: Any = about.min(0)
        self._high: Any = about.max(0)
        self.setMinimumSize(340, 260)
        n = len(new) or len(every)
        self.setAccessibleName(f"Small map: {n} new {'shapes' if len(new) else 'points'}, {len(known)} paddocks there")

    def sizeHint(self) -> QSize:
        """Return a usual size."""
        return QSize(380, 300)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what is there, then what is new."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(QPen(QColor(c.line), 1))
        p.setBrush(QColor(c.ground))
        p.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), looks.RADIUS_M, looks.RADIUS_M)
        room = QRectF(self.rect()).adjusted(16, 16, -16, -16)
        span = np.maximum(self._high - self._low, 1.0)
        scale = float(min(room.width() / span[0], room.height() / span[1]))
        middle = (self._low + self._high) / 2
        p.setClipRect(self.rect().adjusted(2, 2, -2, -2))

        def at(xy: Any) -> QPolygonF:
            px = (xy - middle) * (scale, -scale) + (room.center().x(), room.center().y())
            return QPolygonF([QPointF(float(x), float(y)) for x, y in px])

        for shapes, ink, width in ((self._known, c.edge, 1.2), (self._new, c.act, 2.2)):
            p.setPen(QPen(QColor(ink), width))
            p.setBrush(QColor(ink))
            for xy in (xy for rings in shapes for xy in rings):
                p.drawEllipse(at(xy).first(), 3, 3) if len(xy) == 1 else p.drawPolyline(at(xy))
        p.setPen(QPen(QColor(c.act), 2))
        if len(self._points):
            p.drawPoints(at(self._points))


def _rings(shape: Any) -> list[Any]:
    import shapely

    parts = shapely.get_parts(shape)
    rings = [r for g in parts for r in ([g.exterior, *g.interiors] if g.geom_type == "Polygon" else [g])]
    return [shapely.get_coordinates(r) for r in rings if not r.is_empty]


class Preview(Dialog):
    """Nothing changes until "Bring it in". again(grid) reads the file anew on a grid that was typed in."""

    def __init__(
        self,
        window: "MainWindow",
        before: "Farm | None",
        brought: "Brought",
        again: Callable[[str], None] | None = None,
    ) -> None:
        name = ", ".join(report.file for report in brought.reports)
        lead = f"{name}. Nothing is changed until you bring it in."
        super().__init__(window, "What would be brought in", lead, "Leave it", "Bring it in")
        self.resize(860, 560)
        columns = QHBoxLayout()
        columns.setSpacing(looks.GAP_XL)
        known = [] if before is None else list(before.paddocks.geometry)
        self.map = MiniMap(known, new_shapes(before, brought.farm))
        columns.addWidget(self.map, 1)
        words = QVBoxLayout()
        self.lines: list[str] = []
        for report in brought.reports:
            self._tell(words, report)
        if brought.farm.forecast is not None and (before is None or brought.farm.forecast is not before.forecast):
            words.addWidget(self._hours(brought.farm))
        words.addStretch(1)
        columns.addLayout(words, 1)
        self.body.addLayout(columns, 1)
        self.grid = QLineEdit()
        if again is not None:
            self._offer_grid(again)
        self.add_buttons()

    def _tell(self, into: QVBoxLayout, report: Any) -> None:
        head, *_ = report.lines()
        into.addWidget(Words(head, "body"))
        self.lines.append(head)
        told = [("look", f"Repaired: {t}") for t in report.repaired] + [
            ("stop", f"Left out: {t}") for t in report.refused
        ]
        for level, text in told[:MOST_LINES]:
            into.addWidget(Card(level, text))
        rest = [*(t for _, t in told[MOST_LINES:]), *report.notes]
        if report.ignored:
            rest.append(f"Columns not used: {', '.join(report.ignored)}.")
        for text in rest[:MOST_LINES]:
            into.addWidget(Words(text, "soft"))
        if len(rest) > MOST_LINES:
            into.addWidget(Words(f"And {len(rest) - MOST_LINES} lines more.", "small"))
        self.lines += [t for _, t in told] + rest

    def _hours(self, farm: "Farm") -> PlainTable:
        """The first hours as they would be taken."""
        assert farm.forecast is not None
        heads = {"wind_km_h": "Wind km/h", "gust_km_h": "Gust km/h", "temp_c": "Air °C", "rh_pct": "RH %"}
        has = {k: v for k, v in heads.items() if k in farm.forecast}
        table = PlainTable("First hours of the forecast", ("Hour", *has.values()), (110,))
        first = farm.forecast.head(HOURS)
        local = first["time_utc"].dt.tz_convert(farm.zone)
        rows = [
            (f"{when:%d %b %H:%M}", *(f"{v:.0f}" if np.isfinite(v) else "" for v in figures))
            for when, figures in zip(local, first[list(has)].to_numpy(float), strict=True)
        ]
        table.show_rows(rows)
        return table

    def _offer_grid(self, again: Callable[[str], None]) -> None:
        self.grid.setPlaceholderText("as above; type another, for example EPSG:7854, and look again")
        self.grid.setAccessibleName("Grid of the file, for example EPSG:7854")
        look = PushButton("Look again")

        def anew() -> None:
            grid = self.grid.text().strip()
            self.done(LOOK_AGAIN)
            again(grid)

        look.clicked.connect(lambda _=False: anew())
        self.grid.returnPressed.connect(anew)
        row = QHBoxLayout()
        row.addWidget(Words("Grid of the file", wrap=False))
        row.addWidget(self.grid, 1)
        row.addWidget(look)
        self.body.addLayout(row)


class AskGrid(Dialog):
    """A file that does not say its grid: which one is it?"""

    def __init__(self, window: "MainWindow", error: Exception, known: str, again: Callable[[str], None]) -> None:
        super().__init__(window, "Which grid is the file in?", str(error), "Leave it", "Look at it so")
        self.grid = QLineEdit(known)
        self.grid.setAccessibleName("Grid of the file, for example EPSG:7854")
        self.body.addWidget(self.grid)
        self.body.addWidget(Words("The small map then shows where it lands.", "small"))
        self._again = again
        self.add_buttons()

    def take(self) -> None:
        """Look at the file on the grid typed in."""
        grid = self.grid.text().strip()
        if grid:
            self.done(LOOK_AGAIN)
            self._again(grid)
