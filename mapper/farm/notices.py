"""Who besides the neighbours is told of a burn, and who was told, when, by whom."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from mapper.farm.errors import SettingError


@dataclass(frozen=True)
class Authority:
    """Somebody who is told of every burn: the fire service, a permit officer, a network operator.

    notice_hours: the notice they ask for; NaN where the local limit notice_authority (or notice_hours) holds.
    """

    who: str
    phone: str = ""
    why: str = "every burn"
    notice_hours: float = float("nan")

    def __post_init__(self) -> None:
        if not self.who:
            raise SettingError("an authority has no name", "authorities", 'Write who = "Fire service"')
        if self.notice_hours < 0 or self.notice_hours > 1000:
            raise SettingError(f"notice {self.notice_hours:g} h is outside 0 to 1000", f"authority {self.who}")


@dataclass(frozen=True)
class Told:
    """A note that somebody was told. key: of the list of who must be told (plan/tell.py). at: UTC. by: who told."""

    key: str
    at: datetime
    by: str

    def as_plain(self) -> dict[str, Any]:
        """Return the note as texts, for a file."""
        return {**asdict(self), "at": self.at.isoformat(timespec="minutes")}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> "Told":
        """Return the note that as_plain wrote."""
        return cls(str(plain["key"]), datetime.fromisoformat(str(plain["at"])), str(plain["by"]))


# Who is told where a farm names nobody.
USUAL_AUTHORITIES = (
    Authority("Fire service"),
    Authority("Local authority or permit officer", why="permit and local code"),
)
