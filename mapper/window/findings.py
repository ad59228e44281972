"""What the stages worked out so far have found: layers and warnings, before there is a whole plan."""

from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import geopandas as gpd

    from mapper.farm.farm import Farm
    from mapper.farm.notes import Remark
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.workings import Workings

FROM_ORDER = ("pieces", "lighting_points", "blocks", "ways_out")
FROM_GROUND = ("edges", "breaks", "buffers")
LAYERS = ("windrows", "heaps", *FROM_GROUND, *FROM_ORDER, "smoke")


def worked_layer(workings: "Workings | None", farm: "Farm | None", name: str) -> "gpd.GeoDataFrame | None":
    """Return a layer from the workings, or None where its stage was never done."""
    if workings is None or farm is None:
        return None
    done = workings.done
    if name in {"windrows", "heaps"} and "rows" in done:
        return done["rows"].output[0 if name == "windrows" else 1]
    if name in FROM_GROUND and "ground" in done:
        return _ground(done["ground"], farm)[0][name]
    if name in FROM_ORDER and "order" in done:
        return getattr(done["order"].output, name)
    if name == "smoke" and "smoke" in done:
        return done["smoke"].output[0]
    return None


class _ByIdentity:
    """A key that compares by identity: frames cannot be hashed."""

    def __init__(self, held: Any, farm: "Farm") -> None:
        self.held, self.farm = held, farm

    def __hash__(self) -> int:
        return id(self.held)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ByIdentity) and other.held is self.held


def _ground(worked: Any, farm: "Farm") -> Any:
    return _stacked(_ByIdentity(worked, farm))


@lru_cache(maxsize=2)
def _stacked(key: _ByIdentity) -> Any:
    from mapper.plan.job import guarded
    from mapper.plan.workings import Workings

    return guarded(key.farm, Workings({"ground": key.held}))


def worked_remarks(workings: "Workings | None", farm: "Farm | None", plan: "BurnPlan | None") -> "tuple[Remark, ...]":
    """Return the plan's warnings; those of single stages where they were worked out after it or without it."""
    if workings is None or farm is None:
        return ()
    done = workings.done
    fresh: list[Remark] = []
    if "rows" in done:
        fresh += done["rows"].output[2]
    if "ground" in done:
        fresh += _ground(done["ground"], farm)[1]
    if plan is None:
        return tuple(fresh)
    return (*(r for r in plan.remarks if r.step not in {"rows", "breaks"}),
            *(r for r in fresh if r.step in {"rows", "breaks"}))  # fmt: skip
