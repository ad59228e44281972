"""What a plan says about itself: warnings to look at, and figures with their origin."""

from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

Step = Literal["paddock", "rows", "breaks", "evening", "order", "sheets"]
Level = Literal["note", "look", "stop"]


@dataclass(frozen=True)
class Remark:
    """One thing to look at.

    level "stop" keeps the plan from being a go; "look" wants eyes; "note" is for the record.
    where is a geometry in the farm's metric CRS that a map can go to, or None.
    """

    step: Step
    level: Level
    text: str
    paddock: str = ""
    where: BaseGeometry | None = None


@dataclass(frozen=True)
class Figure:
    """A number on the plan and where it came from.

    value in unit; source names the equation or document; inputs says what went in; outside is True
    when the equation was used past its range (value then clamped to the safe side).
    """

    name: str
    value: float
    unit: str
    source: str
    inputs: str = ""
    outside: bool = False
