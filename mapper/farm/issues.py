"""One issue of a forecast: its hours, where they came from, and when they were issued."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import pandas as pd


@dataclass(frozen=True, eq=False)
class ForecastIssue:
    """A forecast as it came. Two issues are the same only where they are the same object.

    source: file name, or "typed in". table: of weather/forecast.py. issued_at: UTC, when it was made; None where the
    file does not say (then its error is counted from its first hour). read_at: UTC, when it was brought in.
    unsaid: what the file leaves open that must be said before a go, in a sentence; "" where nothing.
    """

    source: str
    table: pd.DataFrame
    issued_at: datetime | None = None
    read_at: datetime | None = None
    unsaid: str = ""

    def words(self, zone: str) -> str:
        """Return the issue in words for paper: "north.json, issued 17 Apr 18:00"."""
        if self.issued_at is not None:
            return f"{self.source}, issued {self.issued_at.astimezone(ZoneInfo(zone)):%d %b %H:%M}"
        if self.read_at is not None:
            return f"{self.source}, read {self.read_at.astimezone(ZoneInfo(zone)):%d %b %H:%M}, issue time not known"
        return f"{self.source}, issue time not known"
