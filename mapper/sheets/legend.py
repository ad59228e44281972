"""What the marks mean: only marks that stand on this map."""

from collections.abc import Callable

import numpy as np
import shapely
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter

from mapper.draw import marks, symbols
from mapper.draw.palette import PAPER
from mapper.draw.scene import EXPOSED, NO_BURN, Scene, block_edges, danger_spots, safe_spots, symbol_spots
from mapper.draw.strokes import draw_segments, ground_of, path_of, pen
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.farm.magnetic import Norths
from mapper.farm.ranged import Array
from mapper.sheets.page import Box, Page, text_width

Draw = Callable[[QPainter, Array, float], None]


def _names() -> dict[str, str]:
    """Words of the point symbols."""
    return {
        "house": tr("House"),
        "shed": tr("Shed"),
        "haystack": tr("Hay stack"),
        "tree": tr("Tree"),
        "trees": tr("Trees"),
        "vineyard": tr("Vines"),
        "pole": tr("Power pole"),
        "water": tr("Water"),
        "gate": tr("Gate"),
        "town": tr("Town"),
    }


def _stroke(half: float = 4.2) -> Array:
    return np.array([[-half, 0.0], [half, 0.0]])


def _rows(p: QPainter, at: Array, k: float) -> None:
    for dy, width in ((-1.0, 0.35), (0.0, 0.7), (1.0, 0.35)):
        p.setPen(pen(PAPER.ink, width * k))
        draw_segments(p, (np.array([[-4.2, dy, 4.2, dy]]) * k + np.tile(at, 2)))


def _left(p: QPainter, at: Array, k: float) -> None:
    p.setPen(pen(PAPER.ink, 0.32 * k, (0.32 * k, 0.9 * k)))
    p.drawPath(path_of(_stroke() * k + at))


def _block_edge(p: QPainter, at: Array, k: float) -> None:
    p.setPen(pen(PAPER.ink, 0.8 * k, (3 * k, 1.2 * k)))
    p.drawPath(path_of(_stroke() * k + at))


def _area(draw: Callable[..., None]) -> Draw:
    def painted(p: QPainter, at: Array, k: float) -> None:
        box = shapely.box(at[0] - 4 * k, at[1] - 1.5 * k, at[0] + 4 * k, at[1] + 1.5 * k)
        draw(p, box, k)

    return painted


def _teeth(solid: bool) -> Draw:
    def painted(p: QPainter, at: Array, k: float) -> None:
        p.setPen(pen(PAPER.ink, 0.3 * k))
        p.drawPath(path_of(_stroke(5.0) * k + at + np.array([0, 1.0]) * k))
        marks.teeth(p, _stroke(5.0) * k + at + np.array([0, 1.0]) * k, -1.0, k, PAPER, solid)

    return painted


def _break(narrow: bool) -> Draw:
    return lambda p, at, k: marks.break_strip(p, _stroke() * k + at, 0.0, narrow, k, PAPER)


def _symbol(kind: str) -> Draw:
    return lambda p, at, k: symbols.ASSET_SYMBOLS[kind](p, at, k * 0.85, PAPER)


def _line(draw: Callable[..., None], *more: float) -> Draw:
    return lambda p, at, k: draw(p, _stroke() * k + at, *more, k, PAPER)


def entries(
    scene: Scene, view: View, hidden: frozenset[str] = frozenset(), parts: bool = False, north: Norths | None = None
) -> list[tuple[str, Draw]]:
    """Return the words and painters of the marks that the view shows, in the order of their weight.

    parts: the map shows the frames of further maps. north: the norths drawn under it.
    """
    found: list[tuple[str, Draw]] = []
    pieces, edges, breaks = (None if n in hidden else scene.layer(n) for n in ("pieces", "edges", "breaks"))
    if pieces is not None:
        found.append((tr("Row, every 5th heavy"), _rows))
        if ((pieces["left_reason"] != "") | (pieces["order_no"] <= 0)).any():
            found.append((tr("Leave: do not light"), _left))
    if scene.layer("lighting_points") is not None and "lighting" not in hidden:
        found.append((tr("Light here"), lambda p, at, k: symbols.light_dot(p, at, k, PAPER, True)))
    if "block_edges" not in hidden and block_edges(scene, view):
        found.append((tr("Block edge"), _block_edge))
    if edges is not None:
        if (edges["label"] == EXPOSED).any():
            found.append((tr("Exposed edge, now"), _teeth(True)))
        if ((edges["label_after"] == EXPOSED) & (edges["label"] != EXPOSED)).any():
            found.append((tr("Exposed after change"), _teeth(False)))
    if breaks is not None:
        known = breaks["wanted_m"].notna()
        if (known & ~(breaks["short_m"] > 0)).any():
            found.append((tr("Break wide enough"), _break(False)))
        if (~known & ~(breaks["short_m"] > 0)).any():
            words = tr("Break: width wanted not known") if known.any() else tr("Edge: break wanted not known")
            found.append((words, _break(False)))
        if (breaks["short_m"] > 0).any():
            found.append((tr("Break too narrow"), _break(True)))
    if scene.layer("lighting_points") is not None and pieces is not None and "start_finish" not in hidden:
        found += [(tr('Start'), lambda p, at, k: symbols.start(p, at, k * 0.8, PAPER)),
                  (tr('Finish'), lambda p, at, k: symbols.finish(p, at, k * 0.8, PAPER))]  # fmt: skip
    if scene.layer("ways_out") is not None and "ways_out" not in hidden:
        found.append((tr("Way out"), _line(marks.way_out)))
        if safe_spots(scene, view):
            found.append((tr("Safe ground, meet"), lambda p, at, k: symbols.safe_ground(p, at, k * 0.8, PAPER)))
    found += _care_entries(scene, view, hidden)
    found += _asset_entries(scene, view)
    if parts:
        found.append((tr("Frame of a numbered map"), _part_frame))
    if north is not None and north.magnetic_deg is not None:
        found.append((tr("Grid north; M magnetic"), _norths(north.magnetic_deg)))
    return found


def _part_frame(p: QPainter, at: Array, k: float) -> None:
    p.setPen(pen(PAPER.ink, 0.45 * k, (1.5 * k, 0.9 * k)))
    p.drawPath(path_of(_stroke() * k + at))


def _norths(magnetic_deg: float) -> Draw:
    def painted(p: QPainter, at: Array, k: float) -> None:
        here = np.asarray(at) + np.array([-1.5, 0.5]) * k
        symbols.north_arrow(p, here, k * 0.36, PAPER, 0.0, letter=False)
        symbols.magnetic_arrow(p, here, k * 0.36, PAPER, magnetic_deg)

    return painted


def _care_entries(scene: Scene, view: View, hidden: frozenset[str]) -> list[tuple[str, Draw]]:
    found: list[tuple[str, Draw]] = []
    frame = ground_of(view)
    buffers = None if "buffers" in hidden else scene.layer("buffers")
    if buffers is not None:
        here = buffers[buffers.intersects(frame)]
        if here["purpose"].isin(NO_BURN).any():
            found.append((tr("No burn: rows left unlit"), _area(lambda p, s, k: marks.no_burn(p, s, k, PAPER))))
        cares = here[~here["purpose"].isin(NO_BURN)]
        near = cares["distance_m"] * view.px_per_m <= 15 * view.px_per_mm
        if near.any():
            found.append((tr("Care: unit standing by"), _area(lambda p, s, k: marks.care(p, s, k, PAPER))))
        if (~near).any():
            found.append((tr("Care distance, its edge"), _distance))
    smoke = None if "smoke" in hidden else scene.layer("smoke")
    if smoke is not None and (smoke["when"] == "now").any():
        found.append((tr("Smoke now, thicker closer"), _area(lambda p, s, k: marks.smoke(p, s, 2.0, k, PAPER))))
    if smoke is not None and (smoke["when"] == "after").any():
        found.append((tr("Smoke after the change"), _area(lambda p, s, k: marks.smoke_after(p, s, k, PAPER))))
    return found


def _distance(p: QPainter, at: Array, k: float) -> None:
    p.setPen(pen(PAPER.soft, 0.3 * k, (0.4 * k, 1.1 * k)))
    p.drawPath(path_of(_stroke() * k + at))


def _asset_entries(scene: Scene, view: View) -> list[tuple[str, Draw]]:
    assets = scene.layer("assets")
    if assets is None:
        return []
    here = set(assets.loc[assets.intersects(ground_of(view)), "kind"])
    found: list[tuple[str, Draw]] = []
    for kind, words, draw in (
        ("power_line", tr('Power line'), _line(marks.power_line)), ("road", tr('Public road'), _line(marks.road, 0.0)),
        ("track", tr('Farm track'), _line(marks.track)), ("railway", tr('Railway'), _line(marks.railway)),
    ):  # fmt: skip
        if kind in here:
            found.append((words, draw))
    if danger_spots(scene, view):
        found.append((tr("Danger: electricity"), lambda p, at, k: symbols.danger(p, at, k * 0.85, PAPER)))
    drawn = {kind for _, kind, _ in symbol_spots(scene, view)}
    return found + [(tr(_names()[kind]), _symbol(kind)) for kind in symbols.ASSET_SYMBOLS if kind in drawn]


def _columns(words: list[str], inside: Box, columns: int) -> tuple[float, list[float]]:
    """Return the type size, and how wide each column wants to be, for a number of columns."""
    down = max(-(-len(words) // columns), 1)
    step = inside.h / down
    wants: list[float] = []
    pt = 7.0
    for pt in (8.5, 8.0, 7.5, 7.0) if step >= 3.6 else (7.5, 7.0):
        wants = [13.5 + max(text_width(w, pt) for w in words[n : n + down]) for n in range(0, len(words), down)]
        if sum(wants) <= inside.w:
            break
    return pt, wants


def paint_legend(page: Page, box: Box, found: list[tuple[str, Draw]], columns: int = 4) -> None:
    """Draw the panel of marks, down the columns."""
    inside = page.panel(box, tr("WHAT THE MARKS MEAN"), black=False)
    fits = [(n, *_columns([words for words, _ in found], inside, n)) for n in range(columns, columns + 3)]
    # The first number of columns with room for the marks and whole words; else the one that cuts least.
    good = [f for f in fits if sum(f[2]) <= inside.w]
    otherwise = max(good, key=lambda f: f[0]) if good else min(fits, key=lambda f: sum(f[2]))
    roomy = (f for f in good if inside.h / max(-(-len(found) // f[0]), 1) >= 4.2)
    columns, pt, wants = next(roomy, otherwise)
    down = -(-len(found) // columns)
    step = min(5.4, inside.h / max(down, 1))
    groups = range(0, len(found), max(down, 1))
    spare = max(inside.w - sum(wants), 0.0) / max(len(wants), 1) if groups else 0.0
    lefts = np.concatenate([[0.0], np.cumsum([w + spare for w in wants])]) if groups else np.zeros(1)
    for n, (words, draw) in enumerate(found):
        x, y = inside.x + float(lefts[n // down]), inside.y + step * (n % down + 0.5)
        page.painter.save()
        page.painter.setBrush(Qt.BrushStyle.NoBrush)
        size = page.k * min(1.0, step / 4.4)
        draw(page.painter, np.array([(x + 6.5) * page.k, y * page.k]), size)
        page.painter.restore()
        page.text(x + 12.5, y + pt * 0.13, words, pt, width=inside.right - x - 12.5)
