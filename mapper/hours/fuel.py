"""What stands between the rows, as far as the hours need it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array, Ranged, possible
from mapper.fire.index import index_value
from mapper.fire.spread import State


@dataclass(frozen=True)
class Fuel:
    """The stubble and when it was last soaked.

    curing_pct, fuel_t_ha: for the danger indices (100 % and 4.5 t/ha as the trade's tables). state: what the stubble
    counts as in the spread model. last_soak: UTC, the last soaking rain before the forecast begins, where known.
    """

    curing_pct: float = 100.0
    fuel_t_ha: float = 4.5
    state: State = "grazed"
    last_soak: datetime | None = None

    def __post_init__(self) -> None:
        possible("curing", self.curing_pct, 0, 100)
        possible("fuel", self.fuel_t_ha, 0.01, 50)


class Fuels:
    """The fuel of one paddock, or of many judged at once: figures of shape () or (paddocks, 1) that meet the hours'."""

    def __init__(self, fuels: Fuel | Sequence[Fuel]) -> None:
        self.many = not isinstance(fuels, Fuel)
        self._all: tuple[Fuel, ...] = (fuels,) if isinstance(fuels, Fuel) else tuple(fuels)

    def shape(self, hours: int) -> tuple[int, ...]:
        """Return the shape of what is judged."""
        return (len(self._all), hours) if self.many else (hours,)

    def index(self, index: str, hours: pd.DataFrame, wind_km_h: Array) -> Ranged:
        """Return a danger index of each paddock and hour, as fire.index.index_value."""
        air = hours["temp_c"].to_numpy(), hours["rh_pct"].to_numpy(), wind_km_h
        if not self.many:
            fuel = self._all[0]
            return index_value(index, *air, fuel.curing_pct, fuel.fuel_t_ha, fuel.state)
        # Most paddocks share their fuel: each different one is worked out once.
        different: dict[tuple[float, float, str], int] = {}
        which = [different.setdefault((f.curing_pct, f.fuel_t_ha, f.state), len(different)) for f in self._all]
        found = [index_value(index, *air, curing, load, state) for curing, load, state in different]  # type: ignore[arg-type]
        value, outside = (np.stack([np.asarray(part) for part in parts])[which] for parts in zip(*found, strict=True))
        return Ranged(value, outside)

    def since_soak_s(self, at_s: Array) -> Array:
        """Return seconds from the last soaking that somebody knows of before the forecast to each hour; inf unknown."""
        known = [np.inf if f.last_soak is None else f.last_soak.timestamp() for f in self._all]
        column = np.array(known)[:, None] if self.many else np.array(known[0])
        gone = at_s - np.where(np.isfinite(column), column, 0.0)
        return np.where(np.isfinite(column) & (gone >= 0), gone, np.inf)

    def soak_known(self) -> NDArray[np.bool_]:
        """Return whether somebody knows when the rows were soaked before the forecast begins; () or (paddocks, 1)."""
        known = np.array([f.last_soak is not None for f in self._all])
        return np.asarray(known[:, None] if self.many else known[0])
