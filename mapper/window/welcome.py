"""The empty map: where to drop the first file."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from mapper.window import looks
from mapper.window.words import said

HEAD = "Drop a boundary or a harvester log here"
KINDS = "GeoPackage, Shapefile, GeoJSON, KML or KMZ; logs and forecasts as CSV. Nothing leaves this computer."


class Welcome(QWidget):
    """Lets every click through to the map."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName(f"{said(HEAD)}. {said(KINDS)}")

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the dashed frame and the words."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(90, 60, -90, -80)
        pen = QPen(QColor(c.faint), 2, Qt.PenStyle.CustomDashLine)
        pen.setDashPattern([5, 3])
        p.setPen(pen)
        p.drawRoundedRect(box, 10, 10)
        p.setPen(QColor(c.ink))
        p.setFont(looks.font_px(self, looks.TITLE, bold=True))
        p.drawText(box.adjusted(0, -20, 0, -20), Qt.AlignmentFlag.AlignCenter, said(HEAD))
        p.setPen(QColor(c.soft))
        p.setFont(looks.font_px(self, looks.BODY))
        p.drawText(box.adjusted(20, 24, -20, 24), Qt.AlignmentFlag.AlignCenter, said(KINDS))
