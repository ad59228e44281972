"""The one function that runs the job: farm and night in, plan out."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

import geopandas as gpd
import pandas as pd

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew, Farm
from mapper.farm.layers import make_layer, stack_layers
from mapper.farm.notes import Figure, Remark
from mapper.ground.buffers import care_buffers
from mapper.ground.guard import Guard, guard_paddock
from mapper.ground.nightwinds import night_winds
from mapper.ground.raking import raking, raking_words
from mapper.hours.evening import night_hours, windows
from mapper.hours.judge import judge_hours, no_hours
from mapper.hours.verdict import Window
from mapper.order.burn import burn_order
from mapper.order.wishes import Wishes
from mapper.plan.burnplan import BurnPlan
from mapper.plan.check import check_cover, check_crew, check_found, check_heat, check_overlap, stop_winds
from mapper.plan.escapes import worst_escapes
from mapper.plan.nightweather import fuel_of, night_weather, weather_words
from mapper.plan.request import NightRequest
from mapper.plan.rows import rows_of_farm
from mapper.plan.smoke import smoke_of_order
from mapper.plan.tell import not_told, who_to_tell
from mapper.plan.verdict import against_lighting
from mapper.plan.workings import STAGES, Worked, Workings, issued_at, stage_inputs, stale_stages
from mapper.plan.worth import bridging, heavy_rows, lighting_note, worth
from mapper.weather.sun import sun_times
from mapper.weather.windchange import find_changes, joined_changes

EDGE_OPEN = "a break is missing or too narrow"
NOT_ASKED = "not asked for tonight"
# Share of the solver's full effort, by trying: a paddock in under a second.
_MENDED_EFFORT = 0.25

Progress = Callable[[str, int, int], None]
Cancelled = Callable[[], bool]


def run(
    farm: Farm,
    request: NightRequest,
    workings: Workings | None = None,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> tuple[BurnPlan, Workings]:
    """Plan one night.

    Parameters
    ----------
    farm : the farm; request : the night asked for.
    workings : what an earlier run left; stages whose inputs have not changed are taken from it.
    progress : called with (stage, done, total). cancelled : asked between and inside stages.

    Returns
    -------
    The plan, and the workings to pass to the next run. Raises Stopped when cancelled, MapperError on bad input; the
    farm and the workings passed in are never changed.
    """
    workings = work(farm, request, workings, STAGES, progress, cancelled)
    return _gather(farm, request, workings), workings


def work(
    farm: Farm,
    request: NightRequest,
    workings: Workings | None = None,
    stages: tuple[str, ...] = STAGES,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> Workings:
    """Work out some stages (in the order of the job) and return the workings; parameters as for run."""
    workings = workings or Workings()
    stale = stale_stages(farm, request, workings)
    done = dict(workings.done)
    tell_progress = progress or (lambda stage, n, total: None)
    asked = cancelled or (lambda: False)
    for stage in stages:
        if asked():
            raise Stopped
        tell_progress(stage, 0, 1)
        if stage in stale:
            step = _STAGE[stage]

            def within(n: int, total: int, stage: str = stage) -> None:
                tell_progress(stage, n, total)

            output = step(farm, request, done, within, asked)
            done[stage] = Worked(stage_inputs(stage, farm, request), output)
        tell_progress(stage, 1, 1)
    return Workings(done)


Done = dict[str, Worked]
Within = Callable[[int, int], None]


def _rows(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    return rows_of_farm(farm, done, progress, cancelled)


def _hours(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    if farm.paddocks.empty:
        return no_hours(farm.zone), no_hours(farm.zone), (), (), None
    lon, lat = _lonlat(farm)
    sun = sun_times(lon, lat, request.night, farm.zone)
    if farm.forecast is None or farm.forecast.empty:
        return no_hours(farm.zone), no_hours(farm.zone), request.typed_changes, (), sun
    changes = joined_changes(find_changes(farm.forecast), request.typed_changes)
    judged = judge_hours(
        farm.forecast, lon, lat, farm.zone, farm.limits, request.ban, fuel_of(farm), changes,
        farm.row_burn.burnout_min, issued_at(farm),
    )  # fmt: skip
    night = night_hours(judged, request.night, farm.zone)
    if len(night):
        first, last = night["time_utc"].iloc[0], night["time_utc"].iloc[-1]
        changes = tuple(c for c in changes if first <= c.at <= last)
    open_ = windows(night, changes, farm.limits, farm.row_burn.burnout_min)
    return judged, night, changes, open_, sun


def _ground(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    _, night, changes, open_, _ = done["hours"].output
    guards: list[Guard] = []
    winds = night_winds(night, changes, issued_at(farm))
    for k, (_, paddock) in enumerate(farm.paddocks.iterrows()):
        if cancelled():
            raise Stopped
        progress(k, len(farm.paddocks))
        guards.append(
            guard_paddock(
                paddock,
                night,
                changes,
                open_,
                farm.breaks_there,
                farm.assets,
                farm.neighbours,
                farm.limits,
                farm.grid.crs,
                farm.paddocks,
                winds,
            )
        )
    return Guard(
        stack_layers("edges", [g.edges for g in guards], farm.grid.crs),
        stack_layers("breaks", [g.breaks for g in guards], farm.grid.crs),
        tuple(r for g in guards for r in g.remarks),
        tuple(f for g in guards for f in g.figures),
        tuple(h for g in guards for h in g.hours),
    ), care_buffers(farm.assets, farm.limits, farm.grid.crs)


def _order(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    windrows, _, _, _ = done["rows"].output
    _, night, changes, open_, _ = done["hours"].output
    guard, buffers = done["ground"].output
    for name in request.paddocks:
        farm.paddock(name)
    harvested = set(windrows["paddock"])
    stopped = {r.paddock for r in guard.remarks if r.level == "stop"}
    # Left to itself the plan takes no paddock with an open edge; where all are open it shows the order, and no go.
    wanted = set(request.paddocks) or (harvested - stopped) or harvested
    chosen = farm.paddocks[farm.paddocks["paddock"].isin(wanted)]
    burnt = windrows["paddock"].isin(wanted)
    order = burn_order(
        chosen,
        windrows[burnt],
        guard.edges,
        guard.breaks,
        buffers,
        farm.assets,
        night,
        open_,
        changes,
        farm.crews or (Crew("1"),),
        farm.row_burn,
        farm.limits,
        farm.grid.crs,
        progress=progress,
        cancelled=cancelled,
        breaks_there=farm.breaks_there,
        wishes=request.wishes,
        # An order mended by hand is wanted at once.
        effort=1.0 if request.wishes == Wishes() else _MENDED_EFFORT,
    )
    reason = NOT_ASKED if request.paddocks else EDGE_OPEN
    pieces = stack_layers("pieces", [order.pieces, _left_out(windrows[~burnt], reason)], farm.grid.crs)
    waits = tuple(
        Remark("order", "look", f"Left for another night: {EDGE_OPEN}.", n, farm.paddock(n).geometry)
        for n in sorted(harvested - wanted)
        if not request.paddocks
    )
    return replace(order, pieces=pieces, remarks=(*order.remarks, *waits))


def _left_out(windrows: gpd.GeoDataFrame, reason: str) -> gpd.GeoDataFrame:
    """Whole rows as pieces that stay unlit."""
    columns = {c: windrows[c].to_numpy() for c in ("row_id", "paddock", "length_m")}
    data = {**columns, "piece_id": columns["row_id"], "left_reason": [reason] * len(windrows)}
    return make_layer("pieces", data, windrows.geometry.to_numpy(), windrows.crs)


def _smoke(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    _, night, changes, _, _ = done["hours"].output
    order = done["order"].output
    return smoke_of_order(farm, order.pieces, done["rows"].output[0], night, changes)


def _escapes(farm: Farm, request: NightRequest, done: Done, progress: Within, cancelled: Cancelled) -> Any:
    _, _, changes, open_, _ = done["hours"].output
    pieces = done["order"].output.pieces
    lit = tuple(pieces.loc[pieces["order_no"] > 0, "paddock"].unique())
    edges = done["ground"].output[0].edges
    return worst_escapes(farm, edges, open_ if lit else (), changes, lit, progress, cancelled)


_STAGE: dict[str, Callable[[Farm, NightRequest, Done, Within, Cancelled], Any]] = {
    "rows": _rows,
    "hours": _hours,
    "ground": _ground,
    "order": _order,
    "smoke": _smoke,
    "escapes": _escapes,
}


def _gather(farm: Farm, request: NightRequest, workings: Workings) -> BurnPlan:
    done = workings.done
    windrows, heaps, row_remarks, row_figures = done["rows"].output
    judged, night, changes, open_, sun = done["hours"].output
    order = done["order"].output
    smoke, judged_night, smoke_remarks, smoke_figures, smoke_reach = done["smoke"].output
    weather = night_weather(farm, request, judged, judged_night, open_)
    escapes = done["escapes"].output
    lit = order.pieces[order.pieces["order_no"] > 0].sort_values("order_no")
    names = tuple(dict.fromkeys(lit["paddock"])) or request.paddocks or tuple(farm.paddocks["paddock"])
    burnt = farm.paddocks[farm.paddocks["paddock"].isin(names)].union_all()
    starts: datetime | None = lit["lit_at"].min().to_pydatetime() if len(lit) else None
    tell = who_to_tell(farm, burnt, smoke, starts, request.made_at)
    guard, buffers = done["ground"].output
    raked = raking(windrows, farm.paddocks, guard.breaks, farm.breaks_there, buffers)
    remarks = (
        *row_remarks,
        *_weather_remarks(farm, night, open_),
        *weather_words(weather, judged_night, open_),
        *guard.remarks,
        *raking_words(raked, windrows),
        *order.remarks,
        *smoke_remarks,
        *escapes.remarks,
        *check_crew(farm.with_(crews=_staying(farm, request.wishes))),
        *check_cover(farm, windrows, names),
        *check_overlap(farm, names),
        *check_found(farm, windrows, names),
        *check_heat(farm, windrows, night, open_, names),
        *heavy_rows(farm, windrows, names),
        *bridging(farm, names),
        *lighting_note(farm, night, open_, names),
    )
    tonight = tuple(r for r in remarks if not r.paddock or r.paddock in names)
    against = against_lighting(farm, request.ban, open_, len(lit), not_told(tell, farm.zone), tonight)
    return BurnPlan(
        number=request.number,
        farm=farm,
        night=request.night,
        made_at=request.made_at,
        author=request.author or farm.in_charge,
        paddocks=names,
        windrows=windrows,
        heaps=heaps,
        edges=guard.edges,
        breaks=guard.breaks,
        buffers=buffers,
        pieces=order.pieces,
        lighting_points=order.lighting_points,
        blocks=order.blocks,
        ways_out=order.ways_out,
        smoke=smoke,
        hours=judged_night,
        windows=open_,
        changes=changes,
        sunset=None if sun is None else sun.sunset,
        sunrise=None if sun is None else sun.sunrise,
        ban=request.ban,
        tell=tell,
        go=not against,
        against=against,
        remarks=remarks,
        figures=(
            *row_figures,
            *guard.figures,
            *order.figures,
            *smoke_figures,
            *escapes.figures,
            *stop_winds(farm, night, open_),
            *worth(farm, windrows, night, open_, names),
            *_totals(lit),
        ),
        weather=weather,
        smoke_reach=smoke_reach,
        escapes=escapes.table,
        arrival=escapes.lines,
        raking=raked,
        routes=order.routes,
    )


def _staying(farm: Farm, wishes: Wishes) -> tuple[Crew, ...]:
    """The crews that are there all night."""
    lost = {x.crew for x in wishes.lost_crews}
    return tuple(c for c in farm.crews if c.crew not in lost)


def _lonlat(farm: Farm) -> tuple[float, float]:
    x0, y0, x1, y1 = farm.paddocks.total_bounds
    lon, lat = farm.grid.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2)
    return float(lon), float(lat)


def _weather_remarks(farm: Farm, night: pd.DataFrame, open_: tuple[Window, ...]) -> tuple[Remark, ...]:
    if farm.forecast is None or farm.forecast.empty:
        return (
            Remark("evening", "stop", "There is no forecast, so no hour can be judged. Open one or type the hours in."),
        )
    if not len(night):
        return (Remark("evening", "stop", "The forecast does not cover this night. Open one that does."),)
    found = [Remark("evening", "stop", issue.unsaid)] if (issue := farm.issue) and issue.unsaid else []
    if open_ and night["rain_mm"].isna().all():
        dry = "The forecast says nothing of rain, so whether the rows are dry is not known."
        found.append(Remark("evening", "stop", dry))
    if open_ and all(w.verdict == "caution" for w in open_):
        found.append(Remark("evening", "look", f"Every hour asks for caution: {open_[0].why.rstrip('. ')}."))
    return tuple(found)


def _totals(lit: gpd.GeoDataFrame) -> tuple[Figure, ...]:
    if lit.empty:
        return ()
    hours = (lit["out_at"].max() - lit["lit_at"].min()).total_seconds() / 3600.0
    return (
        Figure("Row to light", float(lit["length_m"].sum()) / 1000.0, "km", "sum of the pieces in the order"),
        Figure("First light to last out", hours, "h", "order of the pieces, crew and row burn settings"),
    )
