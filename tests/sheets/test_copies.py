"""Black and white, photocopied three times, under a red torch: what the crew needs must survive.

The copier and the torch are models of ours (no published source): a copy blurs by 0.06 mm, lifts greys and spreads the
tone, with grain; a red torch leaves the red channel alone.
"""

import numpy as np
import pytest
from PySide6.QtGui import QImage
from scipy.ndimage import gaussian_filter

from mapper.sheets.burn_order import sides
from mapper.sheets.pdf import Sheet, picture_of
from mapper.sheets.scenes import burn_scene
from tests.demo import demo_plan
from tests.sheets.test_page import alone, box_mm, grey_of

DPI = 300.0
K = DPI / 25.4


SHEETS = [
    pytest.param(("straight", "A4 portrait"), id="A4"),
    pytest.param(("curved", "A3 landscape"), id="A3", marks=pytest.mark.slow),
]


@pytest.fixture(scope="module", params=SHEETS)
def front(request):
    """A plan, its front's page, its colours (h, w, 3), and its third copy in grey."""
    name, paper = request.param
    plan = demo_plan() if name == "straight" else demo_plan(("Shed Hill",), curved=True, blocks=4)
    scene = burn_scene(plan, plan.paddocks[0])
    made = Sheet("x", "x", paper, tuple(sides(plan, plan.paddocks[0], paper, scene)))
    image, page = picture_of(made, 0, DPI)
    flat = image.convertToFormat(QImage.Format.Format_RGB32)
    rgb = np.frombuffer(flat.constBits(), np.uint8).reshape(flat.height(), flat.width(), 4)[:, :, 2::-1]
    return plan, page, rgb.copy(), copied(grey_of(image))


def copied(grey: np.ndarray, times: int = 3) -> np.ndarray:
    """The page after so many copies."""
    grain = np.random.default_rng(7)
    for _ in range(times):
        blurred = gaussian_filter(grey, 0.06 * K) + grain.normal(0, 6, grey.shape)
        # A copier lifts light greys to white and pulls dark ones to black.
        grey = np.clip((blurred - 40) * 255 / 175, 0, 255)
    return grey


def clear_of_words(page, xy: np.ndarray) -> np.ndarray:
    """Which places (mm) lie off labels and insets."""
    laid = page.maps[0]
    clear = np.ones(len(xy), dtype=bool)
    boxes = [box_mm(laid, p) for p in laid.placing.placed]
    boxes += [(laid.box.x + b.x, laid.box.y + b.y, laid.box.x + b.right, laid.box.y + b.bottom) for _, b in laid.insets]
    for x0, y0, x1, y1 in boxes:
        clear &= ~((xy[:, 0] > x0 - 1) & (xy[:, 0] < x1 + 1) & (xy[:, 1] > y0 - 1) & (xy[:, 1] < y1 + 1))
    return clear


def on_paper(page, x_m, y_m) -> np.ndarray:
    laid = page.maps[0]
    x, y = laid.view.to_px(np.asarray(x_m), np.asarray(y_m))
    return np.column_stack([x, y]) / laid.view.px_per_mm + [laid.box.x, laid.box.y]


def darkest(picture: np.ndarray, xy: np.ndarray, reach_mm: float = 0.25) -> np.ndarray:
    """The darkest pixel within reach of places on paper, mm."""
    r = max(int(reach_mm * K), 1)
    found = []
    for x, y in xy * K:
        i, j = int(y), int(x)
        found.append(picture[max(i - r, 0) : i + r + 1, max(j - r, 0) : j + r + 1].min())
    return np.array(found)


def middles(layer, shares=(0.3, 0.5, 0.7)) -> tuple[list[float], list[float]]:
    spots = [g.interpolate(s, normalized=True) for g in layer.geometry for s in shares]
    return [p.x for p in spots], [p.y for p in spots]


def marks_of(plan, page) -> dict[str, np.ndarray]:
    lit = plan.pieces[plan.pieces["order_no"] > 0]
    found = {"rows": on_paper(page, *middles(lit)), "ways out": on_paper(page, *middles(plan.ways_out, (0.2, 0.5)))}
    first = plan.lighting_points
    fifth = first[first["order_no"] % 5 == 0]
    found["lighting points"] = on_paper(page, fifth.geometry.x, fifth.geometry.y)
    return {n: xy[clear_of_words(page, xy)] for n, xy in found.items()}


def words_survive(page, there: np.ndarray) -> list[tuple[str, float]]:
    """How well each label's ink matches what is there, 1 for the same."""
    laid = page.maps[0]
    drawn = alone(laid, laid.placing.placed, (page.width, page.height), DPI)
    found = []
    for one in laid.placing.placed:
        x0, y0, x1, y1 = (v * K for v in box_mm(laid, one))
        cut = (slice(int(y0), int(y1)), slice(int(x0), int(x1)))
        mine, copy = drawn[cut].ravel(), there[cut].ravel().astype(float)
        if one.ask.look == "halo":
            # Bare words stand on the map itself: only their strokes and the white close round them count.
            near = gaussian_filter((drawn[cut] < 128).astype(float), 0.2 * K).ravel() > 0.15
            mine, copy = mine[near], copy[near]
        if one.ask.bold:
            found.append((one.ask.name, float(np.corrcoef(mine, copy)[0, 1])))
    return found


def test_rows_and_marks_survive_three_copies(front):
    plan, page, _, copy = front
    for name, xy in marks_of(plan, page).items():
        assert len(xy), name
        assert (darkest(copy, xy, 0.8 if name == "ways out" else 0.3) < 100).mean() > 0.97, name


def test_rows_stay_apart_after_three_copies(front):
    plan, page, _, copy = front
    laid = page.maps[0]
    pieces = plan.pieces[plan.pieces["order_no"] > 0]
    a, b = pieces.iloc[:-1].geometry, pieces.iloc[1:].geometry
    between = [(p.interpolate(0.5, normalized=True), q) for p, q in zip(a, b, strict=True)]
    gaps = [(p, q.interpolate(q.project(p))) for p, q in between if q.distance(p) < 25]
    xy = on_paper(page, [(p.x + q.x) / 2 for p, q in gaps], [(p.y + q.y) / 2 for p, q in gaps])
    xy = xy[clear_of_words(page, xy)]
    light = np.array([copy[int(y * K), int(x * K)] for x, y in xy])
    assert len(light) > 10 and laid.view.scale <= 10_000
    # Block edges are drawn between rows: they may cross some of these places.
    assert (light > 150).mean() > 0.85


def test_words_survive_three_copies_and_a_red_torch(front):
    _, page, rgb, copy = front
    for there, least in ((copy, 0.75), (rgb[:, :, 0], 0.9)):
        match = words_survive(page, there)
        assert min(m for _, m in match) > least, sorted(match, key=lambda m: m[1])[:3]


def test_what_is_needed_is_black_under_a_red_torch(front):
    plan, page, rgb, _ = front
    red = rgb[:, :, 0]
    for name, xy in marks_of(plan, page).items():
        # An orange dot vanishes; its black rim stays.
        assert (darkest(red, xy, 1.2) < 90).mean() > 0.97, name
    for word in page.written:
        if word.bold and word.words.strip():
            x0, y0, x1, y1 = (v * K for v in (word.box.x, word.box.y, word.box.right, word.box.bottom))
            spot = red[int(y0) : int(y1) + 1, int(x0) : int(x1) + 1]
            assert spot.max() - spot.min() > 150, word.words


def test_exposed_edges_keep_their_teeth_in_grey_and_red(front):
    plan, page, rgb, copy = front
    exposed = plan.edges[plan.edges["label"] == "downwind"]
    xy = on_paper(page, *middles(exposed, tuple(np.linspace(0.1, 0.9, 9))))
    xy = xy[clear_of_words(page, xy)]
    for there in (rgb[:, :, 0], copy):
        # A tooth stands every 5 mm: within 3 mm of any place of the edge there is solid black.
        assert (darkest(there, xy, 3.0) < 90).all()
