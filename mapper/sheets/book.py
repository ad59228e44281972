"""All sheets of a plan, as PDFs in a folder or as pictures for looking at."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, ByteStringObject
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QGuiApplication, QImage, QPageLayout, QPageSize, QPainter, QPdfWriter

from mapper.plan.burnplan import BurnPlan
from mapper.sheets import buffer_map, burn_order, neighbour
from mapper.sheets.georeference import add_viewport
from mapper.sheets.invented import without_marks
from mapper.sheets.page import PAPERS_MM, Page
from mapper.sheets.scenes import burn_scene, neighbour_scene, night_scene

Paper = Literal["A4", "A3"]
_DPI = 1200


@dataclass(frozen=True)
class Sheet:
    """One document: file name without ending, title, paper, and a painter a side."""

    name: str
    title: str
    paper: str
    sides: tuple[Callable[[Page], None], ...]


def sheets_of(plan: BurnPlan, paper: Paper | None = None) -> list[Sheet]:
    """Return the plan's sheets: a burn-order map a paddock (on A4 and on A3, or on the paper asked for), a buffer map,
    and a notice a neighbour (always A4)."""
    plan = without_marks(plan)
    found = []
    night = f"{plan.night:%Y-%m-%d}"
    for paddock in plan.paddocks:
        scene = burn_scene(plan, paddock)
        for size in (paper,) if paper else ("A4", "A3"):
            sides = tuple(burn_order.sides(plan, paddock, size, scene))
            title = f"Burn-order map, {paddock}, {night}"
            found.append(Sheet(f"burn-order {paddock} {size}", title, size, sides))
    size = paper or "A3"
    scene = night_scene(plan)
    found.append(Sheet(f"buffer-map {size}", f"Buffer map, {plan.farm.name}, {night}", size,
                       tuple(buffer_map.sides(plan, size, scene))))  # fmt: skip
    for row in plan.farm.neighbours.sort_values("neighbour").itertuples():
        their = neighbour_scene(plan, row.neighbour)

        def notice(page: Page, who: str = row.neighbour, scene: Any = their) -> None:
            neighbour.paint_notice(page, plan, who, scene)

        found.append(Sheet(f"notice {row.name}", f"Notice of burning, {row.name}, {night}", "A4", (notice,)))
    return found


def print_plan(plan: BurnPlan, folder: Path, paper: Paper | None = None) -> list[Path]:
    """Write all sheets of a plan as PDFs into a folder (made where missing) and return their paths.

    paper: "A4" or "A3" for one size only; None for the burn-order map on both. Needs no window; starts Qt by itself.
    """
    start_qt()
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for sheet in sheets_of(plan, paper):
        path = folder / f"{_file_name(sheet.name, {p.stem for p in paths})}.pdf"
        path.write_bytes(pdf_of(sheet, plan)[0])
        paths.append(path)
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


def _file_name(words: str, taken: set[str]) -> str:
    plain = re.sub(r"[^\w\-]+", "_", words, flags=re.UNICODE).strip("_") or "sheet"
    # Some disks hold "same" and "Same" for one name, and none takes a name of more than 255 bytes.
    while len(plain.encode()) > 120:
        plain = plain[:-1]
    name, n = plain, 2
    used = {t.casefold() for t in taken}
    while name.casefold() in used:
        name, n = f"{plain}_{n}", n + 1
    return name


def pdf_of(sheet: Sheet, plan: BurnPlan) -> tuple[bytes, list[Page]]:
    """Return one sheet as PDF bytes, and its pages as laid out (for tests)."""
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    width, height = PAPERS_MM[sheet.paper]
    writer = QPdfWriter(buffer)
    writer.setResolution(_DPI)
    writer.setPageSize(QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter, sheet.paper))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    writer.setTitle(sheet.title)
    # Qt's own description carries the clock and a random mark; an empty one keeps the bytes the same.
    writer.setDocumentXmpMetadata(QByteArray(b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"))
    painter = QPainter(writer)
    pages = []
    for n, side in enumerate(sheet.sides):
        if n:
            writer.newPage()
        page = Page(painter, _DPI / 25.4, width, height)
        side(page)
        pages.append(page)
    painter.end()
    buffer.close()
    return _finished(bytes(held.data()), sheet, plan, pages), pages


def _finished(raw: bytes, sheet: Sheet, plan: BurnPlan, pages: list[Page]) -> bytes:
    """Add place, title, author and the plan's own time, so that the same plan gives the same bytes."""
    made = PdfWriter(clone_from=PdfReader(BytesIO(raw)))
    for pdf_page, page in zip(made.pages, pages, strict=True):
        add_viewport(pdf_page, page.frames, plan.farm.grid)
    stamp = f"D:{plan.made_at.astimezone(UTC):%Y%m%d%H%M%S}Z"
    made.metadata = None
    made.add_metadata({"/Title": sheet.title, "/Author": plan.author or plan.farm.in_charge or plan.farm.name,
                       "/Creator": "mapper", "/CreationDate": stamp, "/ModDate": stamp})  # fmt: skip
    made.root_object.pop("/Metadata", None)
    mark = ByteStringObject(f"{plan.number:08d}{plan.night:%Y%m%d}".encode())
    made._ID = ArrayObject([mark, mark])
    out = BytesIO()
    made.write(out)
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
    page = Page(painter, k, width, height)
    sheet.sides[side](page)
    painter.end()
    return image, page
