"""What stands on and round a farm, as plain arrays: edges ask it piece by piece."""

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Names = NDArray[np.object_]


@dataclass(frozen=True)
class Things:
    """Assets or land: kind, name and shape of each, all (n,)."""

    kind: Names
    name: Names
    shape: NDArray[Any]

    def of(self, *kinds: str) -> "Things":
        """Return those of some kinds."""
        return self._some(np.isin(self.kind.astype(str), kinds))

    def areas(self) -> "Things":
        """Return those drawn as areas."""
        return self._some(shapely.get_dimensions(self.shape) == 2)

    def lines(self) -> "Things":
        """Return those drawn as lines."""
        return self._some(shapely.get_dimensions(self.shape) == 1)

    def _some(self, which: NDArray[np.bool_]) -> "Things":
        return Things(self.kind[which], self.name[which], self.shape[which])

    def __len__(self) -> int:
        return len(self.kind)


def things(layer: gpd.GeoDataFrame, near: BaseGeometry, within_m: float, kind: str = "") -> Things:
    """Return what of a layer lies within a distance of something. kind: for layers that have no column of that name."""
    shape = layer.geometry.to_numpy()
    close = shapely.dwithin(shape, near, within_m) if len(shape) else np.zeros(0, dtype=bool)
    name = layer["name" if "name" in layer else "paddock"].to_numpy(dtype=object)[close]
    kinds = layer["kind"].to_numpy(dtype=object)[close] if "kind" in layer else np.full(len(name), kind, dtype=object)
    return Things(kinds, name, shape[close])
