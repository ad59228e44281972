"""What of the plan goes on which map."""

from mapper.draw.scene import Scene
from mapper.plan.burnplan import BurnPlan

PLANNED = ("windrows", "edges", "breaks", "pieces", "lighting_points", "blocks", "ways_out")


def burn_scene(plan: BurnPlan, paddock: str | None) -> Scene:
    """Return the scene of a burn-order map: the rows and marks of the paddock (None: of all tonight), all assets."""
    wanted = plan.paddocks if paddock is None else (paddock,)
    layers = {n: getattr(plan, n) for n in PLANNED}
    mine = {n: layer[layer["paddock"].isin(wanted)].reset_index(drop=True) for n, layer in layers.items()}
    return Scene({**mine, "paddocks": plan.farm.paddocks, "assets": plan.farm.assets, "buffers": plan.buffers,
                  "neighbours": plan.farm.neighbours})  # fmt: skip


def night_scene(plan: BurnPlan) -> Scene:
    """Return the scene of the buffer map: every planned paddock's edges, breaks and buffers."""
    layers = {n: getattr(plan, n) for n in ("windrows", "edges", "breaks", "pieces")}
    mine = {n: layer[layer["paddock"].isin(plan.paddocks)].reset_index(drop=True) for n, layer in layers.items()}
    lands = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)].reset_index(drop=True)
    return Scene({**mine, "paddocks": lands, "assets": plan.farm.assets, "buffers": plan.buffers,
                  "neighbours": plan.farm.neighbours})  # fmt: skip


def neighbour_scene(plan: BurnPlan, neighbour: str) -> Scene:
    """Return the scene of a neighbour's notice: the burn's outline, their land, house, roads, smoke. No more."""
    farm = plan.farm
    paddocks = farm.paddocks[farm.paddocks["paddock"].isin(plan.paddocks)].reset_index(drop=True)
    assets = farm.assets
    theirs = (assets["kind"] == "house") & (assets["neighbour"] == neighbour)
    shown = assets[theirs | assets["kind"].isin(["road", "railway"])].reset_index(drop=True)
    land = farm.neighbours[farm.neighbours["neighbour"] == neighbour].reset_index(drop=True)
    return Scene({"paddocks": paddocks, "assets": shown, "neighbours": land, "smoke": plan.smoke})
