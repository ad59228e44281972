"""Sheets as PDF files and as pictures: of a plan, of a record, of a season alike."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ByteStringObject,
    DictionaryObject,
    NameObject,
    TextStringObject,
)
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import (
    QGuiApplication,
    QImage,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
)

from mapper.draw.words import tr
from mapper.farm.crs import Grid
from mapper.files.atomic import written_whole
from mapper.sheets.formats import PAPERS_MM
from mapper.sheets.georeference import add_viewport
from mapper.sheets.page import DPI, FINE, Page


@dataclass(frozen=True)
class Sheet:
    """One document: file name without ending, title, paper (formats.PAPERS_MM), and a painter a side.

    words: what is written beside it as plain text, ready to be mailed; empty where nothing is.
    """

    name: str
    title: str
    paper: str
    sides: tuple[Callable[[Page], None], ...]
    words: str = ""


@dataclass(frozen=True)
class Made:
    """What a PDF says of its making: author, when (UTC), a mark that is the same for the same content, and the grid."""

    author: str
    at: datetime
    mark: str
    grid: Grid


def write_sheets(sheets: Sequence[Sheet], made: Made, folder: Path, before: str) -> list[Path]:
    """Write sheets as PDFs into a folder (made where missing) and return their paths.

    before: what stands before each file's name, a night or a season. Each file is written whole or not at all. Needs
    no window; starts Qt by itself.
    """
    start_qt()
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for sheet in sheets:
        path = folder / f"{file_name(f'{before} {sheet.name}', {p.stem for p in paths})}.pdf"
        with written_whole(path) as half:
            half.write_bytes(pdf_of(sheet, made)[0])
        paths.append(path)
        if sheet.words:
            beside = path.with_suffix(".txt")
            with written_whole(beside) as half:
                half.write_text(sheet.words, encoding="utf-8")
            paths.append(beside)
    return paths


def start_qt() -> QGuiApplication | None:
    """Start Qt for painting where nobody has; without a screen it paints all the same."""
    global _app  # noqa: PLW0603
    if QGuiApplication.instance() is None:
        import os
        import sys

        if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
            os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        _app = QGuiApplication(["mapper"])
    return _app


_app: QGuiApplication | None = None


def file_name(words: str, taken: set[str]) -> str:
    """Return a name for a file that any disk takes and that none of `taken` (without endings) has."""
    plain = re.sub(r"[^\w\-]+", "_", words, flags=re.UNICODE).strip("_") or "sheet"
    # Some disks hold "same" and "Same" for one name, and none takes a name of more than 255 bytes.
    while len(plain.encode()) > 120:
        plain = plain[:-1]
    name, n = plain, 2
    used = {t.casefold() for t in taken}
    while name.casefold() in used:
        name, n = f"{plain}_{n}", n + 1
    return name


def pdf_of(sheet: Sheet, made: Made) -> tuple[bytes, list[Page]]:
    """Return one sheet as PDF bytes, and its pages as laid out (for tests)."""
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    width, height = PAPERS_MM[sheet.paper]
    writer = QPdfWriter(buffer)
    writer.setResolution(DPI)
    writer.setPageSize(QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter, sheet.paper))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    writer.setTitle(sheet.title)
    # Qt's own description carries the clock and a random mark; an empty one keeps the bytes the same.
    writer.setDocumentXmpMetadata(QByteArray(b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"))
    pages = paint_on(writer, sheet)
    buffer.close()
    return _finished(bytes(held.data()), sheet, made, pages), pages


def paint_on(device: QPagedPaintDevice, sheet: Sheet) -> list[Page]:
    """Paint all sides of a sheet on a paged device, at full size: a PDF, or a printer that a print dialog gave.

    The device's page must be of the sheet's paper (formats.PAPERS_MM) with no margins (setFullPage on a printer).
    Returns the pages as laid out.
    """
    width, height = PAPERS_MM[sheet.paper]
    painter = QPainter(device)
    scale = device.logicalDpiX() / DPI
    pages = []
    for n, side in enumerate(sheet.sides):
        if n:
            device.newPage()
        painter.save()
        painter.scale(scale, scale)
        page = Page(painter, width, height)
        side(page)
        pages.append(page)
        painter.restore()
    painter.end()
    return pages


def _finished(raw: bytes, sheet: Sheet, made: Made, pages: list[Page]) -> bytes:
    """Add place, title, author and the making's own time, so that the same content gives the same bytes."""
    pdf = PdfWriter(clone_from=PdfReader(BytesIO(raw)))
    for pdf_page, page in zip(pdf.pages, pages, strict=True):
        add_viewport(pdf_page, page.frames, made.grid)
    stamp = f"D:{made.at.astimezone(UTC):%Y%m%d%H%M%S}Z"
    pdf.metadata = None
    pdf.add_metadata({"/Title": sheet.title, "/Author": made.author, "/Creator": "mapper", "/CreationDate": stamp,
                      "/ModDate": stamp})  # fmt: skip
    pdf.root_object.pop("/Metadata", None)
    # Readers show the title instead of the file's name, and read aloud in the language printed: a translation says its
    # own tag.
    pdf.root_object[NameObject("/Lang")] = TextStringObject(tr("en-AU"))
    pdf.root_object[NameObject("/ViewerPreferences")] = DictionaryObject(
        {NameObject("/DisplayDocTitle"): BooleanObject(True)}
    )
    mark = ByteStringObject(made.mark.encode())
    pdf._ID = ArrayObject([mark, mark])
    out = BytesIO()
    pdf.write(out)
    return out.getvalue()


def picture_of(sheet: Sheet, side: int = 0, dpi: float = 150.0) -> tuple[QImage, Page]:
    """Return one side as a picture at dpi, and the page as laid out."""
    start_qt()
    k = dpi / 25.4
    width, height = PAPERS_MM[sheet.paper]
    image = QImage(round(width * k), round(height * k), QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    painter.scale(k / FINE, k / FINE)
    page = Page(painter, width, height)
    sheet.sides[side](page)
    painter.end()
    return image, page
