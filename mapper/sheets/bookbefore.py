"""The parts of a plan book that are read before lighting: go, limits, place, breaks, hazards."""

import numpy as np

from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.backs import list_item
from mapper.sheets.bookitems import part_item, text_item
from mapper.sheets.buffer_map import break_columns, break_rows, care_columns, keep_clear_of
from mapper.sheets.flow import Item
from mapper.sheets.limitpanel import limit_lines, stop_words
from mapper.sheets.night import area_words, gate_place, lands_of, nearest_road, when
from mapper.sheets.said import figure_words, for_the_crew, limit_words, metres_words
from mapper.sheets.table import Column, table_item
from mapper.sheets.texts import LINE

_SIDES = ("North", "East", "South", "West")


def go_item(plan: BurnPlan) -> Item:
    """Return the first three lines to fill in: ban, permit, fire service."""
    ban = plan.ban
    checked = tr("No ban declared today: checked at {at} by {by}").format(
        at=when(plan, ban.checked_at) if ban.state == "none" and ban.checked_at is not None else LINE,
        by=(ban.by if ban.state == "none" else "") or LINE)  # fmt: skip
    lines = [checked, tr("Permit here, number: {line}").format(line=LINE),
             tr("Fire service told at {line} by {line}, spoke with {line}").format(line=LINE)]  # fmt: skip
    return part_item("", lines, "", True)


def against_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return what stands against lighting."""
    if plan.go:
        return (part_item("", [tr("Nothing that the program checked stands against lighting. The permit and the person "
                                  "in charge decide.")]),)  # fmt: skip
    return (list_item(tr("NOT A GO BECAUSE"), list(plan.against), True),)


def look_items(plan: BurnPlan) -> tuple[Item, ...]:
    """What wants eyes, besides what stands against lighting."""
    own, against = {"", *plan.paddocks}, {a.rstrip(".") for a in plan.against}
    said = [r.text for r in plan.remarks if r.level != "note" and r.paddock in own]
    look = [for_the_crew(t) for t in dict.fromkeys(said) if t.rstrip(".") not in against]
    return (list_item(tr("LOOK AT THIS FIRST"), look, True),) if look else ()


def limits_item(plan: BurnPlan) -> Item:
    """Return the limits with room for readings."""
    rows = [(what, value or LINE, "", "", "[]") for what, value, _ in limit_lines(plan, None)[3:]]
    columns: tuple[Column, ...] = (
        (tr("Light only if"), 0.32, True), (tr("Limit"), 0.28, True), (tr("Read at"), 0.14, False),
        (tr("Reading"), 0.18, False), ("", 0.08, False),
    )  # fmt: skip
    return table_item(tr("LIGHT ONLY IF ALL ARE TICKED"), columns, rows)


def place_item(plan: BurnPlan) -> Item:
    """Return where each paddock, its gate and its road are."""
    rows = []
    for name in plan.paddocks:
        gate = gate_place(plan, name)
        place = gate.words.split(": ", 1)[1].removesuffix(" (WGS 84)")
        crop = str(plan.farm.paddock(name)["crop"]) or LINE
        grid = f"{gate.east:.0f} E {gate.north:.0f} N"
        road = nearest_road(plan, name) or LINE
        rows.append((name, area_words(lands_of(plan, name)), crop, gate.name, place, grid, road))
    columns: tuple[Column, ...] = (
        (tr("Paddock"), 0.17, True), (tr("Area"), 0.08, False), (tr("Crop"), 0.1, False), (tr("Gate"), 0.12, True),
        (tr("Latitude, longitude (WGS 84)"), 0.22, True), (tr("Grid, m"), 0.16, False), (tr("Road"), 0.15, False),
    )  # fmt: skip
    return table_item(tr("WHERE"), columns, rows)


def prescription_item(plan: BurnPlan) -> Item:
    """Return when to light and when to stop."""
    return text_item(plan, "prescription", [tr("Stop and hold {words}").format(words=stop_words(plan))])


def limit_sources_item(plan: BurnPlan) -> Item:
    """Return every local limit and who set it."""
    rows = []
    for limit in plan.farm.limits.limits.values():
        who = f"{limit.source}, {limit.date}" + (f" ({tr('starting value')})" if limit.starting else "")
        rows.append((limit.kind.label.split(" (local hour")[0], limit_words(limit), who))
    columns: tuple[Column, ...] = (
        (tr("Local limit"), 0.3, True),
        (tr("Value"), 0.25, True),
        (tr("Who set it"), 0.45, False),
    )
    return table_item(tr("LOCAL LIMITS"), columns, rows)


def breaks_items(plan: BurnPlan) -> tuple[Item, ...]:
    """The breaks, how much work those too narrow are, and which rows run into them."""
    items = [table_item(tr("BREAKS: PRESENT AGAINST WANTED"), break_columns(), break_rows(plan))]
    breaks = plan.breaks[plan.breaks["paddock"].isin(plan.paddocks) & (plan.breaks["short_m"] > 0)]
    work = breaks[np.isfinite(breaks["area_m2"]) & np.isfinite(breaks["work_h"])]
    lines = []
    for name, mine in work.groupby("paddock", sort=False):
        said = tr("{paddock}: {count} to make or widen, {area} to bare, about {time} with the blade.")
        lines.append(said.format(
            paddock=name, count=len(mine), area=_ground(float(mine["area_m2"].sum())),
            time=_blade_time(float(mine["work_h"].sum()))))  # fmt: skip
    if len(plan.raking):
        raking = plan.raking[plan.raking["paddock"].isin(plan.paddocks)]
        for (name, against), mine in raking.groupby(["paddock", "against"], sort=False):
            rake, unlit = float(mine["rake_m"].sum()), float(mine["unlit_m"].sum())
            done = tr("rake back {length}").format(length=metres_words(rake)) if rake >= 1 else tr(
                "leave {length} unlit").format(length=metres_words(unlit))  # fmt: skip
            lines.append(tr("{paddock}: {count} rows run into {what}: {done}.").format(
                paddock=name, count=mine["row_id"].nunique(), what=_lower(str(against)), done=done))  # fmt: skip
    return (*items, part_item("", lines)) if lines else tuple(items)


def _ground(area_m2: float) -> str:
    return figure_words(area_m2 / 1e4, "ha") if area_m2 >= 1000 else figure_words(round(area_m2), "m²")


def _blade_time(hours: float) -> str:
    return figure_words(round(hours, 1), "h") if hours >= 1 else tr("{minutes} min").format(
        minutes=max(round(60 * hours), 1))  # fmt: skip


def _lower(words: str) -> str:
    """A side's or ring's name inside a sentence."""
    return words[:1].lower() + words[1:] if words.startswith(("Ring", *_SIDES)) else words


def hazards_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return what to keep clear of, and lines for what no map knows."""
    own = part_item("", [tr("Power lines, wells, wires, holes, old tips, chemicals, gas: {line}").format(line=LINE)])
    return (table_item(tr("WHAT TO KEEP CLEAR OF"), care_columns(), [k.cells for k in keep_clear_of(plan)]), own)
