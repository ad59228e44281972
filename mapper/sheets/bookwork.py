"""The parts of a plan book about the work: people, notices, lighting, escapes, smoke, patrol, figures."""

from typing import Any

import numpy as np
import pandas as pd

from mapper.draw.words import tr
from mapper.farm.assets import ASSET_KINDS
from mapper.plan.burnplan import BurnPlan
from mapper.sheets import charts
from mapper.sheets.backs import list_item, notes_title
from mapper.sheets.bookitems import chart_item, part_item, text_item
from mapper.sheets.flow import Item
from mapper.sheets.night import clock, in_charge, when
from mapper.sheets.order import every_block_columns, left_words, order_rows
from mapper.sheets.said import figure_words, metres_words, printed, told_words
from mapper.sheets.table import Column, table_item
from mapper.sheets.texts import lines_of, set_by


def people_item(plan: BurnPlan) -> Item:
    """Return who is here, with room for names."""
    blank = ("", "", "", "")
    rows = [(c.crew, str(c.people), str(c.units), f"{c.water_l:,.0f} L", *blank) for c in plan.farm.crews]
    rows = [(in_charge(plan), "", "", "", plan.farm.phone, *blank[1:]), *rows, *[("", "", "", "", *blank)] * 3]
    columns: tuple[Column, ...] = (
        (tr("Crew or person"), 0.2, True), (tr("People"), 0.08, False), (tr("Units"), 0.07, False),
        (tr("Water"), 0.1, False), (tr("Phone"), 0.15, False), (tr("Names"), 0.2, False), (tr("Job"), 0.1, False),
        (tr("Here at"), 0.1, False),
    )  # fmt: skip
    return table_item(tr("WHO IS HERE"), columns, rows)


def told_item(plan: BurnPlan) -> Item:
    """Return who must be told."""
    rows = []
    row: Any
    for row in plan.tell.itertuples() if len(plan.tell) else ():
        by = "" if pd.isna(row.by) else when(plan, row.by)
        rows.append((str(row.who), str(row.phone), str(row.why), by, told_words(plan, str(row.told_at)), ""))
    columns: tuple[Column, ...] = (
        (tr("Who"), 0.22, True), (tr("Phone"), 0.15, False), (tr("Why"), 0.27, False), (tr("By"), 0.14, False),
        (tr("Told at"), 0.12, True), (tr("By whom"), 0.1, False),
    )  # fmt: skip
    return table_item(tr("WHO MUST BE TOLD"), columns, [*rows, ("", "", "", "", "", "")])


def lighting_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return the order, the ways out, the loads."""
    rows = order_rows(plan, None)
    left = [words for name in plan.paddocks if (words := left_words(plan, name))]
    items = [text_item(plan, "lighting", left)]
    if rows:
        items.append(table_item(tr("BURN ORDER"), every_block_columns(None), rows))
    ways = plan.ways_out[plan.ways_out["paddock"].isin(plan.paddocks)]
    out = [(f"{w.paddock} {w.block}", str(w.name), str(w.to), clock(plan, w.until), str(w.note)) for w in
           ways.drop(columns="geometry").itertuples(name="Way")]  # fmt: skip
    way_columns: tuple[Column, ...] = (
        (tr("Block"), 0.22, True), (tr("Way out"), 0.12, True), (tr("To"), 0.26, False), (tr("Until"), 0.1, True),
        (tr("Note"), 0.3, False),
    )  # fmt: skip
    items.append(table_item(tr("WAYS OUT"), way_columns, out or [("", tr("none drawn: walk them"), "", "", "")]))
    items += drives_items(plan)
    mine = plan.windrows[plan.windrows["paddock"].isin(plan.paddocks)]
    if np.isfinite(mine["load_kg_m"]).any():
        items.append(chart_item("loads", lambda: charts.load_chart(plan)))
    return tuple(items)


# Shorter drives without a warning are a turn at the rows' ends.
_DRIVE_M = 100.0


def drives_items(plan: BurnPlan) -> list[Item]:
    """Return the crews' drives between rows that are long or carry a warning."""
    routes = plan.routes
    if routes is None or not len(routes):
        return []
    table = routes[routes["paddock"].isin(plan.paddocks)].drop(columns="geometry")
    table = table[(table["length_m"] >= _DRIVE_M) | (table["note"] != "")].sort_values("leaves_at", kind="stable")
    rows = [
        (clock(plan, d.leaves_at), str(d.crew), f"{d.paddock} {d.block}".strip(), f"{d.from_no} – {d.to_no}",
         metres_words(float(str(d.length_m))), str(d.note)) for d in table.itertuples(name="Drive")
    ]  # fmt: skip
    columns: tuple[Column, ...] = (
        (tr("Leaves"), 0.1, True), (tr("Crew"), 0.14, True), (tr("Block"), 0.22, False), (tr("Row to row"), 0.14, True),
        (tr("Drive"), 0.1, False), (tr("Note"), 0.3, True),
    )  # fmt: skip
    return [table_item(tr("DRIVES OF 100 M OR MORE, OR WITH A WARNING"), columns, rows, 8.5, 4.6)] if rows else []


def escapes_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return how soon fire over a side would reach what."""
    table = plan.escapes
    if not len(table):
        return ()
    table = table[table["kind"] != "pole"]
    near = table.sort_values("minutes").drop_duplicates(["paddock", "side", "name"]).head(14)
    rows = [(str(e.paddock), str(e.side), _reached(e), _soon(float(str(e.minutes)))) for e in near.itertuples()]
    columns: tuple[Column, ...] = (
        (tr("Paddock"), 0.28, True), (tr("Side"), 0.2, False), (tr("Reaches"), 0.34, True),
        (tr("Soonest after"), 0.18, True),
    )  # fmt: skip
    return (table_item(tr("IF FIRE GETS OVER A SIDE, IN THE FORECAST WIND"), columns, rows),)


def _reached(escape: Any) -> str:
    """What an escape reaches; a thing with no more than a mark for a name says what it is first."""
    kind = ASSET_KINDS.get(str(escape.kind))
    name = str(escape.name)
    return f"{kind.label} {name}" if kind is not None and len(name) <= 3 else name


def _soon(minutes: float) -> str:
    return tr("at once") if minutes < 1 else tr("{minutes} min").format(minutes=int(minutes))


def wrong_item(plan: BurnPlan) -> Item:
    """Return what to do when it goes wrong."""
    lines = [f"{n}  {words}" for n, words in enumerate(lines_of(plan, "if_it_goes_wrong"), 1)]
    return part_item(tr("If it goes wrong"), lines, set_by(plan, "if_it_goes_wrong"), True)


def smoke_lines(plan: BurnPlan) -> list[str]:
    """Return whom smoke may reach, one sentence each."""
    reach = plan.smoke_reach
    return [printed(str(w)) for w in reach["words"]] if len(reach) and "words" in reach else []


def patrol_lines(plan: BurnPlan) -> list[str]:
    """Return the wind of the days after."""
    return [] if plan.weather is None else [plan.weather.patrol.words]


def own_words_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return what else the plan says, and its figures with their sources."""
    own = {"", *plan.paddocks}
    notes = list(dict.fromkeys(printed(r.text) for r in plan.remarks if r.level == "note" and r.paddock in own))
    others = [p for p in plan.farm.paddocks["paddock"] if p not in plan.paddocks]
    figures = [f for f in plan.figures if not f.name.startswith(tuple(f"{p}: " for p in others))]
    rows = [
        (f.name, figure_words(f.value, f.unit) + (" !" if f.outside else ""), printed(f.source), printed(f.inputs))
        for f in figures
    ]
    columns: tuple[Column, ...] = (
        (tr("Figure (! outside its equation's range)"), 0.27, True), (tr("Value"), 0.13, True),
        (tr("Source"), 0.36, False), (tr("From"), 0.24, False),
    )  # fmt: skip
    items = [list_item(notes_title(), notes, False)] if notes else []
    return (*items, table_item(tr("FIGURES AND WHERE THEY COME FROM"), columns, rows)) if rows else tuple(items)
