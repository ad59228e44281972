"""What the person in charge has fixed in a night's order, and how the rest is mended around it.

A wind change is moved by typing it in (`NightRequest.typed_changes`): a typed one takes the place of a found one within
three hours of it, so `replace(change, at=...)` is the whole of it.
"""

from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True)
class Earlier:
    """A block dragged: `pieces` are lit before `before`. Both are piece_id or row_id of the plan on the screen."""

    pieces: tuple[str, ...]
    before: tuple[str, ...]


@dataclass(frozen=True)
class FixedStart:
    """None of these pieces (piece_id or row_id) is lit before `at`, UTC."""

    pieces: tuple[str, ...]
    at: datetime


@dataclass(frozen=True)
class LostCrew:
    """A crew (its name) that lights nothing more from `at` on, UTC; None: all night."""

    crew: str
    at: datetime | None = None


@dataclass(frozen=True)
class Wishes:
    """All that is fixed; without any the order is the program's own. unlit_rows: row_id of rows never lit tonight.

    What precedence by wind forbids is not done: the order says so in a remark. Names that the order does not know (any
    more) are passed over and named in a remark.
    """

    earlier: tuple[Earlier, ...] = field(default=())
    unlit_rows: tuple[str, ...] = ()
    starts: tuple[FixedStart, ...] = field(default=())
    lost_crews: tuple[LostCrew, ...] = field(default=())
