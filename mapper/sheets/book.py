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
from PySide6.QtGui import (
    QGuiApplication,
    QImage,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
)

from mapper.draw.scene import Scene
from mapper.draw.words import tr
from mapper.farm.errors import FileError
from mapper.files.atomic import written_whole
from mapper.plan.burnplan import BurnPlan
from mapper.sheets import buffer_map, burn_order, cover_list, neighbour, plan_book
from mapper.sheets.formats import PAPERS_MM, SIZES
from mapper.sheets.georeference import add_viewport
from mapper.sheets.invented import without_marks
from mapper.sheets.page import DPI, FINE, Page
from mapper.sheets.plan_book import Bound
from mapper.sheets.scenes import burn_scene, neighbour_scene, night_scene

Paper = Literal["A4", "A3", "A4 portrait", "A4 landscape", "A3 portrait", "A3 landscape"]


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


def sheets_of(plan: BurnPlan, paper: Paper | None = None) -> list[Sheet]:
    """Return the plan's sheets: a burn-order map a paddock, a buffer map, a notice a neighbour due one (always A4), and
    where several paddocks are lit one burn-order map of all; last the plan book and the list of who was given what.

    paper: a size ("A4", "A3"), each map then in the orientation that shows it largest; a format ("A4 landscape"); or
    None for the burn-order map on both sizes.
    """
    plan = without_marks(plan)
    found = []
    for paddock in plan.paddocks:
        scene = burn_scene(plan, paddock)
        found += [_burn_sheet(plan, paddock, size, scene) for size in ((paper,) if paper else SIZES)]
    size = paper or "A3"
    scene = night_scene(plan)
    chosen = buffer_map.best_format(plan, size)
    found.append(Sheet(f"buffer-map {_named(size)}", tr("Buffer map, {farm}, {night}").format(
        farm=plan.farm.name, night=f"{plan.night:%Y-%m-%d}"), chosen,
        tuple(buffer_map.sides(plan, chosen, scene))))  # fmt: skip
    found += notice_sheets(plan)
    if len(plan.paddocks) > 1:
        found.append(_burn_sheet(plan, None, size, burn_scene(plan, None)))
    found.append(_book_sheet(plan))
    given = [s.title for s in found]
    title = tr("Who was given what, {night}").format(night=f"{plan.night:%Y-%m-%d}")
    return [*found, Sheet("cover-list", title, "A4 portrait", tuple(cover_list.sides(plan, given)))]


def _book_sheet(plan: BurnPlan) -> Sheet:
    """The plan's text with its maps and notices bound in, all A4 portrait."""
    paper = "A4 portrait"
    bound = [
        Bound(tr("Burn-order map, {paddock}").format(paddock=name),
              tuple(burn_order.sides(plan, name, paper, burn_scene(plan, name))))
        for name in plan.paddocks
    ]  # fmt: skip
    bound.append(Bound(tr("Buffer map"), tuple(buffer_map.sides(plan, paper, night_scene(plan)))))
    bound += [Bound(s.title.split(", 2")[0], s.sides) for s in notice_sheets(plan)]
    title = tr("Plan book, {farm}, {night}").format(farm=plan.farm.name, night=f"{plan.night:%Y-%m-%d}")
    return Sheet("plan-book", title, paper, tuple(plan_book.sides(plan, bound)))


def _named(size: str) -> str:
    return size.replace(" portrait", " upright").replace(" landscape", " lying") if " " in size else size


def _burn_sheet(plan: BurnPlan, paddock: str | None, size: str, scene: Scene) -> Sheet:
    chosen = burn_order.best_format(plan, paddock, size, scene)
    name = paddock if paddock is not None else tr("all paddocks")
    title = tr("Burn-order map, {paddock}, {night}").format(paddock=name, night=f"{plan.night:%Y-%m-%d}")
    return Sheet(f"burn-order {name} {_named(size)}", title, chosen,
                 tuple(burn_order.sides(plan, paddock, chosen, scene)))  # fmt: skip


def notice_sheets(plan: BurnPlan) -> list[Sheet]:
    """Return a notice for every neighbour of the farm who is due one by the plan's list of who is told."""
    due = set(plan.tell.loc[plan.tell["role"] == "neighbour", "neighbour"]) if len(plan.tell) else set()
    found = []
    for row in plan.farm.neighbours.sort_values("neighbour").itertuples():
        if row.neighbour not in due:
            continue
        their = neighbour_scene(plan, row.neighbour)

        def notice(page: Page, who: str = row.neighbour, scene: Any = their) -> None:
            neighbour.paint_notice(page, plan, who, scene)

        title = tr("Notice of burning, {name}, {night}").format(name=row.name, night=f"{plan.night:%Y-%m-%d}")
        found.append(Sheet(f"notice {row.name}", title, "A4 portrait", (notice,), neighbour.mail_words(plan, row.name)))
    return found


def print_plan(plan: BurnPlan, folder: Path, paper: Paper | None = None) -> list[Path]:
    """Write all sheets of a plan as PDFs into a folder (made where missing) and return their paths.

    paper: as for sheets_of. Each file is written whole or not at all. Needs no window; starts Qt by itself.
    """
    start_qt()
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for sheet in sheets_of(plan, paper):
        path = folder / f"{_file_name(f'{plan.night:%Y-%m-%d} {sheet.name}', {p.stem for p in paths})}.pdf"
        with written_whole(path) as half:
            half.write_bytes(pdf_of(sheet, plan)[0])
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
    writer.setResolution(DPI)
    writer.setPageSize(QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter, sheet.paper))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    writer.setTitle(sheet.title)
    # Qt's own description carries the clock and a random mark; an empty one keeps the bytes the same.
    writer.setDocumentXmpMetadata(QByteArray(b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"))
    pages = paint_on(writer, sheet)
    buffer.close()
    return _finished(bytes(held.data()), sheet, plan, pages), pages


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


def write_pictures(plan: BurnPlan, folder: Path, paper: Paper | None = None, dpi: float = 150.0) -> list[Path]:
    """Write every side of the plan's maps and notices as a PNG into a folder and return the paths."""
    start_qt()
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for sheet in sheets_of(plan, paper):
        if sheet.name in ("plan-book", "cover-list"):
            continue
        for side in range(len(sheet.sides)):
            words = f"{plan.night:%Y-%m-%d} {sheet.name} {side + 1}"
            path = folder / f"{_file_name(words, {p.stem for p in paths})}.png"
            with written_whole(path) as half:
                if not picture_of(sheet, side, dpi)[0].save(str(half)):
                    raise FileError("the picture cannot be written", str(path), "Check the folder and disk")
            paths.append(path)
    return paths


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
    painter.scale(k / FINE, k / FINE)
    page = Page(painter, width, height)
    sheet.sides[side](page)
    painter.end()
    return image, page
