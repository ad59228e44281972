"""What each stage used and made, so that an edit makes only what depends on it work again."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import geopandas as gpd
import pandas as pd

from mapper.farm.farm import Farm
from mapper.farm.limits import LIMIT_KINDS, LocalLimits
from mapper.plan.request import NightRequest

STAGES = ("rows", "hours", "ground", "order", "smoke", "escapes")
# A stage is out of date when one it builds on is.
BUILDS_ON: dict[str, tuple[str, ...]] = {
    "rows": (),
    "hours": (),
    "ground": ("hours",),
    "order": ("rows", "hours", "ground"),
    "smoke": ("order",),
    "escapes": ("hours", "ground", "order"),
}


@dataclass(frozen=True)
class Worked:
    """One stage done: the inputs it was made from and what came out."""

    inputs: tuple[Any, ...]
    output: Any


@dataclass(frozen=True)
class Workings:
    """Stages done so far, by name; rows are kept by paddock under "rows:<paddock>" as well."""

    done: Mapping[str, Worked] = field(default_factory=dict)

    def fresh(self, stage: str, inputs: tuple[Any, ...]) -> bool:
        """Return True where the stage was made from just these inputs."""
        worked = self.done.get(stage)
        return (
            worked is not None
            and len(worked.inputs) == len(inputs)
            and all(_same(a, b) for a, b in zip(worked.inputs, inputs, strict=True))
        )


def _same(a: Any, b: Any) -> bool:
    # Frames are never changed in place, so identity is enough and costs nothing.
    if isinstance(a, pd.DataFrame | gpd.GeoDataFrame | dict) or isinstance(b, pd.DataFrame | gpd.GeoDataFrame | dict):
        return a is b
    return bool(a == b)


def _group(limits: LocalLimits, *groups: str) -> tuple[Any, ...]:
    return tuple(limits.get(k) for k, kind in LIMIT_KINDS.items() if kind.group in groups)


def stage_inputs(stage: str, farm: Farm, request: NightRequest) -> tuple[Any, ...]:
    """Return all that a stage takes from the farm and the request (not from earlier stages)."""
    night = (request.night, request.typed_changes)
    if stage == "rows":
        return (
            farm.paddocks, farm.tracks, farm.harvesters, farm.row_edits, farm.rows_seen, farm.rows_before,
            *_group(farm.limits, "rows"),
        )  # fmt: skip
    if stage == "hours":
        limits = _group(farm.limits, "weather", "hours", "smoke")
        return (
            farm.forecast, issued_at(farm), farm.last_soak, farm.zone, farm.row_burn, farm.limits.days_off,
            farm.limits.dates_off, farm.limits.permit, *limits, tuple(map(str, farm.paddocks["cut_height_m"])),
            *night, request.ban,
            *([] if farm.forecast is None else [_place(farm)]),
        )  # fmt: skip
    if stage == "ground":
        limits = _group(farm.limits, "breaks", "care")
        return (farm.paddocks, farm.assets, farm.neighbours, farm.breaks_there, farm.forecast, *limits, *night)
    if stage == "order":
        return (farm.crews, farm.row_burn, request.paddocks, request.wishes, *_group(farm.limits, "crew", "hours"))
    if stage == "escapes":
        return (farm.heights,)
    return (farm.neighbours, farm.assets, *_group(farm.limits, "smoke", "notice"))


def issued_at(farm: Farm) -> datetime | None:
    """Return when the forecast used was issued, UTC, where somebody says."""
    return None if farm.issue is None else farm.issue.issued_at


def _place(farm: Farm) -> tuple[float, float]:
    """The farm's middle to 100 m: hours do not change when a corner of a paddock moves."""
    if farm.paddocks.empty:
        return (0.0, 0.0)
    x0, y0, x1, y1 = farm.paddocks.total_bounds
    return (round((x0 + x1) / 2, -2), round((y0 + y1) / 2, -2))


def stale_stages(farm: Farm, request: NightRequest, workings: Workings) -> frozenset[str]:
    """Return the stages that an edit has made out of date (or that were never done)."""
    stale: set[str] = set()
    for stage in STAGES:
        if not workings.fresh(stage, stage_inputs(stage, farm, request)) or stale & set(BUILDS_ON[stage]):
            stale.add(stage)
    return frozenset(stale)
