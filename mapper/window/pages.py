"""The sheets on screen: the page as it will be printed, painted off the GUI thread."""

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from mapper.window import looks

if TYPE_CHECKING:
    from mapper.plan.burnplan import BurnPlan
    from mapper.window.window import MainWindow


def sheet_names(plan: "BurnPlan") -> list[tuple[str, str]]:
    """Return the sheets that the plan prints, name and purpose."""
    sheets = [(f"Burn order, {name}", "the crew") for name in plan.paddocks]
    sheets.append(("Buffer map", "before the night"))
    told = plan.tell[plan.tell["role"] == "neighbour"]
    sheets += [(f"Notice, {who}", "the neighbour") for who in told["who"]]
    return sheets


class PageView(QWidget):
    """Shows one page; keys and wheel turn the pages."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__()
        self._window = window
        self._key: tuple[Any, ...] = ()
        self.images: list[tuple[str, QImage]] = []
        self.at = 0
        self._said = ""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Sheets as they will be printed")

    def show_plan(self, plan: "BurnPlan", paper: str, k: int = -1) -> None:
        """Show a plan's pages on a paper; page k, or the one in hand."""
        if k >= 0:
            self.at = k
        if self._key != (id(plan), paper):
            self._key, self.images, self._said = (id(plan), paper), [], "Painting the sheets ..."
            self._window.jobs.start("pages", _pages_of(plan, paper), self._take, self._failed)
        self.update()

    def _take(self, images: list[tuple[str, QImage]]) -> None:
        self.images, self._said = images, ""
        self.update()

    def _failed(self, error: Exception) -> None:
        self._said = str(error)
        self.update()

    def keyPressEvent(self, event: Any) -> None:
        """Arrow and page keys turn the pages."""
        step = {Qt.Key.Key_Right: 1, Qt.Key.Key_PageDown: 1, Qt.Key.Key_Left: -1, Qt.Key.Key_PageUp: -1}.get(
            event.key()
        )
        if step is None:
            super().keyPressEvent(event)
        else:
            self.turn(step)

    def wheelEvent(self, event: Any) -> None:
        """Turn a page."""
        self.turn(-1 if event.angleDelta().y() > 0 else 1)

    def turn(self, step: int) -> None:
        """Go on or back by pages."""
        self.at = max(0, min(len(self.images) - 1, self.at + step))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the page on its shadow, with a line that says which it is."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.ground))
        p.setFont(looks.font_px(self, looks.BODY))
        p.setPen(QColor(c.soft))
        if not self.images:
            p.drawText(
                self.rect().adjusted(40, 40, -40, -40),
                Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap,
                self._said,
            )
            return
        name, image = self.images[min(self.at, len(self.images) - 1)]
        p.drawText(QRectF(36, 18, self.width() - 72, 22), Qt.AlignmentFlag.AlignVCenter,
                   f"{name}: page {self.at + 1} of {len(self.images)}. Arrow keys turn the pages.")  # fmt: skip
        free = QRectF(self.rect()).adjusted(36, 48, -36, -24)
        scale = min(free.width() / image.width(), free.height() / image.height())
        page = QRectF(0, 0, image.width() * scale, image.height() * scale)
        page.moveTo(free.center().x() - page.width() / 2, free.top())
        p.fillRect(page.translated(3, 3), QColor(c.line))
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        p.drawImage(page, image)


def _pages_of(plan: "BurnPlan", paper: str) -> Any:
    def work(progress: Any, cancelled: Any) -> list[tuple[str, QImage]]:
        from mapper.sheets.book import page_images

        return list(page_images(plan, paper))

    return work
