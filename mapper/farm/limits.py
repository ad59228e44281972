"""Local limits: what the permit, local code and the people in charge allow, each with its source and date.

Nothing here is law. A limit without a value is not known, and what is not known is never a go.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from mapper.farm.errors import SettingError


@dataclass(frozen=True)
class LimitKind:
    """What a limit means: its label on paper, its unit, the values that make sense."""

    key: str
    label: str
    unit: str
    low: float
    high: float
    group: str


def _kinds(*rows: tuple[str, str, str, float, float, str]) -> dict[str, LimitKind]:
    return {r[0]: LimitKind(*r) for r in rows}


LIMIT_KINDS: dict[str, LimitKind] = _kinds(
    ("wind_max", "Wind, at most", "km/h", 1, 60, "weather"),
    ("wind_min", "Wind, at least", "km/h", 0, 30, "weather"),
    ("gust_max", "Gust, at most", "km/h", 1, 100, "weather"),
    ("index_max", "Fire danger index to light, at most", "", 0.1, 100, "weather"),
    ("index_min", "Fire danger index to light, at least", "", 0, 50, "weather"),
    ("index_stop", "Fire danger index to stop", "", 0.1, 150, "weather"),
    ("temperature_max", "Air temperature, at most", "degC", 0, 50, "weather"),
    ("humidity_min", "Humidity, at least", "%", 0, 100, "weather"),
    ("humidity_max", "Humidity, at most", "%", 1, 100, "weather"),
    ("light_from", "Light no earlier than (local hour)", "h", 0, 24, "hours"),
    ("out_by", "Out by (local hour, 24 is midnight)", "h", 0, 48, "hours"),
    ("change_margin", "Spare time before a wind change", "min", 0, 600, "hours"),
    ("burnout_margin", "Spare time after rows are burnt out", "min", 0, 600, "hours"),
    ("soaking_rain", "Rain that soaks a row", "mm", 0.2, 100, "hours"),
    ("dry_days", "Days to dry after soaking rain", "d", 0, 60, "hours"),
    ("break_edge", "Break along a paddock's edge", "m", 0, 60, "breaks"),
    ("break_building", "Bare ring round a building", "m", 0, 60, "breaks"),
    ("break_haystack", "Bare ring round a haystack", "m", 0, 60, "breaks"),
    ("break_pole", "Bare ring round a power pole", "m", 0, 30, "breaks"),
    ("break_tree", "Bare ring round a tree", "m", 0, 60, "breaks"),
    ("break_crop", "Break beside standing crop", "m", 0, 60, "breaks"),
    ("breach_chance", "Chance of fire crossing a break, accepted", "", 0.0001, 0.5, "breaks"),
    ("beyond_fuel", "Grass beyond the farm", "t/ha", 0.1, 20, "breaks"),
    ("beyond_curing", "Curing beyond the farm", "%", 0, 100, "breaks"),
    ("response_time", "Time to reach an escape", "min", 1, 240, "breaks"),
    ("blade_width", "Ground bared by one pass of the blade", "m", 0.5, 20, "breaks"),
    ("grade_speed", "Speed of the blade", "km/h", 0.5, 20, "breaks"),
    ("care_house", "Care distance, house", "m", 0, 5000, "care"),
    ("care_shed", "Care distance, shed", "m", 0, 5000, "care"),
    ("care_haystack", "Care distance, haystack", "m", 0, 5000, "care"),
    ("care_power_line", "Care distance, power line", "m", 0, 500, "care"),
    ("care_road", "Care distance, public road", "m", 0, 5000, "care"),
    ("care_railway", "Care distance, railway", "m", 0, 5000, "care"),
    ("care_trees", "Care distance, trees", "m", 0, 1000, "care"),
    ("care_vineyard", "Care distance, vineyard", "m", 0, 20000, "care"),
    ("care_crop", "Care distance, standing crop", "m", 0, 5000, "care"),
    ("care_reserve", "Care distance, reserve", "m", 0, 20000, "care"),
    ("care_town", "Care distance, town", "m", 0, 30000, "care"),
    ("people_min", "People at the burn, at least", "", 1, 50, "crew"),
    ("units_min", "Fire units, at least", "", 0, 20, "crew"),
    ("water_min", "Water on the units, at least", "L", 0, 100000, "crew"),
    ("rows_alight_max", "Rows alight at once, at most", "", 1, 1000, "crew"),
    ("patrol_min", "Patrol after the last row is out, at least", "min", 0, 4320, "crew"),
    ("notice_hours", "Tell neighbours before lighting", "h", 0, 1000, "notice"),
    ("notice_days", "Tell neighbours before lighting, working days", "d", 0, 60, "notice"),
    ("notice_authority", "Tell fire service and authorities before lighting", "h", 0, 1000, "notice"),
    ("notice_holds", "Notice holds for, at most", "d", 1, 366, "notice"),
    ("tell_distance", "Tell neighbours within (0: only where land adjoins)", "m", 0, 20000, "notice"),
    ("smoke_pm25", "Smoke at a house or road, at most (1 h)", "ug/m3", 1, 1000, "smoke"),
    ("visibility_min", "Visibility on a road, at least", "m", 10, 20000, "smoke"),
    ("row_spacing", "Distance between the crop's sown rows", "m", 0.05, 1.5, "rows"),
    ("row_load_min", "Load in the row, at least", "t/ha", 1, 100, "rows"),
    ("row_load_max", "Load in the row, heavy above", "t/ha", 1, 200, "rows"),
    ("ground_cover_min", "Ground cover left, at least", "%", 0, 100, "rows"),
)

# Danger indices that a limit may mean; the keys are what a limits file writes in `index`.
INDICES: dict[str, str] = {
    "gfdi_mk4": "Grassland fire danger index, Mark 4 (Purton 1982)",
    "gfdi_mk3": "Grassland fire danger index, Mark 3/4 (Noble et al. 1980)",
    "gfdi_mk5": "Grassland fire danger index, Mark 5 (Noble et al. 1980)",
    "fbi": "Fire behaviour index for grass (2022)",
}


@dataclass(frozen=True)
class Limit:
    """One local limit.

    value in the kind's unit. Wind limits say at which height and over how long the wind is averaged; index
    limits say which index. starting is True where it is the program's starting value and nobody has set it yet.
    """

    key: str
    value: float
    source: str
    date: str
    height_m: float = 10.0
    averaging_min: float = 10.0
    index: str = ""
    starting: bool = False

    def __post_init__(self) -> None:
        kind = LIMIT_KINDS.get(self.key)
        if kind is None:
            raise SettingError(f"no local limit is called {self.key!r}", todo="See resources/limits.toml for the names")
        if not kind.low <= self.value <= kind.high:
            raise SettingError(
                f"{self.value:g} {kind.unit} is outside {kind.low:g} to {kind.high:g}".replace("  ", " "),
                f"limit {self.key}",
                "Correct the value",
            )
        if not 0.5 <= self.height_m <= 50:
            raise SettingError(f"wind height {self.height_m:g} m is outside 0.5 to 50", f"limit {self.key}")
        if self.key.startswith("index_") and self.index not in INDICES:
            raise SettingError(
                f"the limit does not say which index it means ({self.index!r})",
                f"limit {self.key}",
                f"Write index = one of {', '.join(INDICES)}",
            )
        if not self.source:
            raise SettingError("the limit has no source", f"limit {self.key}", "Write who set it and where it stands")

    @property
    def kind(self) -> LimitKind:
        """The kind this limit is of."""
        return LIMIT_KINDS[self.key]

    @property
    def unit(self) -> str:
        """The unit of value."""
        return self.kind.unit


@dataclass(frozen=True)
class Permit:
    """Whether a permit is held to burn here. state "held" or "not needed"; first and last: days on which it holds, None
    for no end; source: who gave it, or says that none is needed."""

    state: Literal["held", "not needed"]
    source: str
    number: str = ""
    first: date | None = None
    last: date | None = None

    def __post_init__(self) -> None:
        if self.state not in ("held", "not needed"):
            raise SettingError(f"a permit is held or not needed, not {self.state!r}", "permit")
        if not self.source:
            raise SettingError("the permit has no source", "permit", "Write who gave it, or who says none is needed")
        if self.first is not None and self.last is not None and self.first > self.last:
            raise SettingError("the permit ends before it begins", "permit", "Correct its days")


@dataclass(frozen=True)
class LocalLimits:
    """All local limits of a farm, by key. days_off are weekdays (0 Monday) on which nothing is lit, dates_off single
    days (holidays). permit: None where nobody has said whether one is held or needed."""

    limits: Mapping[str, Limit] = field(default_factory=dict)
    days_off: tuple[int, ...] = ()
    dates_off: tuple[date, ...] = ()
    permit: Permit | None = None

    def get(self, key: str) -> Limit | None:
        """Return the limit, or None where it is not known. Raises KeyError for a name that is no limit."""
        if key not in LIMIT_KINDS:
            raise KeyError(key)
        return self.limits.get(key)

    def value(self, key: str, otherwise: float = float("nan")) -> float:
        """Return the limit's value, or `otherwise` where it is not known."""
        found = self.get(key)
        return otherwise if found is None else found.value

    def with_limit(self, limit: Limit) -> "LocalLimits":
        """Return a copy in which one limit is set."""
        return replace(self, limits={**self.limits, limit.key: limit})
