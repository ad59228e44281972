"""The machine's way second by second, with gaps bridged only where speed and direction go on."""

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.clean import Fixes

_LONGEST_BRIDGE_S = 60.0
# Through a gap this short the way is drawn even round a turn.
_SHORT_GAP_S = 10.0
# Fixes further apart than this do not show a stop's braking by themselves.
_SPARSE_S = 1.5


@dataclass(frozen=True)
class Path:
    """One machine's way at about one second; every field an array of one length, sorted by piece, then time.

    piece: unbroken stretch; series: pieces one machine drove one after the other. first: first second of a piece (no
    way led there). down_before, down_after: the header flag (1, 0, -1 unknown) of the fixes round the second.
    guessed: between fixes further apart than usual. vx, vy: metres a second.
    """

    t_s: Array
    x: Array
    y: Array
    vx: Array
    vy: Array
    series: NDArray[np.int64]
    piece: NDArray[np.int64]
    first: NDArray[np.bool_]
    guessed: NDArray[np.bool_]
    down_before: NDArray[np.int8]
    down_after: NDArray[np.int8]
    width_m: Array
    flow_kg_s: Array
    yield_t_ha: Array

    def __len__(self) -> int:
        return len(self.t_s)

    @cached_property
    def step_m(self) -> Array:
        """Metres driven to each second; 0 at a piece's first."""
        moved = np.hypot(np.diff(self.x, prepend=self.x[:1]), np.diff(self.y, prepend=self.y[:1]))
        return np.where(self.first, 0.0, moved)

    @cached_property
    def step_s(self) -> Array:
        """Seconds to each sample; 0 at a piece's first."""
        return np.where(self.first, 0.0, np.diff(self.t_s, prepend=self.t_s[:1]))

    @cached_property
    def speed_m_s(self) -> Array:
        """Speed over ground."""
        return np.hypot(self.vx, self.vy)


def join_paths(paths: list[Path]) -> Path:
    """Return the machines' paths as one, with series and pieces numbered on."""
    joined: dict[str, list[NDArray[np.generic]]] = {f.name: [] for f in fields(Path)}
    before = {"series": 0, "piece": 0}
    for path in paths:
        for name, parts in joined.items():
            value = getattr(path, name)
            parts.append(value + before[name] if name in before else value)
        if len(path):
            before["series"] += int(path.series.max()) + 1
            before["piece"] += int(path.piece.max()) + 1
    return Path(**{name: np.concatenate(parts) for name, parts in joined.items()})


def resample(fixes: Fixes, track: pd.DataFrame, every_s: float = 1.0) -> Path:
    """Return the way at `every_s` seconds or closer; cubic between fixes. track: the log the fixes index into."""
    t, x, y = fixes.t_s, fixes.x, fixes.y
    n = len(t)
    joined, gap = _joined(fixes)
    vx, vy = _velocity(t, x, joined & ~gap), _velocity(t, y, joined & ~gap)
    if fixes.step_s > _SPARSE_S:
        pace = _logged_pace(np.hypot(vx, vy), track["speed_m_s"].to_numpy(float)[fixes.index])
        vx, vy = vx * pace, vy * pace
    parts = np.where(joined, np.maximum(1, np.round(np.diff(t) / every_s)), 1).astype(np.int64)
    end = np.r_[0, np.cumsum(parts)]
    at = np.repeat(np.arange(n - 1), parts)
    u = (np.arange(1, end[-1] + 1) - end[at]) / parts[at]
    broken = ~joined[at]
    u = np.where(broken, 1.0, u)
    h = np.diff(t)[at]
    px, dx = _cubic(x[at], x[at + 1], vx[at], vx[at + 1], h, u)
    py, dy = _cubic(y[at], y[at + 1], vy[at], vy[at + 1], h, u)
    first = np.r_[True, broken]
    flag = track["header_down"].to_numpy()[fixes.index].astype(np.int8)
    near = np.r_[0, np.where(u < 0.5, at, at + 1)]

    def column(name: str) -> Array:
        return track[name].to_numpy(float)[fixes.index][near]

    return Path(
        t_s=np.r_[t[:1], t[at] + u * h],
        x=np.r_[x[:1], px],
        y=np.r_[y[:1], py],
        vx=np.r_[vx[:1], np.where(broken, vx[at + 1], dx)],
        vy=np.r_[vy[:1], np.where(broken, vy[at + 1], dy)],
        series=np.r_[fixes.series[:1], fixes.series[at + 1]],
        piece=np.cumsum(first) - 1,
        first=first,
        guessed=np.r_[False, gap[at] & ~broken],
        down_before=np.r_[flag[:1], np.where(broken, flag[at + 1], flag[at])],
        down_after=np.r_[flag[:1], flag[at + 1]],
        width_m=column("width_m"),
        flow_kg_s=column("flow_kg_s"),
        yield_t_ha=column("yield_t_ha"),
    )


def _logged_pace(derived: Array, logged: Array) -> Array:
    """Factor that gives sparse fixes their logged speed, so that stops between them last as long; 1 if unfit."""
    moving = (derived > 0.5) & (logged > 0.5)
    if moving.sum() < 20 or not 0.9 < np.median(logged[moving] / derived[moving]) < 1.1:
        return np.ones(len(derived))
    pace = np.clip(logged / np.maximum(derived, 0.05), 0.0, 1.5)
    return np.where(np.isfinite(pace), pace, 1.0)


def _cubic(p0: Array, p1: Array, v0: Array, v1: Array, h: Array, u: Array) -> tuple[Array, Array]:
    """Hermite position and velocity at the share u of an interval of h seconds."""
    m0, m1 = v0 * h, v1 * h
    position = p0 + (3 * u**2 - 2 * u**3) * (p1 - p0) + (u**3 - 2 * u**2 + u) * m0 + (u**3 - u**2) * m1
    slope = (6 * u**2 - 6 * u) * (p0 - p1) + (3 * u**2 - 4 * u + 1) * m0 + (3 * u**2 - 2 * u) * m1
    return position, slope / np.maximum(h, 1e-6)


def _velocity(t: Array, p: Array, linked: NDArray[np.bool_]) -> Array:
    """Velocity at each fix from the parabola through it and its neighbours; one-sided at an end."""
    h = np.maximum(np.diff(t), 1e-3)
    v = np.diff(p) / h
    left, right = np.r_[False, linked], np.r_[linked, False]
    v_left, v_right = np.r_[0.0, v], np.r_[v, 0.0]
    h_left, h_right = np.r_[1.0, h], np.r_[h, 1.0]
    both = (v_left * h_right + v_right * h_left) / (h_left + h_right)
    return np.where(left & right, both, np.where(left, v_left, np.where(right, v_right, 0.0)))


def _joined(fixes: Fixes) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which neighbouring fixes belong to one unbroken way, and which of these span a gap."""
    t, x, y = fixes.t_s, fixes.x, fixes.y
    dt = np.maximum(np.diff(t), 1e-3)
    same = np.diff(fixes.series) == 0
    gap = (dt > 2.5 * fixes.step_s) | (np.diff(fixes.tracklet) != 0)
    close = same & ~gap
    vx, vy = _velocity(t, x, close), _velocity(t, y, close)
    cx, cy = np.diff(x) / dt, np.diff(y) / dt
    v0, v1, c = np.hypot(vx[:-1], vy[:-1]), np.hypot(vx[1:], vy[1:]), np.hypot(cx, cy)
    mean_x, mean_y = (vx[:-1] + vx[1:]) / 2, (vy[:-1] + vy[1:]) / 2
    turn = vx[:-1] * vx[1:] + vy[:-1] * vy[1:] > np.cos(np.radians(30)) * v0 * v1
    goes_on = turn & (np.hypot(cx - mean_x, cy - mean_y) < 0.25 * c + 0.1) & (c > 0.3)
    stands = (v0 < 0.3) & (v1 < 0.3) & (c * dt < 3)
    short = (dt <= max(_SHORT_GAP_S, 2.5 * fixes.step_s)) & (c <= 1.3 * np.maximum(v0, v1) + 0.5)
    return same & (~gap | ((dt <= _LONGEST_BRIDGE_S) & (goes_on | stands | short))), same & gap
