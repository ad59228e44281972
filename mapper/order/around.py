"""What ways out are judged by: the night's winds, and the ground in and round a paddock."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from mapper.order.danger import Spread
from mapper.order.wayground import WayGround, safe_ground, way_ground
from mapper.order.winds import SteadyWind
from mapper.weather.wind import WindChange, direction_spread


@dataclass(frozen=True)
class Around:
    """Layers and winds of a night; break_m: width of break that counts as safe ground."""

    assets: gpd.GeoDataFrame
    breaks: gpd.GeoDataFrame
    edges: gpd.GeoDataFrame
    buffers: gpd.GeoDataFrame
    hours: pd.DataFrame
    winds: Sequence[SteadyWind]
    changes: Sequence[WindChange]
    break_m: float
    _sigmas: dict[datetime, float] = field(default_factory=dict)

    def ground(self, name: str, paddock: BaseGeometry) -> WayGround:
        """Return the cells of a paddock."""
        breaks, edges = (layer[layer["paddock"] == name] for layer in (self.breaks, self.edges))
        safe = safe_ground(paddock, self.assets, breaks, edges, self.break_m)
        return way_ground(paddock, safe, self.assets, self.buffers)

    def spread(self, at: datetime) -> Spread:
        """Return the wind of a moment: its steady direction, and the sigma (to ten minutes) of the likelier part of its
        distribution."""
        wind = next(w for w in self.winds if w.ends_at > at or w is self.winds[-1])
        tens = at.replace(minute=at.minute // 10 * 10, second=0, microsecond=0)
        if tens not in self._sigmas:
            found = direction_spread(self.hours, tens, self.changes)
            self._sigmas[tens] = float(found.sigmas_deg[found.weights.argmax()])
        return Spread(wind.to_deg, self._sigmas[tens])

    def next_change(self, at: datetime) -> WindChange | None:
        """Return the next wind change after a moment."""
        return next((c for c in self.changes if c.at > at), None)
