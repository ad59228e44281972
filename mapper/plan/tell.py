"""Who must be told before lighting, why, and by when."""

from datetime import datetime, timedelta
from typing import Any

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.farm import Farm

TELL_COLUMNS = ("who", "neighbour", "role", "phone", "why", "by", "told_at")
# Land across a lane, road or waterway counts as adjoining (NSW Rural Fires Regulation 2022 s.34); a wide rural road
# reserve is 60 m (common practice, no source).
ACROSS_ROAD_M = 60.0


def who_to_tell(farm: Farm, burnt: BaseGeometry, smoke: gpd.GeoDataFrame, starts_at: datetime | None) -> pd.DataFrame:
    """Return the table of people to tell.

    Parameters
    ----------
    burnt : area of the paddocks planned, farm metres.
    smoke : layer "smoke" of the plan.
    starts_at : first lighting, UTC, or None where nothing is lit.

    Returns
    -------
    DataFrame with columns who, neighbour (id or ""), role, phone, why, by (UTC, NaT where the notice period is not
    known), told_at. Ways of telling and periods are local rules; the limit notice_hours is used where it is set.
    """
    hours = farm.limits.value("notice_hours")
    by = pd.NaT if starts_at is None or pd.isna(hours) else pd.Timestamp(starts_at) - timedelta(hours=float(hours))
    rows: list[dict[str, Any]] = []

    def add(who: str, role: str, why: str, neighbour: str = "", phone: str = "", told_at: str = "") -> None:
        rows.append({"who": who, "neighbour": neighbour, "role": role, "phone": phone, "why": why, "by": by,
                     "told_at": told_at})  # fmt: skip

    add("Fire service", "authority", "every burn", phone="")
    add("Local authority or permit officer", "authority", "permit and local code")
    smoky = smoke.union_all() if len(smoke) else None
    for n in farm.neighbours.itertuples():
        why = []
        if n.geometry.distance(burnt) <= ACROSS_ROAD_M:
            why.append("land adjoins the burn")
        if smoky is not None and n.geometry.intersects(smoky):
            why.append("smoke may drift there")
        houses = farm.assets[(farm.assets["neighbour"] == n.neighbour) & (farm.assets["kind"] == "house")]
        if smoky is not None and len(houses) and houses.intersects(smoky).any() and "smoke may drift there" not in why:
            why.append("smoke may reach the house")
        if why:
            add(n.name, "neighbour", ", ".join(why), n.neighbour, n.phone, n.told_at)
    for asset in farm.assets.itertuples():
        kind = ASSET_KINDS.get(asset.kind)
        if kind is None or not kind.tell or asset.kind == "house" or asset.neighbour:
            continue
        care = farm.limits.value(kind.care_limit) if kind.care_limit else float("nan")
        near = asset.geometry.distance(burnt) <= care  # False where the distance is not known
        in_smoke = smoky is not None and asset.geometry.intersects(smoky)
        if near or in_smoke:
            add(
                asset.name or kind.label,
                kind.label.lower(),
                "smoke may drift there" if in_smoke else "within its care distance",
            )
    return pd.DataFrame(rows, columns=list(TELL_COLUMNS)).drop_duplicates(["who", "role"], ignore_index=True)
