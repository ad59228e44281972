"""How near derived rows come to the truth: the design's table."""

from dataclasses import dataclass

import numpy as np
import shapely

from mapper.rows.result import RowsResult
from tests.rows.simulator import Truth


@dataclass(frozen=True)
class Score:
    """Percentages, metres and percent as in the design's table.

    load: of row length, half (0.95) errs by no more; load_p95_rows: of rows, 0.95 err by no more, short ones like long.
    """

    recall: float
    precision: float
    ends_p50_m: float
    ends_p95_m: float
    load_p50: float
    load_p95: float
    load_p95_rows: float
    total_load: float
    false_m_per_100_km: float
    heaps_found: float
    heap_kg_p50: float
    lateral_p95_m: float

    def line(self) -> str:
        """Return one line of the table."""
        return (
            f"{self.recall:6.2f}/{self.precision:6.2f}  ends {self.ends_p50_m:4.1f}/{self.ends_p95_m:5.1f} m  "
            f"load {self.load_p50:4.1f}/{self.load_p95:5.1f} % (rows {self.load_p95_rows:4.1f} %) "
            f"total {self.total_load:5.2f} %  false {self.false_m_per_100_km:6.0f} m  "
            f"heaps {self.heaps_found:4.0f} % {self.heap_kg_p50:4.1f} %  lateral {self.lateral_p95_m:4.2f} m"
        )


def score(found: RowsResult, truth: Truth, within_m: float = 0.5) -> Score:
    """Compare, along both, metre by metre; recall and precision count metres within so much of the other."""
    rows = found.windrows.geometry.to_numpy()
    true = np.array(truth.rows, object)
    d_true = _distance(_metres(true), _segments(rows))
    d_rows = _distance(_metres(rows), _segments(true))
    ends = _points(true)
    d_ends = _distance(ends, _points(rows))
    load = _load_error(found, truth, rows, true)
    heaps = shapely.points(truth.heaps) if len(truth.heaps) else np.zeros(0, object)
    found_heaps = found.heaps.geometry.to_numpy()
    hits, off = 0, []
    for k, h in enumerate(heaps):
        d = shapely.distance(found_heaps, h) if len(found_heaps) else np.array([np.inf])
        if d.min() < 4:
            hits += 1
            off.append(abs(found.heaps["kg"].iloc[int(d.argmin())] / truth.heap_kg[k] - 1) * 100)
    total_true = float((truth.kg_m * shapely.length(true)).sum() + truth.heap_kg.sum())
    total = float((found.windrows["load_kg_m"] * found.windrows["length_m"]).sum() + found.heaps["kg"].sum())
    return Score(
        100 * np.mean(d_true < within_m),
        100 * np.mean(d_rows < within_m),
        float(np.median(d_ends)),
        float(np.percentile(d_ends, 95)),
        _by_length(*load, 0.5),
        _by_length(*load, 0.95),
        float(np.percentile(load[0], 95)) if len(load[0]) else np.nan,
        100 * (total / total_true - 1),
        1e5 * float(np.mean(d_rows > 3)),
        100 * hits / max(len(heaps), 1),
        float(np.median(off)) if off else np.nan,
        float(np.percentile(d_rows[d_rows < 1], 95)),
    )


def _metres(lines: np.ndarray) -> np.ndarray:
    """A point in the middle of every metre of lines."""
    found = []
    for line in lines:
        x, y = shapely.get_coordinates(line).T
        along = np.r_[0, np.cumsum(np.hypot(np.diff(x), np.diff(y)))]
        at = np.arange(max(1, int(along[-1]))) + 0.5
        found.append(np.column_stack((np.interp(at, along, x), np.interp(at, along, y))))
    return shapely.points(np.vstack(found))


def _segments(lines: np.ndarray) -> np.ndarray:
    """Lines as pieces of two points: a tree of long lines finds nothing fast."""
    xy = [shapely.get_coordinates(line) for line in lines]
    return shapely.linestrings(np.concatenate([np.stack((p[:-1], p[1:]), axis=1) for p in xy]))


def _points(lines: np.ndarray) -> np.ndarray:
    return np.concatenate((shapely.get_point(lines, 0), shapely.get_point(lines, -1)))


def _distance(points: np.ndarray, shapes: np.ndarray) -> np.ndarray:
    return shapely.distance(points, shapes[shapely.STRtree(shapes).nearest(points)])


def _load_error(found: RowsResult, truth: Truth, rows: np.ndarray, true: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Error of the load (%) of each true row that was found, and its length."""
    middle = shapely.line_interpolate_point(true, 0.5, normalized=True)
    near = shapely.STRtree(rows).nearest(middle)
    # A row found is the one meant where it lies along it, not where it crosses or passes its end.
    along = shapely.length(shapely.intersection(rows[near], shapely.buffer(true, 1.0)))
    good = (shapely.distance(middle, rows[near]) < 1) & (along > 0.5 * shapely.length(rows[near]))
    error = 100 * np.abs(found.windrows["load_kg_m"].to_numpy()[near[good]] / truth.kg_m[good] - 1)
    return error, shapely.length(true[good])


def _by_length(error: np.ndarray, length: np.ndarray, share: float) -> float:
    if not len(error):
        return float("nan")
    order = np.argsort(error)
    return float(error[order][np.searchsorted(np.cumsum(length[order]), share * length.sum())])
