"""Weeds counted in the next crop, burnt rows against rows that were not: did it work, and how sure."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper.farm.errors import SettingError
from mapper.record.entry import standing
from mapper.record.night import NightRecord

COUNT_COLUMNS = ("entry_id", "at", "by", "burnt", "plants", "area_m2", "row", "species")


@dataclass(frozen=True)
class Worked:
    """Kill as a share: best estimate and 95 % interval, from how many counts and plants, and a sentence.

    kill may be below 0: more plants stood on the burnt ground. spread is the counts' variance over what chance alone
    would give; above 1 the interval is widened by it.
    """

    kill: float
    low: float
    high: float
    burnt_plants: int
    other_plants: int
    spread: float
    text: str


def counts_table(record: NightRecord) -> pd.DataFrame:
    """Return the standing counts of a record, COUNT_COLUMNS."""
    rows = [
        {"entry_id": e.entry_id, "at": e.happened, "by": e.by, "burnt": bool(e.body["burnt"]),
         "plants": int(e.body["plants"]), "area_m2": float(e.body["area_m2"]), "row": e.body.get("row"),
         "species": str(e.body.get("species", ""))}
        for e in standing(record.entries) if e.kind == "count"
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(COUNT_COLUMNS))


def did_it_work(
    burnt_plants: list[int], burnt_m2: list[float], other_plants: list[int], other_m2: list[float]
) -> Worked:
    """Return the kill and its 95 % interval from counts on burnt rows and on rows that did not burn.

    Each count: plants on an area. One minus the ratio of two rates; interval exact and conditional on the total
    (Clopper & Pearson 1934 on the binomial share; Przyborowski & Wilenski 1940), then widened by the square root of
    the counts' own spread where that exceeds chance (quasi-likelihood: McCullagh & Nelder 1989; from memory).
    Raises SettingError where either side has no counts or an area is not positive.
    """
    x, a = np.asarray(burnt_plants), np.asarray(burnt_m2, dtype=float)
    y, b = np.asarray(other_plants), np.asarray(other_m2, dtype=float)
    if not len(x) or not len(y):
        raise SettingError("counts are wanted on burnt rows and on rows that did not burn", "weed counts")
    if (np.concatenate([a, b]) <= 0).any() or (np.concatenate([x, y]) < 0).any():
        raise SettingError("a count has no area, or fewer than no plants", "weed counts", "Correct it")
    plants, others = int(x.sum()), int(y.sum())
    if others == 0:
        why = "No plants stood on the rows that did not burn, so nothing can be said. Count more of them."
        return Worked(float("nan"), float("nan"), float("nan"), plants, 0, 1.0, why)
    spread = max(1.0, _dispersion((x, a), (y, b)))
    ratio = (plants / a.sum()) / (others / b.sum())
    low, high = (1.0 - r for r in reversed(_ratio_interval(plants, a.sum(), others, b.sum(), spread)))
    kill = 1.0 - ratio
    return Worked(kill, low, high, plants, others, spread, _say(kill, low, high, plants, others))


def worked_words(counts: pd.DataFrame) -> str:
    """Return the sentence on a table of counts (COUNT_COLUMNS), "" where one of the two sides was not counted."""
    if counts.empty or counts["burnt"].nunique() < 2:
        return ""
    yes, no = counts[counts["burnt"].astype(bool)], counts[~counts["burnt"].astype(bool)]
    return did_it_work(*(list(c) for c in (yes["plants"], yes["area_m2"], no["plants"], no["area_m2"]))).text


def _ratio_interval(x: int, a: float, y: int, b: float, spread: float) -> tuple[float, float]:
    """95 % interval of (x/a)/(y/b). A spread above 1 counts the plants as that many fewer independent ones."""
    from scipy.stats import beta

    x_free, y_free = x / spread, y / spread
    total = x_free + y_free
    low = 0.0 if x == 0 else float(beta.ppf(0.025, x_free, total - x_free + 1))
    high = 1.0 if y == 0 else float(beta.ppf(0.975, x_free + 1, total - x_free))
    odds = [share / (1.0 - share) if share < 1 else float("inf") for share in (low, high)]
    return odds[0] * b / a, odds[1] * b / a


def _dispersion(*groups: tuple[np.ndarray, np.ndarray]) -> float:
    """Pearson's chi-square over its degrees of freedom, each group about its own rate; 1 with nothing to go by."""
    chi, free = 0.0, 0
    for counts, areas in groups:
        expected = areas * counts.sum() / areas.sum()
        if counts.sum():
            chi += float(((counts - expected) ** 2 / expected).sum())
            free += len(counts) - 1
    return chi / free if free > 0 else 1.0


def _say(kill: float, low: float, high: float, burnt: int, other: int) -> str:
    counted = f"{burnt} plants on burnt rows, {other} on rows that did not burn"
    between = f"between {100 * low:.0f} and {100 * high:.0f} % fewer"
    if low > 0:
        return f"Burning left {100 * kill:.0f} % fewer plants, {between} (95 % sure; {counted})."
    if high < 0:
        return f"More plants stood on the burnt rows: burning did not work here ({counted})."
    return f"Too few counts to say that burning worked: {between} (95 % sure; {counted}). Count more."
