"""A probe's trace as a text file: a reading a line, degC last, seconds or times before it where there are any."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError


class Trace(NamedTuple):
    """Degrees C, None where the logger has a gap; seconds between readings, NaN where the file does not say."""

    temp_c: tuple[float | None, ...]
    step_s: float


def read_trace(path: Path) -> Trace:
    """Read a trace: fields parted by comma, semicolon or tab, decimals with point (or comma, where semicolons part).

    Raises FileError where no degrees are in it, or its readings do not come evenly.
    """
    try:
        lines = [line for line in path.read_text(encoding="utf-8-sig", errors="replace").splitlines() if line.strip()]
    except OSError as exc:
        raise FileError(f"it cannot be read ({exc.strerror})", str(path), "Check the name and the folder") from exc
    part = next((mark for mark in (";", "\t") if any(mark in line for line in lines)), ",")
    fields = [[f.strip() for f in line.split(part)] for line in lines]
    degrees = _numbers([f[-1] for f in fields], part)
    known = np.flatnonzero(np.isfinite(degrees))
    if not known.size:
        raise FileError("there are no degrees in it", str(path), "Give one number a line, degC last")
    # Heads before the first number are no readings.
    fields, degrees = fields[known[0] :], degrees[known[0] :]
    return Trace(tuple(float(v) if np.isfinite(v) else None for v in degrees), _step(fields, part, path))


def _numbers(texts: list[str], part: str) -> np.ndarray:
    pointed = [t.replace(",", ".") if part != "," else t for t in texts]
    return np.asarray(pd.to_numeric(pd.Series(pointed, dtype=str), errors="coerce"), dtype=float)


def _step(fields: list[list[str]], part: str, path: Path) -> float:
    """Seconds between readings by the first column, NaN where it holds neither seconds nor times."""
    firsts = [f[0] if len(f) > 1 else "" for f in fields]
    seconds = _numbers(firsts, part)
    if not np.isfinite(seconds).all():
        times = pd.to_datetime(pd.Series(firsts), errors="coerce", format="mixed", utc=True)
        if times.isna().any():
            return float("nan")
        seconds = (times - times.iloc[0]).dt.total_seconds().to_numpy()
    steps = np.diff(seconds)
    if not len(steps):
        return float("nan")
    step = float(np.median(steps))
    if step <= 0 or np.abs(steps - step).max() > 0.5 * step:
        raise FileError("its readings do not come evenly", str(path), "Export them at one interval, without gaps")
    return step
