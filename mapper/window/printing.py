"""Sheets on a real printer: each side on its own paper, painted by the same painters as the PDF."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter

from mapper.farm.errors import MapperError, Stopped

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from mapper.sheets.pdf import Sheet


def print_sides(
    sheets: "Sequence[Sheet]", printer: "QPrinter", progress: Callable[[int, int], None], cancelled: Callable[[], bool]
) -> int:
    """Print every side and return how many; runs in a worker. Raises Stopped, or MapperError where it cannot print.

    Lengths on paper stay true: nothing is fitted to what a printer can reach.
    """
    from mapper.sheets.formats import PAPERS_MM
    from mapper.sheets.page import FINE, Page

    total = sum(len(sheet.sides) for sheet in sheets)
    painter, done = QPainter(), 0
    printer.setFullPage(True)
    try:
        for sheet in sheets:
            width, height = PAPERS_MM[sheet.paper]
            size = QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter, sheet.paper)
            printer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
            for side in sheet.sides:
                if cancelled():
                    raise Stopped
                progress(done, total)
                if done == 0:
                    if not painter.begin(printer):
                        raise MapperError("the printer did not begin", printer.printerName(), "Choose another, or PDF")
                else:
                    printer.newPage()
                painter.save()
                k = printer.resolution() / 25.4 / FINE
                painter.scale(k, k)
                side(Page(painter, width, height))
                painter.restore()
                done += 1
    finally:
        if painter.isActive():
            painter.end()
    return done
