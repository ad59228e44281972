"""Who must be told before lighting, why, by when, and who has been."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely.geometry.base import BaseGeometry

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.errors import SettingError
from mapper.farm.farm import Farm
from mapper.farm.notices import USUAL_AUTHORITIES, Told
from mapper.plan.adjoin import how_it_adjoins

TELL_COLUMNS = (
    "key", "who", "neighbour", "role", "phone", "why", "distance_m", "blocks", "by", "told_at", "told_by", "state",
)  # fmt: skip
TOLD, NOT_TOLD, LATE, OLD, WHEN = "told", "not told", "told too late", "told too long ago", "told, when is not known"
NOBODY, NOBODY_NAME = "neighbour:?", "Whoever adjoins"
# Notice holds so long where no limit says. Western Australia r.15B asks not more than 28 days before (from memory).
HOLDS_D = 28.0


@dataclass(frozen=True)
class _Notice:
    """First lighting, when the plan is made, and the notice periods of the local limits."""

    farm: Farm
    starts_at: datetime | None
    now: datetime | None

    def by(self, hours: float, working_days: float = 0.0) -> Any:
        """Latest time to tell, NaT where nothing is lit or no period is known."""
        if self.starts_at is None or np.isnan(hours):
            return pd.NaT
        start = pd.Timestamp(self.starts_at)
        return min(start - timedelta(hours=hours), _working_days_before(start, working_days, self.farm.zone))

    def state(self, told_at: str, by: Any) -> tuple[str, datetime | None]:
        """Whether somebody is told in time, and when they were told where that is known."""
        if not told_at:
            return NOT_TOLD, None
        at = when_told(told_at, self.farm.zone)
        if at is None:
            return WHEN, None
        if self.now is not None and at > self.now:
            return NOT_TOLD, at
        if not pd.isna(by) and at > by:
            return LATE, at
        holds = timedelta(days=self.farm.limits.value("notice_holds", HOLDS_D))
        reference = self.starts_at or self.now
        return (OLD if reference is not None and reference - at > holds else TOLD), at


def who_to_tell(
    farm: Farm, burnt: BaseGeometry, smoke: gpd.GeoDataFrame, starts_at: datetime | None, now: datetime | None = None
) -> pd.DataFrame:
    """Return the table of people to tell.

    Parameters
    ----------
    burnt : area of the paddocks planned, farm metres.
    smoke : layer "smoke" of the plan.
    starts_at : first lighting, UTC, or None where nothing is lit. now : UTC; a note of a later time does not count.

    Returns
    -------
    DataFrame with columns key (for note_told), who, neighbour (id or ""), role ("authority", "neighbour", or what kind
    of place), phone, why, distance_m (NaN for authorities), blocks (whether the local limits ask for it before
    lighting), by (UTC, NaT where the notice period is not known), told_at, told_by, state (one of TOLD, NOT_TOLD, LATE,
    OLD, WHEN). Where no neighbour is on the map, one line asks who adjoins. Ways of telling are local rules.
    """
    notice, limits = _Notice(farm, starts_at, now), farm.limits
    noted = {t.key: t for t in farm.told}
    hours, days = limits.value("notice_hours"), limits.value("notice_days", 0.0)
    rows: list[dict[str, Any]] = []

    def add(key: str, who: str, role: str, why: str, by: Any, blocks: bool = True, **more: Any) -> None:
        told = noted.get(key)
        told_at = told.at.isoformat(timespec="minutes") if told else str(more.pop("told_at", "") or "")
        told_by = told.by if told else str(more.pop("told_by", "") or "")
        state, _ = notice.state(told_at, by)
        said = {"key": key, "who": who, "role": role, "why": why, "blocks": blocks, "by": by}
        notes = {"told_at": told_at, "told_by": told_by, "state": state}
        rows.append({"neighbour": "", "phone": "", "distance_m": np.nan, **more, **said, **notes})

    asked = limits.value("notice_authority", hours)
    for a in farm.authorities or USUAL_AUTHORITIES:
        by = notice.by(asked if np.isnan(a.notice_hours) else a.notice_hours)
        add(f"authority:{a.who}", a.who, "authority", a.why, by, phone=a.phone)
    smoky = smoke.union_all() if len(smoke) else None
    by = notice.by(hours, days)
    for n in farm.neighbours.itertuples():
        why = _why_neighbour(farm, n, burnt, smoky)
        if why:
            key, away = str(n.neighbour), float(n.geometry.distance(burnt))
            known = {"neighbour": key, "phone": n.phone, "told_at": n.told_at, "told_by": n.told_by}
            add(f"neighbour:{key}", str(n.name), "neighbour", ", ".join(why), by, distance_m=away, **known)
    if farm.neighbours.empty and not burnt.is_empty:
        add(NOBODY, NOBODY_NAME, "neighbour", "no neighbour is on the map: ask whose land adjoins", by)
    for asset in farm.assets.itertuples():
        place = _why_place(farm, asset, burnt, smoky)
        if place is not None:
            why_text, near = place
            role, away = ASSET_KINDS[str(asset.kind)].label.lower(), float(asset.geometry.distance(burnt))
            add(f"asset:{asset.asset}", _called(asset), role, why_text, by, near, distance_m=away)
    return pd.DataFrame(rows, columns=list(TELL_COLUMNS)).drop_duplicates(["who", "role"], ignore_index=True)


def _called(asset: Any) -> str:
    """Whom to tell of a place: of a road or railway, who manages it."""
    name = str(asset.name or ASSET_KINDS[str(asset.kind)].label)
    return f"Manager of {name}" if asset.kind in ("road", "railway") else name


def _why_neighbour(farm: Farm, neighbour: Any, burnt: BaseGeometry, smoky: BaseGeometry | None) -> list[str]:
    why = []
    adjoins = how_it_adjoins(neighbour.geometry, burnt, farm.assets)
    away = float(neighbour.geometry.distance(burnt))
    if adjoins:
        why.append(adjoins)
    elif away <= farm.limits.value("tell_distance", 0.0):
        why.append(f"land {away:,.0f} m away")
    owned = farm.assets[(farm.assets["neighbour"] == neighbour.neighbour) & (farm.assets["kind"] == "house")]
    if smoky is not None and neighbour.geometry.intersects(smoky):
        why.append("smoke may drift there")
    elif smoky is not None and len(owned) and owned.intersects(smoky).any():
        why.append("smoke may reach the house")
    return why


def _why_place(farm: Farm, asset: Any, burnt: BaseGeometry, smoky: BaseGeometry | None) -> tuple[str, bool] | None:
    """Why somebody is told of a place that no neighbour owns, and whether a local limit asks for it."""
    kind = ASSET_KINDS.get(str(asset.kind))
    if kind is None or not kind.tell or asset.neighbour:
        return None
    care = farm.limits.value(kind.care_limit) if kind.care_limit else float("nan")
    # False where the distance is not known. A house of nobody known may be the farm's own.
    near = bool(asset.geometry.distance(burnt) <= care)
    if not near and (smoky is None or not asset.geometry.intersects(smoky)):
        return None
    return "within its care distance" if near else "smoke may drift there", near and kind.kind != "house"


def _working_days_before(start: pd.Timestamp, days: float, zone: str) -> pd.Timestamp:
    """The same hour so many working days (Monday to Friday; holidays are not known) before."""
    local = start.tz_convert(zone)
    day = np.busday_offset(local.date(), -int(np.ceil(days)), roll="backward") if days > 0 else local.date()
    wall = pd.Timestamp(day) + (local.tz_localize(None) - local.tz_localize(None).normalize())
    return wall.tz_localize(zone, ambiguous=True, nonexistent="shift_backward").tz_convert("UTC")


def when_told(told_at: str, zone: str) -> datetime | None:
    """Return the moment a note says, UTC (its own zone, else the farm's); None where it says none."""
    try:
        at = datetime.fromisoformat(told_at.strip())
    except ValueError:
        return None
    return (at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(zone))).astimezone(UTC)


def not_told(tell: pd.DataFrame, zone: str) -> tuple[str, ...]:
    """Return one sentence for each way in which people whom the limits want told are not; empty where all are."""
    asked = tell[tell["blocks"].astype(bool)]
    said = []
    for authority, words in ((False, "Not yet told"), (True, "Authorities not yet told")):
        names = asked[(asked["state"] == NOT_TOLD) & ((asked["role"] == "authority") == authority)]["who"]
        if len(names):
            said.append(f"{words}: {', '.join(names)}.")
    for person in asked[asked["state"] == LATE].itertuples():
        told, latest = _clock(person.told_at, zone), _clock(person.by, zone)
        said.append(f"{person.who} was told {told}, later than the notice asked for ({latest}).")
    for state, words in ((OLD, "Told too long ago, tell again"), (WHEN, "Told, but when is not known")):
        names = asked[asked["state"] == state]["who"]
        if len(names):
            said.append(f"{words}: {', '.join(names)}.")
    return tuple(said)


def _clock(at: Any, zone: str) -> str:
    moment: Any = when_told(at, zone) if isinstance(at, str) else at
    local = pd.Timestamp(moment).tz_convert(zone)
    return f"{local.day} {local:%b %H:%M}"


def note_told(farm: Farm, key: str, at: datetime | None, by: str, now: datetime) -> Farm:
    """Return the farm with somebody of the list noted as told at a time (UTC) by somebody; None takes the note away.

    key: of who_to_tell. A neighbour's note is kept with the neighbour, all others in Farm.told. Raises SettingError
    where nobody is named, the time has not come yet, or there is no such neighbour.
    """
    if at is not None and not by:
        raise SettingError("nobody is named who told them", key, "Type who told them")
    if at is not None and at > now:
        raise SettingError("the time has not come yet", key, "Type when they were told")
    kind, _, name = key.partition(":")
    if kind != "neighbour" or key == NOBODY:
        others = tuple(t for t in farm.told if t.key != key)
        return farm.with_(told=others if at is None else (*others, Told(key, at.astimezone(UTC), by)))
    mine = farm.neighbours["neighbour"] == name
    if not mine.any():
        raise SettingError("no such neighbour is on the farm", key, "Bring in neighbours")
    neighbours = farm.neighbours.copy()
    neighbours.loc[mine, "told_at"] = "" if at is None else at.isoformat(timespec="minutes")
    neighbours.loc[mine, "told_by"] = "" if at is None else by
    return farm.with_(neighbours=neighbours)


def keys_by_name(farm: Farm) -> dict[str, str]:
    """Return the key of everybody who can be noted as told, by name in lower case."""
    places = farm.assets[[k in ASSET_KINDS and ASSET_KINDS[k].tell for k in farm.assets["kind"]]]
    return {
        **{_called(p).casefold(): f"asset:{p.asset}" for p in places.itertuples()},
        **{str(n.name).casefold(): f"neighbour:{n.neighbour}" for n in farm.neighbours.itertuples()},
        **{a.who.casefold(): f"authority:{a.who}" for a in farm.authorities or USUAL_AUTHORITIES},
        NOBODY_NAME.casefold(): NOBODY,
    }
