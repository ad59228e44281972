"""Straight passes of a drifting receiver put back on the even grid they were steered on.

Rows steered by hand on a good receiver look uneven too, and must not be touched. What tells them apart is time: a drift
is the same at the end of one pass and at the start of the next, a minute later, but not at the far ends, which lie as
near to each other and minutes apart. A driver who follows the last pass's edge shows both alike. And nobody leaves
strips standing between passes, pass after pass, as a drift makes it look.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.cut import UP
from mapper.rows.path import Path

# Asked for: coherent enough to know which pass is which. Unasked: beyond doubt. Measured on two simulators.
_COHERENT, _SURE_COHERENT = 0.75, 0.9
_FEWEST, _SURE_FEWEST = 4, 10
_SHORTEST_PASS_M = 60.0
_STRAIGHT_DEG = 4.0
_NARROWEST, _WIDEST = 0.90, 1.02
_MOST_BEND_M = 0.7
_LEAST_OUT_M = 1.0
_MOST_OFF_M = 1.5
# Far ends must differ by this much more than near ends, and by this many metres.
_SURE_RATIO, _SURE_FAR_M = 1.5, 0.3
# Or by this much, where strips wider than this seem to stand over this share of the length between passes.
_LIKELY_RATIO, _STRIP_M, _STRIPS = 1.2, 0.3, 0.15
_LEAST_COVER = 0.5
_END_M = 30.0
_EVERY = 5
# Nearer to the grid than this nothing needs to move.
_ON_GRID_M = 0.1


@dataclass(frozen=True)
class Snapped:
    """A path on its grid, or as it was. moved_m: sideways shift of its straight passes (empty where left alone)."""

    path: Path
    moved_m: Array
    spacing_m: float
    reason: str


@dataclass(frozen=True)
class Passes:
    """Straight passes: sample indices, which pass each is of, metres across and along the usual heading."""

    at: NDArray[np.int64]
    of: NDArray[np.int64]
    across: Array
    along: Array
    heading: float


def snap_to_grid(
    path: Path,
    state: NDArray[np.int8],
    heading_deg: float,
    header_width_m: float,
    antenna_right_m: float,
    *,
    asked: bool,
) -> Snapped:
    """Return the path with straight passes moved sideways onto their grid, where asked or beyond doubt.

    state: cut.py's states; heading_deg: usual heading of the passes, 0 to 180 from grid north.
    """
    first = gather_passes(path, state, heading_deg, antenna_right_m)
    heading_deg += _tilt_deg(first)
    found = _of_pattern(gather_passes(path, state, heading_deg, antenna_right_m), header_width_m)
    count = int(found.of.max()) + 1 if len(found.of) else 0
    if count < (_FEWEST if asked else _SURE_FEWEST):
        return Snapped(path, np.zeros(0), float("nan"), "too few straight passes")
    middle = np.bincount(found.of, found.across) / np.bincount(found.of)
    length: Array = np.bincount(found.of).astype(np.float64)
    spacing, coherence = _spacing(middle, length, header_width_m)
    if coherence < (_COHERENT if asked else _SURE_COHERENT):
        return Snapped(path, np.zeros(0), spacing, "the passes lie on no even grid")
    target = _grid(found, middle, length, spacing)
    off = found.across - target
    if np.percentile(np.abs(off), 95) > _MOST_OFF_M:
        return Snapped(path, np.zeros(0), spacing, "the passes lie too far from any even grid")
    if not asked and np.median(np.abs(off)) < _ON_GRID_M:
        return Snapped(path, np.zeros(0), spacing, "the passes lie on their grid")
    if not asked and (doubt := _doubt(path, state, found, off, spacing, header_width_m)):
        return Snapped(path, np.zeros(0), spacing, doubt)
    return Snapped(_moved(path, found, off), off, spacing, "asked for" if asked else "the receiver's drift shows")


def gather_passes(path: Path, state: NDArray[np.int8], heading_deg: float, antenna_right_m: float) -> Passes:
    """Return the straight passes near a heading (0 to 180 degrees from grid north), a sample every ten metres or so."""
    a = np.radians(heading_deg)
    speed = np.maximum(path.speed_m_s, 1e-6)
    with_it = (path.vx * np.sin(a) + path.vy * np.cos(a)) / speed
    good = (state != UP) & (np.abs(with_it) > np.cos(np.radians(_STRAIGHT_DEG))) & (speed > 0.5)
    at = np.flatnonzero(good)
    if not len(at):
        return Passes(at, at, np.zeros(0), np.zeros(0), a)
    gap = (np.diff(path.t_s[at]) > 90) | (np.diff(path.series[at]) != 0) | (np.diff(np.sign(with_it[at])) != 0)
    across = path.x[at] * np.cos(a) - path.y[at] * np.sin(a) - antenna_right_m * np.sign(with_it[at])
    along = path.x[at] * np.sin(a) + path.y[at] * np.cos(a)
    of = np.cumsum(np.r_[True, gap | (np.abs(np.diff(across)) > 1.5)]) - 1
    long = np.bincount(of, path.step_m[at]) >= _SHORTEST_PASS_M
    # Every tenth metre says as much as every second.
    keep = long[of] & ((np.arange(len(of)) - np.searchsorted(of, of)) % _EVERY == 0)
    _, of = np.unique(of[keep], return_inverse=True)
    return Passes(at[keep], of, across[keep], along[keep], a)


def _tilt_deg(found: Passes) -> float:
    """How far the passes lean from the heading they were gathered by, the middle one, degrees."""
    if not len(found.of):
        return 0.0
    count = np.bincount(found.of)
    along = found.along - (np.bincount(found.of, found.along) / count)[found.of]
    slope = np.bincount(found.of, along * found.across) / np.bincount(found.of, along**2)
    return float(np.degrees(np.arctan(np.median(slope))))


def _of_pattern(found: Passes, header_width_m: float) -> Passes:
    """Leave away passes that bend or lie off the grid of the others: laps that run along, a strip between lands."""
    if not len(found.of):
        return found
    count = np.bincount(found.of)
    middle = np.bincount(found.of, found.across) / count
    bend = np.sqrt(np.bincount(found.of, (found.across - middle[found.of]) ** 2) / count)
    length = count.astype(np.float64)
    spacing, _ = _spacing(middle, length, header_width_m)
    phase = np.exp(2j * np.pi * middle / spacing)
    off = np.abs(np.angle(phase / (phase * length).sum())) * spacing / (2 * np.pi)
    keep = ((off <= max(_LEAST_OUT_M, 3 * float(np.median(off)))) & (bend <= _MOST_BEND_M))[found.of]
    _, of = np.unique(found.of[keep], return_inverse=True)
    return Passes(found.at[keep], of, found.across[keep], found.along[keep], found.heading)


def _spacing(middle: Array, length: Array, header_width_m: float) -> tuple[float, float]:
    """Spacing of the grid that most of the length lies on, by periodogram, and its coherence (0 to 1)."""
    tried = np.arange(_NARROWEST, _WIDEST, 0.001) * header_width_m
    power = np.abs(length @ np.exp(2j * np.pi * (middle - middle.mean())[:, None] / tried)) / length.sum()
    best = int(np.argmax(power))
    return float(tried[best]), float(power[best])


def _grid(found: Passes, middle: Array, length: Array, spacing: float) -> Array:
    """Where each sample should lie across: place, spacing and tilt by least squares that wild passes do not pull."""
    phase = np.angle((np.exp(2j * np.pi * middle / spacing) * length).sum())
    start = phase * spacing / (2 * np.pi)
    place = np.round((middle - start) / spacing)[found.of]
    design = np.column_stack((np.ones(len(place)), place - place.mean(), found.along - found.along.mean()))
    weight = np.ones(len(place))
    for _ in range(10):
        part = np.linalg.lstsq(design * weight[:, None], found.across * weight, rcond=None)[0]
        off = np.abs(found.across - design @ part)
        weight = np.sqrt(1 / np.maximum(1.0, off / max(1.5 * float(np.median(off)), 0.02)))
    result: Array = design @ part
    return result


def _doubt(
    path: Path, state: NDArray[np.int8], found: Passes, off: Array, spacing: float, header_width_m: float
) -> str:
    """Why these passes may have been steered as they lie, "" where a drift is beyond doubt."""
    cut_m = float(path.step_m[state != UP].sum())
    if _EVERY * path.step_m[found.at].sum() < _LEAST_COVER * cut_m:
        return "less than half of the harvest is straight passes"
    ends: list[tuple[float, float]] = []
    for k in range(int(found.of.max()) + 1):
        i = np.flatnonzero(found.of == k)
        d = np.abs(found.along[i] - found.along[i[0]])
        ends.append((float(off[i][d <= _END_M].mean()), float(off[i][d >= d.max() - _END_M].mean())))
    first = np.array([found.at[np.flatnonzero(found.of == k)[0]] for k in range(len(ends))])
    last = np.array([found.at[np.flatnonzero(found.of == k)[-1]] for k in range(len(ends))])
    start, end = np.array(ends).T
    soon = (path.t_s[first[1:]] - path.t_s[last[:-1]] < 180) & (path.series[first[1:]] == path.series[last[:-1]])
    if soon.sum() < _SURE_FEWEST - 1:
        return "too few passes follow one another"
    near = np.sqrt(np.mean((start[1:] - end[:-1])[soon] ** 2))
    far = np.sqrt(np.mean((end[1:] - start[:-1])[soon] ** 2))
    strips = _strips(found, spacing, header_width_m)
    sure = far >= _SURE_RATIO * near or (far >= _LIKELY_RATIO * near and strips >= _STRIPS)
    if far < _SURE_FAR_M or not sure:
        return "the passes may have been steered as they lie"
    return ""


def _strips(found: Passes, spacing: float, header_width_m: float) -> float:
    """Share of the length between neighbouring passes over which the crop seems to have been left standing."""
    count = int(found.of.max()) + 1
    part = ((found.along - found.along.min()) // 20).astype(int)
    place = found.of * (part.max() + 1) + part
    n = np.bincount(place, minlength=count * (part.max() + 1))
    with np.errstate(invalid="ignore"):
        across = (np.bincount(place, found.across, len(n)) / n).reshape(count, -1)
    across = across[np.argsort(np.bincount(found.of, found.across) / np.bincount(found.of))]
    gap = np.diff(across, axis=0)
    gap = gap[np.isfinite(gap) & (gap > 0.5 * spacing) & (gap < 1.5 * spacing)]
    return float((gap > max(header_width_m, spacing) + _STRIP_M).mean()) if len(gap) else 0.0


def _moved(path: Path, found: Passes, off: Array) -> Path:
    """Shift the passes back; between two passes that follow one another the shift goes over from one to the other."""
    shift = np.zeros(len(path))
    for s in np.unique(path.series[found.at]):
        own = path.series[found.at] == s
        here = path.series == s
        shift[here] = np.interp(path.t_s[here], path.t_s[found.at[own]], off[own])
        # Laps long before or after know nothing of it.
        wait = np.abs(path.t_s[here] - path.t_s[found.at[own]][_nearest(path.t_s[found.at[own]], path.t_s[here])])
        shift[here] *= np.clip(2 - wait / 60, 0, 1)
    return replace(path, x=path.x - shift * np.cos(found.heading), y=path.y + shift * np.sin(found.heading))


def _nearest(known: Array, wanted: Array) -> NDArray[np.int64]:
    right = np.clip(np.searchsorted(known, wanted), 1, max(len(known) - 1, 1))
    left = right - 1
    right = np.minimum(right, len(known) - 1)
    result: NDArray[np.int64] = np.where(np.abs(known[left] - wanted) <= np.abs(known[right] - wanted), left, right)
    return result
