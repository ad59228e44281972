"""All sheets of a plan, as PDFs in a folder or as pictures for looking at."""

from pathlib import Path
from typing import Any, Literal

from mapper.draw.scene import Scene
from mapper.draw.words import tr
from mapper.farm.errors import FileError
from mapper.files.atomic import written_whole
from mapper.plan.burnplan import BurnPlan
from mapper.sheets import buffer_map, burn_order, cover_list, neighbour, plan_book
from mapper.sheets.formats import SIZES
from mapper.sheets.invented import without_marks
from mapper.sheets.page import Page
from mapper.sheets.pdf import Made, Sheet, file_name, picture_of, start_qt, write_sheets
from mapper.sheets.plan_book import Bound
from mapper.sheets.scenes import burn_scene, neighbour_scene, night_scene

Paper = Literal["A4", "A3", "A4 portrait", "A4 landscape", "A3 portrait", "A3 landscape"]


def sheets_of(plan: BurnPlan, paper: Paper | None = None) -> list[Sheet]:
    """Return the plan's sheets: a burn-order map a paddock, a buffer map, a notice a neighbour due one (always A4), and
    where several paddocks are lit one burn-order map of all; last the plan book and the list of who was given what.

    paper: a size ("A4", "A3"), each map then in the orientation that shows it largest; a format ("A4 landscape"); or
    None for the burn-order map on both sizes.
    """
    start_qt()  # words are measured while sheets are laid out
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


def made_of(plan: BurnPlan) -> Made:
    """Return what the PDFs of a plan say of their making."""
    author = plan.author or plan.farm.in_charge or plan.farm.name
    return Made(author, plan.made_at, f"{plan.number:08d}{plan.night:%Y%m%d}", plan.farm.grid)


def print_plan(plan: BurnPlan, folder: Path, paper: Paper | None = None) -> list[Path]:
    """Write all sheets of a plan as PDFs into a folder and return their paths. paper: as for sheets_of."""
    return write_sheets(sheets_of(plan, paper), made_of(plan), folder, f"{plan.night:%Y-%m-%d}")


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
            path = folder / f"{file_name(words, {p.stem for p in paths})}.png"
            with written_whole(path) as half:
                if not picture_of(sheet, side, dpi)[0].save(str(half)):
                    raise FileError("the picture cannot be written", str(path), "Check the folder and disk")
            paths.append(path)
    return paths
