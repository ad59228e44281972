"""Tests on the page itself: sheets of paddocks of any shape, looked at as pictures and as laid-out words."""

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from PySide6.QtGui import QImage, QPainter

from mapper.draw.palette import PAPER
from mapper.draw.scene import Style, paint
from mapper.draw.wording import paint_words
from mapper.plan.burnplan import CAUTION
from mapper.sheets.burn_order import sides
from mapper.sheets.formats import PAPERS_MM
from mapper.sheets.page import FINE
from mapper.sheets.pdf import Sheet, picture_of
from mapper.sheets.scenes import burn_scene
from tests.shapedplans import Shape, shaped_plan, shapes

DPI = 150.0
# Which part of the map stands behind which words of the legend.
BEHIND = {
    "pieces": {"Row, every 5th heavy", "Leave: do not light"}, "lighting": {"Light here"},
    "block_edges": {"Block edge"}, "breaks": {"Break wide enough", "Break too narrow"},
    "edges": {"Exposed edge, now", "Exposed after change"}, "start_finish": {"Start", "Finish"},
    "ways_out": {"Way out", "Safe ground, meet"},
    "buffers": {"No burn: rows left unlit", "Care: unit standing by", "Care distance, its edge"},
    "power_lines": {"Power line", "Danger: electricity"}, "roads": {"Public road", "Farm track", "Railway"},
    "symbols": {"House", "Shed", "Hay stack", "Trees", "Vines", "Power pole", "Water", "Gate", "Tree", "Town"},
}  # fmt: skip


def grey_of(image: QImage) -> np.ndarray:
    """The picture's grey, 0 black to 255 white, as the eye weighs colours."""
    flat = image.convertToFormat(QImage.Format.Format_RGB32)
    rgb = np.frombuffer(flat.constBits(), np.uint8).reshape(flat.height(), flat.width(), 4)[:, :, 2::-1]
    return rgb @ np.array([0.299, 0.587, 0.114])


def blank(width: float, height: float, dpi: float) -> QImage:
    image = QImage(round(width * dpi / 25.4), round(height * dpi / 25.4), QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    return image


def alone(laid, keep, size, dpi: float) -> np.ndarray:
    """The map's labels `keep` and nothing else, painted where they stand on the page."""
    image = blank(*size, dpi)
    painter = QPainter(image)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    k = dpi / 25.4 / FINE
    painter.scale(k, k)
    painter.translate(laid.box.x * FINE, laid.box.y * FINE)
    paint_words(painter, type(laid.placing)(tuple(keep), ()), laid.view.px_per_mm, PAPER)
    painter.end()
    return grey_of(image)


def box_mm(laid, one):
    left, top, right, bottom = (v / laid.view.px_per_mm for v in one.box)
    return laid.box.x + left, laid.box.y + top, laid.box.x + right, laid.box.y + bottom


def check_labels(page, grey, dpi=DPI):
    """No two labels overlap, none is cut off, and the pixels of each are there: nothing was painted over it."""
    for laid in page.maps:
        boxes = np.array([box_mm(laid, p) for p in laid.placing.placed]).reshape(-1, 4)
        a, b = boxes[:, None], boxes[None]
        clash = (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])
        assert not (clash & ~np.eye(len(boxes), dtype=bool)).any()
        frame = laid.box
        assert (boxes[:, 0] >= frame.x).all() and (boxes[:, 2] <= frame.right).all()
        assert (boxes[:, 1] >= frame.y).all() and (boxes[:, 3] <= frame.bottom).all()
        words = alone(laid, laid.placing.placed, (page.width, page.height), dpi)
        for one, (x0, y0, x1, y1) in zip(laid.placing.placed, boxes, strict=True):
            cut = (slice(int(y0 * dpi / 25.4) + 1, int(y1 * dpi / 25.4)),
                   slice(int(x0 * dpi / 25.4) + 1, int(x1 * dpi / 25.4)))  # fmt: skip
            mine, there = words[cut], grey[cut]
            assert mine.size and (mine < 120).any(), one.ask.name
            # Dark stays dark and, on plates, light stays light.
            assert (there[mine < 100] < 140).mean() > 0.97, one.ask.name
            if one.ask.look != "halo":
                assert (there[mine > 200] > 160).mean() > 0.97, one.ask.name


def check_words(page):
    written = [w for w in page.written if w.box.w > 0]
    box = np.array([(w.box.x, w.box.y, w.box.right, w.box.bottom) for w in written])
    assert (box[:, 0] >= 3).all() and (box[:, 2] <= page.width - 3).all()
    assert (box[:, 1] >= 3).all() and (box[:, 3] <= page.height - 2).all()
    a, b = box[:, None], box[None]
    clash = ((a[..., 0] < b[..., 2] - 0.05) & (b[..., 0] < a[..., 2] - 0.05) & (a[..., 1] < b[..., 3] - 0.05)
             & (b[..., 1] < a[..., 3] - 0.05) & ~np.eye(len(box), dtype=bool))  # fmt: skip
    assert not clash.any(), [(written[i].words, written[j].words) for i, j in np.argwhere(clash)[:3]]
    assert not [w.words for w in written if w.words.endswith("…")]
    assert min(w.pt for w in written) >= 6.5
    numbers = [w for w in written if w.words.isdigit() and w.bold]
    assert all(w.pt >= 9 for w in numbers)


def check_legend(page, plan):
    """A part of the map has its words in the legend exactly where hiding it changes the picture."""
    said = {w.words for w in page.written}
    laid = page.maps[0]
    scene = burn_scene(plan, plan.paddocks[0])

    def pixels(hidden):
        image = QImage(round(laid.box.w * 6), round(laid.box.h * 6), QImage.Format.Format_RGB32)
        image.fill(0xFFFFFFFF)
        painter = QPainter(image)
        painter.scale(6 / FINE, 6 / FINE)
        paint(painter, laid.view, scene, Style(PAPER, frozenset(hidden)))
        painter.end()
        return np.frombuffer(image.constBits(), np.uint32).copy()

    overview = any("Overview: " in w for w in said)
    always = {"lighting"} if overview else set()
    whole = pixels(always)
    for part, words in BEHIND.items():
        if part not in always:
            assert bool((pixels({part} | always) != whole).any()) == bool(said & words), part


def look_at(plan, paper: str, dpi: float = DPI):
    """Check all sides of a plan's burn-order map; return the pictures."""
    made = Sheet(
        "burn-order",
        "Burn-order map",
        paper,
        tuple(sides(plan, plan.paddocks[0], paper, burn_scene(plan, plan.paddocks[0]))),
    )
    shown = [picture_of(made, k, dpi) for k in range(len(made.sides))]
    everything = [" ".join(w.words for w in page.written) for _, page in shown]
    for image, page in shown:
        check_labels(page, grey_of(image), dpi)
        check_words(page)
    for side in everything:
        assert CAUTION in side
    check_legend(shown[0][1], plan)
    lit = set(plan.pieces.loc[plan.pieces["order_no"] > 0, "order_no"])
    to_tick = {w.words for _, page in shown for w in page.written}
    assert {str(n) for n in lit} <= to_tick
    on_maps = {int(p.ask.lines[0]) for _, page in shown for m in page.maps for p in m.placing.placed
               if p.ask.name.startswith("row ")}  # fmt: skip
    missing = {int(n.split()[1]) for _, page in shown for n in page.unplaced if n.startswith("row ")} - on_maps
    listed = set("".join(c if c.isdigit() else " " for c in " ".join(everything)).split())
    assert on_maps and {str(n) for n in missing} <= listed
    assert any("No room" in side for side in everything) or not missing
    return shown


FORMATS = list(PAPERS_MM)
EXAMPLES = [
    Shape((500, 480, 460, 400, 380), 1.4, 12.0, True, False, 12.2, 5, 315.0, True),
    Shape((45, 40, 44, 38), 1.0, 77.0, False, False, 9.0, 1, 75.0, False),
    Shape((800, 700, 760, 690, 500), 6.0, 131.0, False, True, 9.0, 3, 190.0, True),
    Shape((800, 790, 780, 750), 1.0, 44.0, True, False, 6.0, 8, 0.0, False),
]


@pytest.mark.parametrize(("shape", "paper"), list(zip(EXAMPLES, FORMATS, strict=True)))
def test_pages_of_some_shapes(shape, paper):
    look_at(shaped_plan(shape), paper)


@pytest.mark.slow
@settings(max_examples=30, deadline=None, derandomize=True, phases=[Phase.generate],
          suppress_health_check=list(HealthCheck))  # fmt: skip
@given(shapes())
def test_pages_of_thirty_shapes(shape):
    plan = shaped_plan(shape)
    assume(plan is not None)
    look_at(plan, FORMATS[int(sum(shape.radii)) % 4])
