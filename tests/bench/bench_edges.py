"""How long edges and breaks take: a paddock of the sample, and 500 paddocks over 24 hours.

python tests/bench/bench_edges.py
"""

import sys
import time
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import shapely

sys.path.insert(0, str(Path(__file__).parents[2]))

from mapper.farm.layers import empty_layer
from mapper.files.farmtoml import read_farm
from mapper.ground.edges import exposed_edges, look_at_edge
from mapper.ground.guard import guard_paddock
from mapper.ground.nightwinds import night_winds
from mapper.ground.things import things
from tests.farms import EAST, GRID, NORTH, evening_forecast, limits


def sample() -> None:
    """Each paddock of the sample: its edges, and all of ground/. Best of five; processor time, as others run beside."""
    from mapper.plan.job import work
    from mapper.plan.request import NightRequest

    farm, _ = read_farm(Path(__file__).parents[2] / "sample_data" / "farm.toml")
    request = NightRequest(date(2026, 4, 18), datetime(2026, 4, 17, tzinfo=UTC))
    _, night, changes, open_, _ = work(farm, request, stages=("hours",)).done["hours"].output
    winds = night_winds(night, changes)
    for _, paddock in farm.paddocks.iterrows():
        took, edges_only = [], []
        for _ in range(5):
            start = time.process_time()
            around = things(farm.assets, paddock.geometry, 1000.0)
            edge = look_at_edge(paddock, farm.breaks_there, around, around, around)
            exposed_edges(edge, winds, farm.limits, farm.grid.crs, open_[0] if open_ else None)
            edges_only.append(time.process_time() - start)
            start = time.process_time()
            made = guard_paddock(
                paddock, night, changes, open_, farm.breaks_there, farm.assets, farm.neighbours, farm.limits,
                farm.grid.crs, farm.paddocks, winds,
            )  # fmt: skip
            took.append(time.process_time() - start)
        edges_ms, all_ms = 1000 * min(edges_only), 1000 * min(took)
        print(f"{paddock['paddock']}: {len(made.edges)} pieces, edges {edges_ms:.0f} ms, with breaks {all_ms:.0f} ms")


def many(count: int = 500) -> None:
    """Odd paddocks of about 70 ha over 24 hours: edges only."""
    chance = np.random.default_rng(5)
    winds = night_winds(evening_forecast().iloc[:24].reset_index(drop=True), ())
    none, nothing = empty_layer("breaks_there", GRID.crs), empty_layer("assets", GRID.crs)
    start, pieces = time.process_time(), 0
    for k in range(count):
        turn = np.sort(chance.uniform(0, 2 * np.pi, 9))
        radius = chance.uniform(350, 600, 9)
        shape = shapely.Polygon(np.stack([EAST + radius * np.sin(turn), NORTH + radius * np.cos(turn)], axis=1))
        row = {"paddock": f"P{k}", "stubble_t_ha": 2.0, "curing_pct": 100.0, "cut_height_m": 0.2}
        paddock = pd.Series({**row, "geometry": shape.buffer(0)})
        around = things(nothing, shape, 100.0)
        edge = look_at_edge(paddock, none, around, around, around)
        edges, _ = exposed_edges(edge, winds, limits(), GRID.crs, None)
        pieces += len(edges)
    print(f"{count} paddocks x 24 h, {pieces} pieces: {time.process_time() - start:.1f} s")


if __name__ == "__main__":
    sample()
    many()
