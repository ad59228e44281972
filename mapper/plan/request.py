"""What is asked of a plan: which night, which paddocks, what is known about bans and wind changes."""

from dataclasses import dataclass, field
from datetime import date, datetime

from mapper.hours.verdict import BanCheck
from mapper.order.wishes import Wishes
from mapper.weather.wind import WindChange


@dataclass(frozen=True)
class NightRequest:
    """One night to plan.

    made_at: UTC, the moment the plan is made (the clock is passed in). paddocks: names to burn; empty means all that
    have rows. typed_changes: wind changes given by hand, used besides those found in the forecast. wishes: what the
    person in charge has fixed in the order.
    """

    night: date
    made_at: datetime
    author: str = ""
    number: int = 1
    paddocks: tuple[str, ...] = ()
    ban: BanCheck = field(default_factory=BanCheck)
    typed_changes: tuple[WindChange, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)
