"""Reasons gathered hour by hour; the worst of them is the verdict, the nearest limit is the margin."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.hours.verdict import Verdict

# From best to worst.
ORDER: tuple[Verdict, ...] = ("go", "caution", "no-go")
Sentence = str | Callable[[int], str]


class _Rule(NamedTuple):
    where: NDArray[np.bool_]
    level: int
    sentence: Sentence


class _Margin(NamedTuple):
    share: Array
    words: Callable[[int], str]


class Reasons:
    """Reasons for hours, shape (n,), or for paddocks and hours, shape (paddocks, n): then only verdicts can be asked.

    A reason of level "go" is a remark: it is said and changes nothing. Sentences are made when they are asked for.
    """

    def __init__(self, *shape: int) -> None:
        self.shape = shape
        self._rules: list[_Rule] = []
        self._margins: list[_Margin] = []

    def add(self, where: Any, level: Verdict, sentence: Sentence) -> None:
        """Give the hours where `where` holds (broadcast to the shape) a reason; sentence may depend on the hour."""
        held = np.broadcast_to(np.asarray(where, dtype=bool), self.shape)
        if held.any():
            self._rules.append(_Rule(held, ORDER.index(level), sentence))

    def margin(self, share: Any, words: Callable[[int], str]) -> None:
        """Say how far a limit is, as a share of it (0 at the limit, NaN not known), and in words for an hour."""
        self._margins.append(_Margin(np.broadcast_to(np.asarray(share, dtype=float), self.shape), words))

    def ranks(self) -> NDArray[np.int8]:
        """Return each hour's place in ORDER."""
        worst = np.zeros(self.shape, dtype=np.int8)
        for rule in self._rules:
            if rule.level:
                np.maximum(worst, np.where(rule.where, np.int8(rule.level), np.int8(0)), out=worst)
        return worst

    def verdicts(self) -> NDArray[np.object_]:
        """Return the verdict of each hour."""
        return np.array(ORDER, dtype=object)[self.ranks()]

    def _said(self, i: int) -> list[str]:
        here = sorted((r for r in self._rules if r.where[i]), key=lambda r: -r.level)
        kept = [r for r in here if r.level > 0 or here[0].level == 0]
        return list(dict.fromkeys(r.sentence if isinstance(r.sentence, str) else r.sentence(i) for r in kept))

    def why(self) -> list[str]:
        """Return all reasons of each hour, the worst first, parted by semicolons; remarks only where all is well."""
        return ["; ".join(self._said(i)) for i in range(self.shape[-1])]

    def nearest(self) -> list[str]:
        """Return of each hour the limit that is nearest and still holds, in words; "" where none is known."""
        if not self._margins:
            return [""] * self.shape[-1]
        shares = np.array([m.share for m in self._margins])
        held = np.where(shares >= 0, shares, np.inf)
        first = held.argmin(axis=0)
        return [self._margins[k].words(i) if np.isfinite(held[k, i]) else "" for i, k in enumerate(first)]

    def sentences(self) -> list[str]:
        """Return one sentence for each hour: its verdict, the worst reason, else the nearest limit."""
        out = []
        for verdict, nearest, i in zip(self.verdicts(), self.nearest(), range(self.shape[-1]), strict=True):
            said = self._said(i)
            if verdict != "go":
                more = f" (and {len(said) - 1} more)" if len(said) > 1 else ""
                out.append(f"{verdict.capitalize()}: {said[0]}{more}.")
            else:
                out.append(f"Go: every limit holds{f', the nearest is {nearest}' if nearest else ''}.")
        return out

    @staticmethod
    def worst_of(parts: "list[Reasons]") -> "Reasons":
        """Return the hours' reasons together: the worst verdict and every reason."""
        whole = Reasons(*parts[0].shape)
        for part in parts:
            whole._rules.extend(part._rules)
            whole._margins.extend(part._margins)
        return whole


def figure(value: float, limit: float, digits: int = 0) -> str:
    """Return a value as text, with as many decimals (up to 3) as it takes to tell it from its limit."""
    for places in range(digits, 3):
        if round(value, places) != round(limit, places):
            return f"{value:.{places}f}"
    return f"{value:.3f}"


def apart(value: float, limit: float, unit: str = "") -> str:
    """Return how far a value is from its limit: "2 km/h", "0.3"."""
    off = abs(value - limit)
    text = f"{off:.0f}" if off >= 1.5 and unit else f"{off:.1f}" if off >= 0.05 else f"{off:.2g}"
    return f"{text} {unit}".rstrip()


def over(value: Array, limit: float) -> NDArray[np.bool_]:
    """Return where a value is over its limit; unknown is not over."""
    return np.asarray(value > limit + 1e-9)
