"""The sheets on screen: each page as it will be printed, painted off the GUI thread when it is looked at."""

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from mapper.window import looks

if TYPE_CHECKING:
    from mapper.plan.burnplan import BurnPlan
    from mapper.window.window import MainWindow

DPI = 150.0
_STEPS = {Qt.Key.Key_Right: 1, Qt.Key.Key_PageDown: 1, Qt.Key.Key_Left: -1, Qt.Key.Key_PageUp: -1}


class PageView(QWidget):
    """Shows one page; keys and wheel turn the pages. Signal laid_out: the sheets of a plan are known."""

    laid_out = Signal()

    def __init__(self, window: "MainWindow") -> None:
        super().__init__()
        self._window = window
        self._key: tuple[Any, ...] = ()
        self._pages: list[tuple[Any, int]] = []
        # Title and paper of each sheet of the plan shown, as they will be printed.
        self.sheets: list[tuple[str, str]] = []
        self._images: dict[int, QImage] = {}
        self._at, self._sheet, self._said = 0, 0, ""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Sheets as they will be printed")

    def show_plan(self, plan: "BurnPlan", paper: str, sheet: int = -1) -> None:
        """Show a plan on a paper: the first page of a sheet, or the page in hand."""
        if sheet >= 0:
            self._sheet = sheet
        if self._key != (id(plan), paper):
            self._key, self._pages, self._images, self._said = (id(plan), paper), [], {}, "Laying out the sheets ..."
            key = self._key

            def work(progress: Any, cancelled: Any) -> Any:
                from mapper.sheets.book import sheets_of

                return sheets_of(plan, paper)  # type: ignore[arg-type]

            self._window.jobs.start("pages", work, lambda found: self._take(key, found), self._fail)
        elif sheet >= 0:
            self._turn_to_sheet()
        self.update()

    def _take(self, key: Any, sheets: Any) -> None:
        if key == self._key:
            self.sheets = [(str(sheet.title), str(sheet.paper)) for sheet in sheets]
            self._pages = [(sheet, side) for sheet in sheets for side in range(len(sheet.sides))]
            self._turn_to_sheet()
            self.laid_out.emit()

    def _turn_to_sheet(self) -> None:
        firsts = [k for k, (_, side) in enumerate(self._pages) if side == 0]
        if firsts:
            self._at = firsts[min(self._sheet, len(firsts) - 1)]
            self._paint_page()

    def _paint_page(self) -> None:
        at, key = self._at, self._key
        if at in self._images or not self._pages:
            self.update()
            return
        sheet, side = self._pages[at]

        def work(progress: Any, cancelled: Any) -> QImage:
            from mapper.sheets.pdf import picture_of

            return picture_of(sheet, side, DPI)[0]

        self._said = f"Painting {sheet.title} ..."
        self._window.jobs.start("pages", work, lambda image: self._keep(key, at, image), self._fail)
        self.update()

    def _keep(self, key: Any, at: int, image: QImage) -> None:
        if key == self._key:
            self._images[at] = image
            self.update()

    def _fail(self, error: Exception) -> None:
        self._said = str(error)
        self.update()

    def keyPressEvent(self, event: Any) -> None:
        """Arrow and page keys turn the pages."""
        step = _STEPS.get(event.key())
        if step is None:
            super().keyPressEvent(event)
        else:
            self.turn(step)

    def wheelEvent(self, event: Any) -> None:
        """Turn a page."""
        self.turn(-1 if event.angleDelta().y() > 0 else 1)

    def turn(self, step: int) -> None:
        """Go on or back by pages."""
        self._at = max(0, min(len(self._pages) - 1, self._at + step))
        self._paint_page()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the page on its shadow, with a line that says which it is."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.ground))
        p.setFont(looks.font_px(self, looks.BODY))
        p.setPen(QColor(c.soft))
        image = self._images.get(self._at)
        if image is None:
            middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            p.drawText(self.rect().adjusted(40, 40, -40, -40), middle, self._said)
            return
        sheet, side = self._pages[self._at]
        words = f"{sheet.title}, {'front' if side == 0 else 'back'}. Page {self._at + 1} of {len(self._pages)}; "
        line = QRectF(36, 12, self.width() - 72, 22)
        p.drawText(line, Qt.AlignmentFlag.AlignVCenter, f"{words}arrow keys turn the pages.")
        free = QRectF(self.rect()).adjusted(36, 40, -36, -20)
        scale = min(free.width() / image.width(), free.height() / image.height())
        page = QRectF(0, 0, image.width() * scale, image.height() * scale)
        page.moveTo(free.center().x() - page.width() / 2, free.top())
        p.fillRect(page.translated(3, 3), QColor(c.line))
        # Halving first keeps thin lines that one smooth step would lose.
        size = (page.size() * self.devicePixelRatioF()).toSize()
        small = image.scaled(size, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation)
        p.drawImage(page, small)
