"""Wind: height, gusts, the spread of its direction, and changes found in the hours."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class WindChange:
    """A change found in the forecast or typed in. at is UTC; directions are where it blows from, grid degrees."""

    at: datetime
    from_deg: float
    to_deg: float
    from_km_h: float
    to_km_h: float
    sigma_min: float = 60.0
