"""The weather of a plan book: the forecast in words, by the hour, as charts, and the stop-wind tables."""

from functools import partial
from typing import Any

import numpy as np

from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets import charts
from mapper.sheets.backs import list_item
from mapper.sheets.bookitems import chart_item, part_item
from mapper.sheets.flow import Item
from mapper.sheets.night import clock
from mapper.sheets.said import printed
from mapper.sheets.table import Column, table_item
from mapper.sheets.texts import LINE


def weather_items(plan: BurnPlan) -> tuple[Item, ...]:
    """Return the forecast in words, charts and tables."""
    items: list[Item] = []
    if plan.weather is not None:
        said = [tr("Forecast: {issue}.").format(issue=plan.weather.issue), plan.weather.rows.words,
                *plan.weather.rows.why, *plan.weather.four.words]  # fmt: skip
        items.append(part_item("", [printed(w) for w in said]))
        if plan.weather.coming:
            items.append(list_item(tr("NIGHTS THE FORECAST REACHES"), [n.words for n in plan.weather.coming], False))
        if len(plan.weather.readings):
            read = [printed(str(w)) for w in plan.weather.readings["words"]]
            items.append(list_item(tr("READINGS BESIDE THE FORECAST"), read, False))
    if not len(plan.hours):
        return (*items, part_item("", [tr("No forecast covers this night: {line}").format(line=LINE)]))
    drawn = [("hours", charts.hours_chart), ("air", charts.air_chart)]
    if np.isfinite(plan.hours["moisture_pct"]).any():
        drawn.append(("moisture", charts.moisture_chart))
    if plan.weather is not None and plan.weather.stop_winds:
        drawn.append(("stop wind", charts.stop_wind_chart))
    items += [chart_item(name, partial(paint, plan)) for name, paint in drawn]
    items.append(_hours(plan))
    for table in plan.weather.stop_winds if plan.weather is not None else ():
        columns: list[tuple[str, float, bool]] = [(tr("Air, °C"), 0.16, True)]
        columns += [(f"{h} %", 0.84 / len(table.rh_pct), True) for h in table.rh_pct]
        rows = [(f"{t}", *(f"{v:.0f}" for v in line)) for t, line in zip(table.temp_c, table.wind_km_h, strict=True)]
        head, _, limit = table.title.rpartition(" ")
        title = tr("{head}, limit {limit}").format(head=head, limit=limit)
        items.append(table_item(title, columns, rows, 8.5, 4.6))
        items.append(part_item("", [printed(table.rule)], table.source))
    return tuple(items)


def _hours(plan: BurnPlan) -> Item:
    rows = []
    hour: Any
    for hour in charts.evening_hours(plan).itertuples():
        gust = "" if np.isnan(hour.gust_km_h) else f"{hour.gust_km_h:.0f}"
        rows.append((clock(plan, hour.time_utc), f"{hour.wind_from_deg:.0f}°", f"{hour.wind_km_h:.0f}", gust,
                     f"{hour.temp_c:.0f}", f"{hour.rh_pct:.0f}", f"{hour.moisture_pct:.0f}", hour.verdict,
                     str(hour.why).split("; ", 1)[0]))  # fmt: skip
    columns: tuple[Column, ...] = (
        (tr("Hour"), 0.08, True), (tr("From"), 0.07, False), ("km/h", 0.06, True), (tr("Gust"), 0.06, False),
        ("°C", 0.05, False), (tr("RH %"), 0.06, False), (tr("Straw %"), 0.07, False), (tr("Verdict"), 0.1, True),
        (tr("First reason"), 0.45, False),
    )  # fmt: skip
    return table_item(tr("HOURS OF THE EVENING"), columns, rows)
