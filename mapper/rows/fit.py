"""A pattern fitted to a few observed rows: heading, spacing and where the passes lie, with how sure that is.

Rows drawn over imagery or walked with a receiver are straight and parallel but for their error. Each has a place in the
pattern (0, 1, 2 ... passes over); heading, first place and spacing follow by least squares, with their covariance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.errors import SettingError
from mapper.farm.ranged import Array

# What a row drawn over imagery or walked is out by where the rows themselves do not show it (common practice, no
# source: half a windrow).
_SEEN_M = 0.3
# The pitch of passes against the header's width: design figures, measured on logs.
_NARROWEST, _WIDEST = 0.90, 1.02
_USUAL = 0.975
_PARALLEL_DEG = 10.0
# Farther than this from where the pattern says, a row is of another pattern.
_OUT_M = 1.5


@dataclass(frozen=True)
class PatternFit:
    """A pattern of straight passes and its uncertainty (one standard deviation).

    heading_deg: 0 to 180 from grid north. spacing_m: between passes. x, y: a point on one of the passes, metres on the
    farm's grid. residual_m: of the rows given, root mean square. used: rows used. spacing_known: from rows, else from
    the header's width. remark: what to say beside the rows, "" where nothing.
    """

    heading_deg: float
    spacing_m: float
    x: float
    y: float
    residual_m: float
    used: int
    spacing_known: bool
    covariance: Array
    remark: str

    @property
    def heading_error_deg(self) -> float:
        """One standard deviation of the heading."""
        return float(np.degrees(np.sqrt(self.covariance[2, 2])))

    @property
    def spacing_error_m(self) -> float:
        """One standard deviation of the spacing."""
        return float(np.sqrt(self.covariance[1, 1]))

    def error_m(self, x: Array, y: Array) -> Array:
        """Return how far to the side a pattern row may lie at places (metres on the grid), one standard deviation."""
        a = np.radians(self.heading_deg)
        across = (np.asarray(x) - self.x) * np.cos(a) - (np.asarray(y) - self.y) * np.sin(a)
        along = (np.asarray(x) - self.x) * np.sin(a) + (np.asarray(y) - self.y) * np.cos(a)
        design = np.stack([np.ones_like(across), np.round(across / self.spacing_m), along], axis=-1)
        variance = np.einsum("...i,ij,...j->...", design, self.covariance, design)
        result: Array = np.sqrt(np.maximum(variance, 0.0))
        return result


def fit_pattern(rows: Sequence[shapely.LineString], header_width_m: float) -> PatternFit:
    """Return the pattern of straight passes that one or more observed rows lie on.

    rows: lines in metres on the farm's grid, any direction, two or three are asked for; one alone gives heading and
    place, the spacing is then the header's width. header_width_m: tells how many passes lie between two rows.

    Raises SettingError where no row is 20 m long, or no two agree on a direction within 10 degrees.
    """
    lines = [r for r in rows if r is not None and r.length >= 20]
    if not lines:
        raise SettingError("no observed row is 20 m long", "rows for a pattern", "Draw or walk longer ones")
    heading = _heading(lines)
    lines = [r for r in lines if abs((_chord_deg(r) - heading + 90) % 180 - 90) <= _PARALLEL_DEG]
    if not lines:
        raise SettingError(
            "the observed rows do not run the same way", "rows for a pattern", "Draw rows of one pattern"
        )
    left_out = len([r for r in rows if r is not None]) - len(lines)
    heading = _heading(lines)
    origin = shapely.get_coordinates(shapely.line_interpolate_point(np.array(lines, object), 0.5, normalized=True))
    ox, oy = origin.mean(axis=0)
    across, along, of = _local(lines, heading, ox, oy)
    middle = np.array([across[of == k].mean() for k in range(len(lines))])
    place, spacing, known, unsure = _places(middle, header_width_m)
    design = np.column_stack((np.ones(len(across)), place[of], along))
    # Points of one row share its error: each row weighs as two points.
    weight = 2.0 / np.bincount(of)[of]
    prior = np.diag([0.0, 0.0 if known else (0.02 * header_width_m) ** -2, 0.0])
    normal = design.T @ (design * weight[:, None]) / _SEEN_M**2 + prior
    right = design.T @ (across * weight) / _SEEN_M**2 + prior @ np.array([0.0, spacing, 0.0])
    start, step, tilt = np.linalg.solve(normal, right)
    residual = across - design @ np.array([start, step, tilt])
    rms = float(np.sqrt(np.average(residual**2, weights=weight)))
    covariance: Array = np.asarray(np.linalg.inv(normal) * max(1.0, rms / _SEEN_M) ** 2, np.float64)
    a = np.radians(heading)
    remark = _remark(left_out, unsure, known, rms, len(lines))
    return PatternFit(
        float((heading + np.degrees(np.arctan(tilt))) % 180), float(step), float(ox + start * np.cos(a)),
        float(oy - start * np.sin(a)), rms, len(lines), known, covariance, remark,
    )  # fmt: skip


def _chord_deg(line: shapely.LineString) -> float:
    (x0, y0), (x1, y1) = line.coords[0][:2], line.coords[-1][:2]
    return float(np.degrees(np.arctan2(x1 - x0, y1 - y0)) % 180)


def _heading(lines: Sequence[shapely.LineString]) -> float:
    """Mean direction of the chords, weighted by length; that of the longest row where they scatter."""
    angle, weight = np.radians([2 * _chord_deg(r) for r in lines]), np.array([r.length for r in lines])
    longest = angle[np.argmax(weight)]
    near = np.cos(angle - longest) > np.cos(np.radians(2 * _PARALLEL_DEG))
    angle, weight = angle[near], weight[near]
    return float(np.degrees(np.arctan2((weight * np.sin(angle)).sum(), (weight * np.cos(angle)).sum())) / 2 % 180)


def _local(
    lines: Sequence[shapely.LineString], heading: float, ox: float, oy: float
) -> tuple[Array, Array, NDArray[np.int64]]:
    """Points every 5 m along the rows: across to the right of the heading, along it, and which row."""
    xy = [shapely.get_coordinates(shapely.segmentize(r, 5.0)) for r in lines]
    of = np.repeat(np.arange(len(lines)), [len(p) for p in xy])
    x, y = np.concatenate(xy).T
    a = np.radians(heading)
    return (x - ox) * np.cos(a) - (y - oy) * np.sin(a), (x - ox) * np.sin(a) + (y - oy) * np.cos(a), of


def _places(middle: Array, width_m: float) -> tuple[Array, float, bool, bool]:
    """Place of each row in the pattern, the spacing, whether rows show it, whether another count fits as well."""
    gap = middle - middle[np.argmin(middle)]
    if np.ptp(middle) < 0.5 * width_m:
        return np.zeros(len(middle)), width_m * _USUAL, False, False
    tried = np.arange(_NARROWEST, _WIDEST + 1e-9, 0.0005) * width_m
    place = np.round(gap[:, None] / tried)
    out = np.abs(gap[:, None] - place * tried).max(axis=0)
    # The spacing nearest the usual among those that fit nearly as well as the best.
    good = out <= max(out.min() + 0.1, 0.15)
    best = int(np.argmin(np.where(good, np.abs(tried - _USUAL * width_m), np.inf)))
    counts = {tuple(p) for p in place[:, good].T}
    return place[:, best], float(tried[best]), True, len(counts) > 1


def _remark(left_out: int, unsure: bool, known: bool, rms: float, used: int) -> str:
    said = []
    if left_out:
        said.append(f"{left_out} of the observed rows run another way or are too short, and were left out")
    if unsure:
        said.append("another number of passes between the observed rows fits as well: observe two neighbouring rows")
    if not known:
        said.append("the observed rows show no spacing; the header's width less its usual overlap is taken")
    if used > 2 and rms > _OUT_M:
        said.append(f"the observed rows lie {rms:.1f} m off any even pattern")
    return "; ".join(said)
