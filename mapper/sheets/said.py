"""Figures, times and sentences as paper says them: units as printed, no powers of ten, times a crew can read."""

import math
import re

from mapper.draw.words import tr
from mapper.farm.limits import Limit
from mapper.plan.burnplan import BurnPlan
from mapper.plan.tell import when_told
from mapper.sheets.night import when

_UNITS = {"degC": "°C", "ug/m3": "µg/m³"}
# A crew needs "thick smoke"; how many micrograms that is stands in the plan book.
_SMOKE_FIGURES = re.compile(r" \([^()]*ug/m3\)")
_HOURS = ("light_from", "out_by")


def printed(words: str) -> str:
    """Return a sentence with its units as they are printed."""
    for unit, sign in _UNITS.items():
        words = words.replace(unit, sign)
    return words


def for_the_crew(words: str) -> str:
    """Return a sentence without the figures that help nobody on the paddock."""
    return printed(_SMOKE_FIGURES.sub("", words))


def figure_words(value: float, unit: str = "") -> str:
    """Return "1,750 kW/m", "0.00033", "not known": three digits, never a power of ten."""
    if math.isnan(value):
        return tr("not known")
    digits = 2 - math.floor(math.log10(abs(value))) if value else 0
    rounded = round(value, digits)
    said = f"{rounded:,.0f}" if digits <= 0 else f"{rounded:,.{min(digits, 6)}f}".rstrip("0").rstrip(".")
    if value and float(said.replace(",", "")) == 0.0:
        said = tr("under 0.000001")
    return f"{said} {printed(unit)}".strip()


def hour_words(hour: float) -> str:
    """Return "17:00" for a limit's local hour 17; hours past 24 are of the next day."""
    said = f"{int(hour) % 24:02d}:{round(hour % 1 * 60):02d}"
    return said + (tr(" next day") if hour > 24 else "")


def limit_words(limit: Limit) -> str:
    """Return a limit's value with its unit; hours of the day as the clock shows them, wind with its height."""
    if limit.key in _HOURS:
        return hour_words(limit.value)
    if limit.unit == "d":
        return tr("{days:g} days").format(days=limit.value)
    at = ""
    if limit.key.startswith(("wind", "gust")):
        at = tr(", {minutes:g} min at {height:g} m").format(minutes=limit.averaging_min, height=limit.height_m)
    return f"{limit.value:,g} {printed(limit.unit)}".strip() + at


def told_words(plan: BurnPlan, told_at: str) -> str:
    """Return when somebody was told, in local time; a note that is no time as it was written."""
    at = when_told(told_at, plan.farm.zone)
    return told_at if at is None else when(plan, at)


def metres_words(metres: float) -> str:
    """Return "840 m", "57.5 km"."""
    return f"{metres / 1000:.1f} km" if metres >= 1000 else f"{metres:.0f} m"
