"""Reasons gathered hour by hour; the worst of them is the verdict."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.hours.verdict import Verdict

# From best to worst.
ORDER: tuple[Verdict, ...] = ("go", "caution", "no-go")


class Reasons:
    """Reasons for n hours. A reason of level "go" is a remark: it is said and changes nothing."""

    def __init__(self, n: int) -> None:
        self._worst = np.zeros(n, dtype=int)
        self._said: list[list[tuple[int, str]]] = [[] for _ in range(n)]

    def add(self, where: Any, level: Verdict, sentence: str | Callable[[int], str]) -> None:
        """Give the hours where `where` holds (shape (n,) or one bool) a reason; sentence may depend on the hour."""
        for i in np.flatnonzero(np.broadcast_to(where, self._worst.shape)):
            self._worst[i] = max(self._worst[i], ORDER.index(level))
            self._said[i].append((ORDER.index(level), sentence if isinstance(sentence, str) else sentence(int(i))))

    def verdicts(self) -> NDArray[np.object_]:
        """Return the verdict of each hour."""
        return np.array(ORDER, dtype=object)[self._worst]

    def why(self) -> list[str]:
        """Return all reasons of each hour, the worst first, remarks last, parted by semicolons."""
        ranked = [sorted(said, key=lambda s: -s[0]) for said in self._said]
        return ["; ".join(dict.fromkeys(sentence for _, sentence in said)) for said in ranked]

    @staticmethod
    def worst_of(parts: "list[Reasons]") -> "Reasons":
        """Return the hours' reasons together: the worst verdict and every reason; remarks only where all is well."""
        whole = Reasons(len(parts[0]._said))
        for part in parts:
            whole._worst = np.maximum(whole._worst, part._worst)
            for mine, theirs in zip(whole._said, part._said, strict=True):
                mine.extend(theirs)
        for i in np.flatnonzero(whole._worst):
            whole._said[i] = [s for s in whole._said[i] if s[0] > 0]
        return whole


def figure(value: float, limit: float, digits: int = 0) -> str:
    """Return a value as text, with as many decimals (up to 3) as it takes to tell it from its limit."""
    for places in range(digits, 3):
        if round(value, places) != round(limit, places):
            return f"{value:.{places}f}"
    return f"{value:.3f}"


def over(value: Array, limit: float) -> NDArray[np.bool_]:
    """Return where a value is over its limit; unknown is not over."""
    return np.asarray(value > limit + 1e-9)
