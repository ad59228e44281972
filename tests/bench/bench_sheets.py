"""Processor seconds and bytes a sheet against the same content through matplotlib, in one run.

Run: python tests/bench/bench_sheets.py. Content: every row, edge, break, way out and block of the maps, and
word in its place, in the same font. matplotlib places no words; it is given the places we found.
"""

import sys
import time
from io import BytesIO
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from mapper.carried import carried
from mapper.draw.scene import Scene
from mapper.sheets.book import made_of
from mapper.sheets.burn_order import sides
from mapper.sheets.page import Page
from mapper.sheets.pdf import Sheet, pdf_of, start_qt
from mapper.sheets.scenes import burn_scene
from tests.demo import demo_plan


def ours(plan, paper: str, scene: Scene) -> tuple[float, bytes, list[Page]]:
    """Lay out and write one sheet; return seconds a side, bytes and pages."""
    start = time.process_time()
    made = Sheet("x", "x", paper, tuple(sides(plan, plan.paddocks[0], paper, scene)))
    raw, pages = pdf_of(made, made_of(plan))
    return (time.process_time() - start) / len(pages), raw, pages


def theirs(plan, pages: list[Page]) -> tuple[float, int]:
    """Write the same through matplotlib; return seconds a side and bytes."""
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.collections import LineCollection
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

    fonts = {
        b: str(carried("resources", "fonts", f"MapperSans-{'Bold' if b else 'Regular'}.ttf")) for b in (True, False)
    }
    start = time.process_time()
    held = BytesIO()
    with PdfPages(held) as book:
        for page in pages:
            figure = Figure(figsize=(page.width / 25.4, page.height / 25.4))
            axes = figure.add_axes((0, 0, 1, 1))
            axes.set_xlim(0, page.width)
            axes.set_ylim(page.height, 0)
            axes.axis("off")
            for laid in page.maps:
                mm = laid.view.px_per_mm
                for name, width in (
                    ("pieces", 1.0),
                    ("edges", 1.2),
                    ("breaks", 3.0),
                    ("ways_out", 2.5),
                    ("blocks", 1.5),
                ):
                    shapes = getattr(plan, name).geometry.to_numpy()
                    rings = np.where(shapely.get_type_id(shapes) == 3, shapely.boundary(shapes), shapes)
                    lines = [laid.view.points(shapely.get_coordinates(g)) / mm + [laid.box.x, laid.box.y]
                             for g in shapely.get_parts(rings)]  # fmt: skip
                    axes.add_collection(LineCollection(lines, colors="black", linewidths=width))
                for one in laid.placing.placed:
                    x, y = (one.box[0] + one.box[2]) / 2 / mm, (one.box[1] + one.box[3]) / 2 / mm
                    axes.text(laid.box.x + x, laid.box.y + y, "\n".join(one.ask.lines), ha="center", va="center",
                              fontproperties=FontProperties(fname=fonts[True], size=one.ask.size_pt),
                              bbox={"facecolor": "white", "edgecolor": "black", "pad": 1})  # fmt: skip
            for word in page.written:
                axes.text(word.box.x, word.box.bottom, word.words.replace("$", r"\$"), va="baseline",
                          fontproperties=FontProperties(fname=fonts[word.bold], size=word.pt))  # fmt: skip
            book.savefig(figure)
    return (time.process_time() - start) / len(pages), len(held.getvalue())


def main() -> None:
    """Print one line a plan and paper."""
    import matplotlib as mpl

    start_qt()
    mpl.rcParams["pdf.fonttype"] = 42
    plans = {"73 rows": demo_plan(), "curved, 62 rows": demo_plan(("Shed Hill",), curved=True, blocks=4),
             "174 rows, parts": demo_plan(pitch_m=5.0, blocks=9)}  # fmt: skip
    print(f"{'plan':16} {'paper':14} {'sides':>5} {'ours s/side':>12} {'kB':>6} {'matplotlib s/side':>18} {'kB':>6}")
    for name, plan in plans.items():
        for paper in ("A4 portrait", "A3 landscape"):
            scene = burn_scene(plan, plan.paddocks[0])
            ours(plan, paper, scene)
            seconds, raw, pages = ours(plan, paper, scene)
            theirs(plan, pages)
            other, size = theirs(plan, pages)
            mine = f"{name:16} {paper:14} {len(pages):5} {seconds:12.3f} {len(raw) / 1000:6.0f}"
            print(f"{mine} {other:18.3f} {size / 1000:6.0f}")


if __name__ == "__main__":
    main()
