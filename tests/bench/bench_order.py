"""Print how long the order of 30 to 1000 rows takes, and how near it comes to the lower bound.

`python -m tests.bench.bench_order`: one line a case. first: seconds to the first usable order (effort 0); full: seconds
of the full effort; finish: over the lower bound of the design (all lighting shared by the crews, the shortest drive
into each row, the shortest burn-out), in per cent; km driven. Then seconds for whole orders with ways out of one
paddock, as planned and as mended.
"""

import time

import numpy as np
import shapely

from mapper.farm.farm import Crew
from mapper.farm.layers import make_layer
from mapper.order.sequence import solve
from tests.farms import GRID
from tests.order.paddocks import order_of, straight_rows, window
from tests.order.test_oracle import bound_s, two_columns
from tests.order.test_sequence import rows, task_of


def seconds(work):
    """Seconds and the outcome of work()."""
    begun = time.perf_counter()
    found = work()
    return time.perf_counter() - begun, found


def solver() -> None:
    """The solver alone: even rows, and two columns of uneven ones."""
    solve(task_of(rows(6)))
    solve(task_of(rows(6), crews=2))
    for count in (30, 100, 300, 1000):
        for name, crews in (("even", 1), ("even", 3), ("uneven", 1), ("uneven", 3)):
            if name == "even":
                task = task_of(rows(count), 75.0, crews, out_s=np.full(count, 1800.0))
            else:
                found, light = two_columns(count // 2, count)
                task = task_of(found, 75.0, crews, lighting_s=np.repeat(light, crews, axis=0),
                               out_s=np.full(len(found), 1800.0))  # fmt: skip
            first, _ = seconds(lambda task=task: solve(task, effort=0.0))
            full, best = seconds(lambda task=task: solve(task))
            least = (bound_s(task) - 1800.0) / crews + 1800.0
            print(
                f"{count:5d} rows {name:7s}{crews} crew(s)  first {first:6.2f} s  full {full:6.2f} s  "
                f"finish {100 * (best.out_s.max() / least - 1):6.2f} %  {best.driven_m / 1000:7.2f} km",
                flush=True,
            )


def whole() -> None:
    """An order with pieces, edge rows, precedence, ways out of every minute: straight rows, two laps, a wide break."""
    crews = (Crew("1"), Crew("2"))
    for count in (30, 100, 300, 1000):
        paddock = straight_rows(count, 400.0, laps=2)
        west, south, _, north = paddock[0].bounds
        line = shapely.LineString([(west - 5, south - 50), (west - 5, north + 50)])
        there = make_layer("breaks_there", {"width_m": [10.0], "made_by": ["grader"]}, [line], GRID.crs)
        for name, effort in (("planned", 1.0), ("mended", 0.25)):
            took, order = seconds(
                lambda p=paddock, b=there, e=effort: order_of(
                    p, crews=crews, windows=(window(10.0),), breaks_there=b, effort=e
                )
            )
            lit, stops = int((order.pieces["order_no"] > 0).sum()), sum(r.level == "stop" for r in order.remarks)
            print(f"{count:5d} rows and two laps, {name}: {took:6.2f} s, {lit} pieces lit, {stops} stops", flush=True)


if __name__ == "__main__":
    solver()
    whole()
