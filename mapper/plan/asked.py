"""What people have said of one night: kept with the project, and made a request when the plan is worked out."""

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from mapper.hours.verdict import BanCheck
from mapper.order.wishes import Earlier, FixedStart, LostCrew, Wishes
from mapper.plan.request import NightRequest
from mapper.weather.wind import WindChange


@dataclass(frozen=True)
class Asked:
    """A night's request without the moment it is made at; fields as in NightRequest."""

    night: date
    paddocks: tuple[str, ...] = ()
    ban: BanCheck = field(default_factory=BanCheck)
    typed_changes: tuple[WindChange, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)

    def request(self, made_at: datetime, author: str = "", number: int = 1) -> NightRequest:
        """Return the request for a plan made now (UTC)."""
        return NightRequest(
            self.night, made_at, author, number, self.paddocks, self.ban, self.typed_changes, self.wishes
        )

    def with_(self, **changes: Any) -> "Asked":
        """Return a copy with some fields changed."""
        return replace(self, **changes)

    def as_plain(self) -> dict[str, Any]:
        """Return texts, numbers and lists only, for a file; from_plain makes it again."""
        return {
            "night": self.night.isoformat(),
            "paddocks": list(self.paddocks),
            "ban": _plain(self.ban),
            "typed_changes": [_plain(c) for c in self.typed_changes],
            "earlier": [_plain(e) for e in self.wishes.earlier],
            "unlit_rows": list(self.wishes.unlit_rows),
            "starts": [_plain(s) for s in self.wishes.starts],
            "lost_crews": [_plain(c) for c in self.wishes.lost_crews],
        }

    @classmethod
    def from_plain(cls, plain: dict[str, Any]) -> "Asked":
        """Return what as_plain wrote down."""
        ban = plain["ban"]
        wishes = Wishes(
            tuple(Earlier(tuple(e["pieces"]), tuple(e["before"])) for e in plain["earlier"]),
            tuple(plain["unlit_rows"]),
            tuple(FixedStart(tuple(s["pieces"]), datetime.fromisoformat(s["at"])) for s in plain["starts"]),
            tuple(LostCrew(c["crew"], _moment(c["at"])) for c in plain["lost_crews"]),
        )
        return cls(
            date.fromisoformat(plain["night"]),
            tuple(plain["paddocks"]),
            BanCheck(ban["state"], _moment(ban["checked_at"]), ban["by"], tuple(ban.get("kinds", ()))),
            tuple(WindChange(**{**c, "at": datetime.fromisoformat(c["at"])}) for c in plain["typed_changes"]),
            wishes,
        )


def _plain(value: Any) -> dict[str, Any]:
    return {k: v.isoformat() if isinstance(v, datetime) else v for k, v in vars(value).items()}


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
