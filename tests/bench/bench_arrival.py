"""Print what arrival times cost and how far they err: `python -m tests.bench.bench_arrival`.

Against the plain SciPy route, the shortest path over a graph of 8, 16 or 32 neighbours (scipy.sparse.csgraph.dijkstra,
the building of its graph counted), on the same grid and ellipse. Errors in per cent of the closed form, beyond 20
cells; head: within 10 degrees of the wind. Then a 1000 x 1000 grid to 4 h, and a whole farm as the plan asks for it.
"""

import time

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from mapper.fire.arrival import arrival_times
from mapper.fire.shape import ellipse_axes
from tests.published.test_arrival import ellipse

CELL, HEAD, TO = 10.0, 0.4, 100.0
RINGS = {8: ((1, 0), (1, 1)), 16: ((1, 0), (1, 1), (2, 1)), 32: ((1, 0), (1, 1), (2, 1), (3, 1), (3, 2))}


def moves(neighbours: int) -> list[tuple[int, int]]:
    """Rows and columns of the moves."""
    return sorted(
        {
            (sa * a, sb * b)
            for p, q in RINGS[neighbours]
            for a, b in ((p, q), (q, p))
            for sa in (1, -1)
            for sb in (1, -1)
        }
    )


def by_graph(n: int, lb: float, neighbours: int, limit: float = np.inf) -> np.ndarray:
    """Arrival times by SciPy's shortest paths from the middle."""
    f, g, h = (float(x) for x in ellipse_axes(lb))
    cells = np.arange(n * n).reshape(n, n)
    start, end, cost = [], [], []
    for dr, dc in moves(neighbours):
        a = cells[max(0, -dr) : n - max(0, dr), max(0, -dc) : n - max(0, dc)]
        x, y = dc * CELL, -dr * CELL
        along = x * np.sin(np.radians(TO)) + y * np.cos(np.radians(TO))
        start.append(a.ravel())
        end.append(a.ravel() + dr * n + dc)
        cost.append(np.full(a.size, (f * np.hypot(x, y) - g * along) / (h * h * HEAD)))
    graph = coo_array(
        (np.concatenate(cost), (np.concatenate(start), np.concatenate(end))), shape=(n * n, n * n)
    ).tocsr()
    return dijkstra(graph, indices=cells[n // 2, n // 2], limit=limit).reshape(n, n)


def ours(n: int, lb: float, horizon: float = 1e9) -> np.ndarray:
    """Arrival times by fire.arrival from the middle."""
    ground = np.ones((n, n), np.uint16)
    return arrival_times(
        ground, CELL, [[1, HEAD]], [[1, lb]], [TO], [0.0], ([n // 2], [n // 2], [0.0]), horizon
    )  # fmt: skip


def errors(times: np.ndarray, lb: float) -> str:
    """Head mean, head max, all mean, in per cent."""
    n = len(times)
    row, col = np.mgrid[:n, :n]
    x, y = CELL * (col - n // 2), -CELL * (row - n // 2)
    exact = ellipse(x, y, HEAD, lb, TO)
    far = (np.hypot(x, y) > 20 * CELL) & np.isfinite(times)
    off = np.abs((np.degrees(np.arctan2(x, y)) - TO + 180) % 360 - 180)
    error = 100 * np.abs(times[far] / exact[far] - 1)
    head = error[off[far] <= 10]
    return f"head mean {head.mean():6.2f} max {head.max():6.2f}  all {error.mean():5.2f} %"


def timed(work) -> tuple[float, np.ndarray]:
    """Best of three, seconds, and the result."""
    took = []
    for _ in range(3):
        start = time.perf_counter()
        result = work()
        took.append(time.perf_counter() - start)
    return min(took), result


def farm() -> None:
    """The sample farm: its grid, then one escape."""
    from mapper.carried import carried
    from mapper.files.farmtoml import read_farm
    from mapper.plan.arrival import escape_from
    from mapper.plan.fireground import fire_ground

    example, _ = read_farm(carried("sample_data", "farm.toml"))
    at = example.forecast["time_utc"].iloc[30].to_pydatetime()
    middle = example.paddocks.geometry.iloc[0].centroid
    build, ground = timed(lambda: fire_ground(example, at, 4 * 3600.0))
    solve, escape = timed(lambda: escape_from(ground, middle.x, middle.y))
    draw, lines = timed(escape.lines)
    size = " x ".join(str(k) for k in ground.classes.shape)
    print(f"sample farm, {size} cells of {ground.cell_m:g} m, {len(ground.to_deg)} winds, 4 h: grid {build:.2f} s, "
          f"escape {solve:.2f} s, {len(lines)} lines {draw:.2f} s")  # fmt: skip


if __name__ == "__main__":
    ours(41, 3.2)
    for lb in (1.0, 2.3, 3.2, 4.4, 6.1):
        took, times = timed(lambda lb=lb: ours(401, lb))
        print(f"LB {lb:.1f}  401 x 401  ours             {took:5.2f} s  {errors(times, lb)}")
        for neighbours in (8, 16, 32) if lb == 3.2 else (32,):
            start = time.perf_counter()
            other = by_graph(401, lb, neighbours)
            plain = time.perf_counter() - start
            print(
                f"LB {lb:.1f}  401 x 401  SciPy graph {neighbours:2d}   {plain:5.2f} s  {errors(other, lb)}  "
                f"ratio {plain / took:.1f}"
            )
    took, times = timed(lambda: ours(1000, 3.2, 4 * 3600.0))
    print(f"LB 3.2  1000 x 1000 to 4 h  ours {took:.2f} s, {np.isfinite(times).sum()} cells  {errors(times, 3.2)}")
    start = time.perf_counter()
    by_graph(1000, 3.2, 32, 4 * 3600.0)
    plain = time.perf_counter() - start
    print(f"LB 3.2  1000 x 1000 to 4 h  SciPy graph 32 {plain:.2f} s  ratio {plain / took:.1f}")
    farm()
