"""What the stages worked out so far have found: layers and warnings, before there is a whole plan.

The shape of each stage's output is that of plan/job.py.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import geopandas as gpd

    from mapper.farm.notes import Remark
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.workings import Workings

FROM_ORDER = ("pieces", "lighting_points", "blocks", "ways_out")
LAYERS = ("windrows", "heaps", "edges", "breaks", "buffers", *FROM_ORDER, "smoke", "arrival")


def worked_layer(workings: "Workings | None", name: str) -> "gpd.GeoDataFrame | None":
    """Return a layer from the workings, or None where its stage was never done."""
    done = {} if workings is None else workings.done
    if name in {"windrows", "heaps"} and "rows" in done:
        return done["rows"].output[0 if name == "windrows" else 1]
    if name in {"edges", "breaks", "buffers"} and "ground" in done:
        guard, buffers = done["ground"].output
        return buffers if name == "buffers" else getattr(guard, name)
    if name in FROM_ORDER and "order" in done:
        return getattr(done["order"].output, name)
    if name == "smoke" and "smoke" in done:
        return done["smoke"].output[0]
    if name == "arrival" and "escapes" in done:
        return done["escapes"].output.lines
    return None


def worked_remarks(workings: "Workings | None", plan: "BurnPlan | None") -> "tuple[Remark, ...]":
    """Return the plan's warnings; those of rows and breaks as last worked out, be it after the plan or without it."""
    done = {} if workings is None else workings.done
    fresh: list[Remark] = []
    if "rows" in done:
        fresh += done["rows"].output[2]
    if "ground" in done:
        fresh += done["ground"].output[0].remarks
    if plan is None:
        return tuple(fresh)
    known = {(r.step, r.text) for r in fresh}
    kept = [r for r in plan.remarks if (r.step, r.text) not in known]
    # A plan's own checks of rows (cover left) are not made by the rows' stage: they stay while the plan does.
    return (*fresh, *kept)
