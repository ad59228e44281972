"""A season as a spreadsheet: its nights, every stretch of row and what became of it, cover left, what burnt twice."""

from collections.abc import Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd

from mapper.files.atomic import written_whole
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.record.season import Season
from mapper.record.states import STATES

_ROW_COLUMNS = ("paddock", "block", "order_no", "row_id", "from_m", "to_m", "state", "why", "at", "by")


def write_season(season: Season, records: Sequence[NightRecord], path: Path) -> None:
    """Write a season as an Office Open XML workbook (ISO/IEC 29500), whole or not at all."""
    with written_whole(path) as half, pd.ExcelWriter(half, engine="openpyxl") as book:
        season.nights.to_excel(book, sheet_name="nights", index=False)
        rows = [_rows(record) for record in records]
        table = pd.concat(rows, ignore_index=True) if rows else pd.DataFrame(columns=["night", *_ROW_COLUMNS])
        table.to_excel(book, sheet_name="rows", index=False)
        season.cover.to_excel(book, sheet_name="cover", index=False)
        twice = pd.DataFrame(season.twice.drop(columns="geometry"))
        twice[[*_ROW_COLUMNS[:4], "length_m"]].to_excel(book, sheet_name="burnt twice", index=False)


def _rows(record: NightRecord) -> pd.DataFrame:
    parts = pd.DataFrame(row_parts(record).drop(columns="geometry"))[list(_ROW_COLUMNS)]
    # Spreadsheets know no time zones: the farm's clock, as it was read on the night.
    parts["at"] = parts["at"].dt.tz_convert(ZoneInfo(record.zone)).dt.tz_localize(None)
    parts["state"] = parts["state"].map(lambda s: STATES.get(s, "Not written down"))
    parts.insert(0, "night", record.night)
    return parts.round({"from_m": 1, "to_m": 1})
