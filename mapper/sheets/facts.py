"""What every side of a burn-order map needs of its paddock, or of all paddocks of the night."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import geopandas as gpd
import shapely

from mapper.draw.scene import Scene
from mapper.draw.words import tr
from mapper.farm.magnetic import Norths, norths
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.mapframe import row_turn_deg
from mapper.sheets.night import lands_of
from mapper.sheets.said import for_the_crew, printed


@dataclass
class Facts:
    """A plan seen from one paddock (None: from all of the night)."""

    plan: BurnPlan
    paddock: str | None
    scene: Scene

    def of(self, layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        """Return what of a plan's layer belongs here."""
        wanted = self.plan.paddocks if self.paddock is None else (self.paddock,)
        return layer[layer["paddock"].isin(wanted)]

    @cached_property
    def land(self) -> Any:
        """The area of the paddock or paddocks, metres."""
        return shapely.union_all(lands_of(self.plan, self.paddock).geometry.to_numpy())

    @cached_property
    def lit_ground(self) -> Any:
        """The ground of the rows that are lit and what lies close to them, metres; the land where none is."""
        lit = self.of(self.plan.pieces)
        lit = lit[lit["order_no"] > 0]
        return shapely.union_all(lit.geometry.buffer(20.0).to_numpy()) if len(lit) else self.land

    @cached_property
    def numbers(self) -> list[int]:
        """The row numbers that are lit, in order."""
        lit = self.of(self.plan.pieces)
        return sorted({int(v) for v in lit.loc[lit["order_no"] > 0, "order_no"]})

    @cached_property
    def ends(self) -> frozenset[int]:
        """The last number of each block."""
        return frozenset(int(v) for v in self.of(self.plan.blocks)["last_no"])

    @cached_property
    def turn_deg(self) -> float:
        """The turn that makes rows stand upright."""
        pieces = self.scene.layer("pieces")
        return row_turn_deg(pieces if pieces is not None else [])

    @cached_property
    def north(self) -> Norths:
        """True and magnetic north in the middle of the land on the night."""
        middle = self.land.representative_point()
        return norths(self.plan.farm.grid, middle.x, middle.y, self.plan.night)

    @cached_property
    def look(self) -> list[str]:
        """What stands against lighting, and what wants eyes, each once."""
        plan, own = self.plan, ("", self.paddock) if self.paddock is not None else ("", *self.plan.paddocks)
        against = [] if plan.go else [f"{tr('NOT A GO')}: {t}" for t in plan.against]
        said = [r.text for r in plan.remarks if r.level != "note" and r.paddock in own]
        known = {a.rstrip(".") for a in plan.against}
        known |= {a.removeprefix(f"{name}: ") for a in known for name in plan.paddocks}
        return [*against, *dict.fromkeys(for_the_crew(t) for t in said if t.rstrip(".") not in known)]

    @cached_property
    def notes(self) -> list[str]:
        """What the plan says for the record, each once."""
        own = ("", self.paddock) if self.paddock is not None else ("", *self.plan.paddocks)
        return list(dict.fromkeys(printed(r.text) for r in self.plan.remarks if r.level == "note" and r.paddock in own))
