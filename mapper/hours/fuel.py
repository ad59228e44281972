"""What stands between the rows, as far as the hours need it."""

from dataclasses import dataclass
from datetime import datetime

from mapper.farm.ranged import possible
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
