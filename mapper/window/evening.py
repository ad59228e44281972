"""The evening that the strip shows: hours, windows, changes and the sun, as last judged."""

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from mapper.farm.farm import Farm
    from mapper.hours.verdict import Window
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.workings import Workings
    from mapper.weather.wind import WindChange


COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


@dataclass(frozen=True)
class Block:
    """A block on the hours; times in UTC."""

    paddock: str
    block: str
    starts_at: datetime
    ends_at: datetime
    crew: str


@dataclass(frozen=True)
class Evening:
    """One evening. hours: the night's table of hours/judge.py; times in UTC, shown in zone."""

    night: date
    zone: str
    hours: "pd.DataFrame"
    windows: "tuple[Window, ...]"
    changes: "tuple[WindChange, ...]"
    sunset: datetime | None
    index_column: str
    blocks: tuple[Block, ...] = ()
    spare_min: float = float("nan")
    margin_min: float = float("nan")

    def at(self, when: datetime) -> Any:
        """Return the row of hours that holds at a time (the last that has begun)."""
        times = self.hours["time_utc"]
        begun = self.hours[times <= when]
        return (begun if len(begun) else self.hours).iloc[-1 if len(begun) else 0]

    def change_after(self, when: datetime) -> "WindChange | None":
        """Return the next wind change after a time."""
        return next((c for c in self.changes if c.at > when), None)


def _index_column(farm: "Farm") -> str:
    limit = farm.limits.get("index_max")
    return limit.index if limit is not None else "gfdi_mk4"


def evening_of(plan: "BurnPlan | None", workings: "Workings | None", farm: "Farm", night: date) -> Evening | None:
    """Return the evening to show: hours as last judged, with the blocks of the last order; None without a forecast."""
    import pandas as pd

    worked = None if workings is None else workings.done.get("hours")
    if worked is None or not len(worked.output[1]):
        return None
    _, hours, changes, windows, sun = worked.output[:5]
    if hours["time_utc"].iloc[0].tz_convert(farm.zone).date() != night:
        # Another night has been taken in hand and is not judged yet.
        return None
    if plan is not None and plan.night == night:
        # The plan's own hours know the smoke of its order.
        hours = plan.hours if len(plan.hours) == len(hours) else hours
    rows = [] if plan is None or plan.night != night else plan.blocks.itertuples()
    blocks = tuple(Block(b.paddock, b.block, b.starts_at, b.ends_at, b.crew) for b in rows if not pd.isna(b.starts_at))
    spare = float("nan")
    if blocks:
        end = max(b.ends_at for b in blocks)
        after = [c.at for c in changes if c.at > min(b.starts_at for b in blocks)]
        spare = (min(after) - end).total_seconds() / 60 if after else float("nan")
    return Evening(
        night, farm.zone, hours.reset_index(drop=True), windows, changes, None if sun is None else sun.sunset,
        _index_column(farm), blocks, spare, farm.limits.value("change_margin"),
    )  # fmt: skip


def middle(farm: "Farm") -> tuple[float, float]:
    """Return longitude, latitude of the paddocks' middle."""
    x0, y0, x1, y1 = farm.paddocks.total_bounds
    lon, lat = farm.grid.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2)
    return float(lon), float(lat)


def compass(deg: float) -> str:
    """Return the sixteen-wind name of a bearing: 315 is "NW"."""
    if math.isnan(deg):
        return ""
    return COMPASS[round(deg / 22.5) % 16]
