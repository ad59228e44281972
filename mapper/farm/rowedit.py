"""What a hand did to the rows: kept by the place it was done, so that it outlives a new derivation."""

from dataclasses import dataclass
from typing import Literal

import shapely

from mapper.farm.errors import SettingError

Action = Literal["draw", "move", "split", "delete"]


@dataclass(frozen=True)
class RowEdit:
    """One edit, in the order it was made; lines in metres on the farm's grid, in driving direction.

    draw: `now` is a new row, load_kg_m its straw (None takes the paddock's usual load). move: the row at `was` now lies
    at `now`. split: the row at `was` is cut at the point `at`. delete: the row at `was` is no row. `was` is the row as
    it lay on the screen: a new derivation finds it again by place, never by its number.

    Raises SettingError where a shape is missing, not a line, or under 2 m long.
    """

    action: Action
    paddock: str
    was: shapely.LineString | None = None
    now: shapely.LineString | None = None
    at: shapely.Point | None = None
    load_kg_m: float | None = None

    def __post_init__(self) -> None:
        needs = {"draw": ("now",), "move": ("was", "now"), "split": ("was", "at"), "delete": ("was",)}
        if self.action not in needs:
            raise SettingError(f"{self.action!r} is no edit of a row", f"paddock {self.paddock}")
        for name in needs[self.action]:
            shape = getattr(self, name)
            if shape is None or shape.is_empty or (name != "at" and shape.length < 2):
                raise SettingError("a row edited by hand is shorter than 2 m", f"paddock {self.paddock}", "Draw it on")
        if self.load_kg_m is not None and not 0 < self.load_kg_m <= 50:
            raise SettingError(f"a load of {self.load_kg_m:g} kg/m makes no sense", f"paddock {self.paddock}")

    def as_plain(self) -> dict[str, str | float | None]:
        """Return texts and numbers only, for a file; from_plain makes the edit again."""
        shapes = {k: shapely.to_wkt(getattr(self, k), 3) if getattr(self, k) is not None else None for k in _SHAPES}
        return {"action": self.action, "paddock": self.paddock, **shapes, "load_kg_m": self.load_kg_m}

    @classmethod
    def from_plain(cls, plain: dict[str, str | float | None]) -> "RowEdit":
        """Return the edit that as_plain wrote down."""
        shapes = {k: shapely.from_wkt(plain[k]) if plain.get(k) else None for k in _SHAPES}
        return cls(plain["action"], plain["paddock"], **shapes, load_kg_m=plain.get("load_kg_m"))  # type: ignore[arg-type]


_SHAPES = ("was", "now", "at")
