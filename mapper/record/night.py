"""The record of one night: the plan's rows as they were when it was opened, and the entries since."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.errors import SettingError
from mapper.farm.limits import LocalLimits
from mapper.plan.burnplan import BurnPlan
from mapper.record.asked import ESCAPE_FIELDS, Field, asked_by
from mapper.record.entry import Entry, in_turn

# What of the plan's hours a record keeps, to hold readings against.
HOUR_COLUMNS = ("time_utc", "temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg")

_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")


@dataclass(frozen=True)
class NightRecord:
    """One night as it went. A new plan never changes it: it keeps its own copy of the rows.

    pieces: layer "pieces" of the plan, lines turned so that they run from the end where lighting began. land: layer
    "paddocks". hours: the forecast of the plan, HOUR_COLUMNS. window_end: last moment to light, UTC, or None.
    people: all crews together. spread_m_min, burnout_min: the plan's figures of a burning row.
    escape_fields: what is asked for of an escape.
    """

    farm: str
    zone: str
    night: date
    plan_number: int
    author: str
    invented: bool
    pieces: gpd.GeoDataFrame
    land: gpd.GeoDataFrame
    limits: LocalLimits
    hours: pd.DataFrame
    window_end: datetime | None
    people: int
    row_width_m: float
    spread_m_min: float
    burnout_min: float
    point_gap_m: float
    escape_fields: tuple[Field, ...] = ESCAPE_FIELDS
    entries: tuple[Entry, ...] = ()

    def with_entries(self, entries: Iterable[Entry]) -> "NightRecord":
        """Return the record with more entries. Raises SettingError where a name is taken by a different entry."""
        held = {e.entry_id: e for e in self.entries}
        for entry in entries:
            if held.get(entry.entry_id, entry) != entry:
                raise SettingError(
                    f"entry {entry.entry_id} stands already, with other words", "record", "Correct it by a new entry"
                )
            held[entry.entry_id] = entry
        return replace(self, entries=in_turn(held.values()))

    def check(self, entries: Iterable[Entry]) -> None:
        """Raise SettingError where an entry of rows names one that is not in the plan, or a part beyond a row's end."""
        numbered = self.pieces[self.pieces["order_no"] > 0]
        lengths = dict(zip(numbered["order_no"], numbered.geometry.length, strict=True))
        for entry in (e for e in entries if e.kind == "rows"):
            begins = float(entry.body.get("from_m") or 0.0)
            for number in entry.body["numbers"]:
                if number not in lengths:
                    raise SettingError(f"there is no row {number}", "record", "Take a number of the plan")
                if begins >= lengths[number]:
                    what = f"row {number} is {lengths[number]:.0f} m long, and the part begins at {begins:.0f} m"
                    raise SettingError(what, "record", "Count the metres from the end that was lit first")

    @property
    def numbers(self) -> tuple[int, ...]:
        """The row numbers of the plan, in lighting order."""
        return tuple(sorted(int(n) for n in self.pieces["order_no"] if n > 0))

    @property
    def blocks(self) -> dict[str, tuple[int, ...]]:
        """Block letter to its row numbers; letter and paddock where blocks of several paddocks have one letter."""
        numbered = self.pieces[(self.pieces["order_no"] > 0) & (self.pieces["block"] != "")]
        several = numbered.groupby("block")["paddock"].nunique() > 1
        return {
            f"{b} {p}" if several[b] else str(b): tuple(sorted(map(int, g["order_no"])))
            for (b, p), g in numbered.groupby(["block", "paddock"])
        }

    def moment(self, hour: int, minute: int) -> datetime:
        """Return a clock time of the night, local noon to noon, in UTC: 23:40 is that evening, 01:10 the day after."""
        day = self.night if hour >= 12 else self.night + timedelta(days=1)
        return datetime.combine(day, time(hour, minute), ZoneInfo(self.zone)).astimezone(UTC)

    def moment_of(self, text: str) -> datetime | None:
        """Return a clock time as people type it, "20:41" or "20.41", as moment() does; None where it is none."""
        found = _CLOCK.fullmatch(text)
        return None if found is None else self.moment(int(found[1]), int(found[2]))

    @property
    def closed(self) -> bool:
        """Whether somebody has closed the burn."""
        return any(e.kind == "close" for e in self.entries)


def open_record(plan: BurnPlan) -> NightRecord:
    """Return the empty record of a planned night. Raises SettingError where the plan has no rows."""
    if not (plan.pieces["order_no"] > 0).any():
        raise SettingError("the plan lights no rows, so there is nothing to record", "record", "Work out the order")
    farm = plan.farm
    planned = farm.paddocks[farm.paddocks["paddock"].isin(plan.paddocks)].reset_index(drop=True)
    widths = [h.row_width_m for h in farm.harvesters]
    return NightRecord(
        farm=farm.name,
        zone=farm.zone,
        night=plan.night,
        plan_number=plan.number,
        author=plan.author,
        invented=farm.invented,
        pieces=_as_lit(plan.pieces[plan.pieces["paddock"].isin(plan.paddocks)], plan.lighting_points),
        land=planned,
        limits=farm.limits,
        hours=plan.hours.loc[:, list(HOUR_COLUMNS)].reset_index(drop=True),
        window_end=max((w.ends_at for w in plan.windows), default=None),
        people=sum(c.people for c in farm.crews),
        row_width_m=max(widths, default=0.6),
        spread_m_min=farm.row_burn.spread_m_min,
        burnout_min=farm.row_burn.burnout_min,
        point_gap_m=farm.row_burn.point_gap_m,
        escape_fields=asked_by(farm.wording.get("escape_asks")),
    )


def _as_lit(pieces: gpd.GeoDataFrame, points: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Turn each piece's line so that it begins where the crew begins: metres along it are metres as driven."""
    turned = pieces.reset_index(drop=True).copy()
    first = points.sort_values(["order_no", "lit_at"], kind="stable").drop_duplicates("piece_id")
    begins = first.set_index("piece_id").geometry.reindex(turned["piece_id"]).to_numpy()
    lines = turned.geometry.to_numpy()
    at = shapely.line_locate_point(lines, begins)
    backwards = np.nan_to_num(at, nan=0.0) > shapely.length(lines) / 2
    return turned.set_geometry(gpd.GeoSeries(np.where(backwards, shapely.reverse(lines), lines), crs=pieces.crs))
