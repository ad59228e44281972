"""What a simple program would do with the same log: the design's two baselines, antenna way as row, no delay."""

import numpy as np
import pandas as pd
import shapely

from mapper.farm.layers import empty_layer, make_layer
from mapper.rows.clip import clip_lines
from mapper.rows.result import RowsResult
from tests.rows.scenes import CRS, known_straw
from tests.rows.simulator import Scene

GAP_S = 10.0


def split_on_gaps(log: pd.DataFrame, scene: Scene) -> RowsResult:
    """Every fix is harvest; a new row wherever nothing was logged for ten seconds."""
    return _rows(log.sort_values(["machine", "t_s"], kind="stable"), scene, np.ones(len(log), bool))


def flag_only(log: pd.DataFrame, scene: Scene) -> RowsResult:
    """Fixes with the header down are harvest; a new row wherever it was up or nothing was logged."""
    log = log.sort_values(["machine", "t_s"], kind="stable")
    return _rows(log, scene, log["header_down"].to_numpy() == 1)


def _rows(log: pd.DataFrame, scene: Scene, cut: np.ndarray) -> RowsResult:
    at = np.flatnonzero(cut)
    t, x, y = (log[c].to_numpy()[at] for c in ("t_s", "x", "y"))
    machine = log["machine"].to_numpy()[at]
    step = np.hypot(np.diff(x), np.diff(y))
    gap = max(GAP_S, 2.5 * scene.every_s)
    new = (np.diff(at) > 1) | (np.diff(t) > gap) | (np.diff(t) <= 0) | (machine[1:] != machine[:-1]) | (step > 6 * gap)
    parts = [p for p in np.split(np.arange(len(at)), np.flatnonzero(new) + 1) if len(p) > 1]
    lines = np.array([shapely.LineString(np.column_stack((x[p], y[p]))) for p in parts] + [None], object)[:-1]
    lines, _, _ = clip_lines(lines, scene.paddock)
    load = known_straw(scene).straw_t_ha * scene.harvester.header_width_m / 10
    n = len(lines)
    data = {"row_id": [str(k) for k in range(n)], "load_kg_m": np.full(n, load), "length_m": shapely.length(lines)}
    return RowsResult(make_layer("windrows", data, lines, CRS), empty_layer("heaps", CRS))
