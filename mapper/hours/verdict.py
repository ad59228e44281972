"""What is asked and what is answered about the hours: declared bans, verdicts, windows to light in."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Verdict = Literal["go", "caution", "no-go"]
BAN_KINDS = ("total fire ban", "no-burn day", "harvest ban")


@dataclass(frozen=True)
class BanCheck:
    """Whether a ban is declared for the night (total fire ban, no-burn day, harvest ban), asked of a person.

    Not known is not a go. state: "none" no ban of any kind is declared, "declared" a ban holds, "unknown" nobody has
    looked. checked_at: UTC, when somebody looked; by: who. kinds: which bans hold, of BAN_KINDS or in other words.
    """

    state: Literal["none", "declared", "unknown"] = "unknown"
    checked_at: datetime | None = None
    by: str = ""
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class Window:
    """A run of hours in which the limits allow lighting, UTC. verdict is the worst of its hours.

    ends_at is the last moment to light: what is lit then has burnt out before whatever closes the window.
    """

    starts_at: datetime
    ends_at: datetime
    verdict: Literal["go", "caution"]
    why: str = ""
