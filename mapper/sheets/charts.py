"""Charts of a plan book, in black for any printer: the evening's hours, stop wind, moisture, loads of rows.

Drawn by matplotlib as SVG whose words Qt sets in our own font; the tables beside them hold the figures as text.
"""

from collections.abc import Callable
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mapper.carried import carried
from mapper.draw.lettering import FAMILY
from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan

_SIZE_IN = (3.6, 2.45)


def _drawn(paint: Callable[[Any], None]) -> bytes:
    """Return an SVG of one set of axes that paint(axes) fills."""
    import matplotlib as mpl
    from matplotlib import font_manager
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    if FAMILY not in {f.name for f in font_manager.fontManager.ttflist}:
        for cut in ("Regular", "Bold"):
            font_manager.fontManager.addfont(str(carried("resources", "fonts", f"MapperSans-{cut}.ttf")))
    style: Any = {
        "font.family": FAMILY, "font.size": 8.0, "axes.linewidth": 0.8, "svg.fonttype": "none",
        "svg.hashsalt": "mapper", "lines.linewidth": 1.4, "axes.titleweight": "bold",
        "axes.titlesize": 8.5, "axes.titlelocation": "left", "legend.frameon": False, "legend.fontsize": 7.5,
    }  # fmt: skip
    with mpl.rc_context(style):
        figure = Figure(figsize=_SIZE_IN, layout="constrained")
        axes = figure.add_subplot()
        paint(axes)
        axes.grid(True, color="#C8C8C8", linewidth=0.4)
        axes.set_axisbelow(True)
        held = BytesIO()
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(held, metadata={"Date": None})
    return held.getvalue()


def evening_hours(plan: BurnPlan) -> pd.DataFrame:
    """Return the judged hours from 15:00 to 03:00, with their local time without a zone in column "local"."""
    hours: pd.DataFrame = plan.hours
    local = hours["time_utc"].dt.tz_convert(ZoneInfo(plan.farm.zone)).dt.tz_localize(None)
    start = pd.Timestamp(plan.night.isoformat()) + pd.Timedelta(hours=15)
    table: pd.DataFrame = hours.assign(local=local)[(local >= start) & (local <= start + pd.Timedelta(hours=12))]
    return table


def _clock_axis(axes: Any, plan: BurnPlan) -> None:
    import matplotlib.dates

    mdates: Any = matplotlib.dates
    axes.xaxis.set_major_locator(mdates.HourLocator(interval=2))
    axes.xaxis.set_major_formatter(mdates.DateFormatter("%H"))
    axes.set_xlabel(tr("hour, {zone}").format(zone=plan.farm.zone))

    def naive(at: Any) -> Any:
        return pd.Timestamp(at).tz_convert(ZoneInfo(plan.farm.zone)).tz_localize(None)

    for window in plan.windows:
        axes.axvspan(naive(window.starts_at), naive(window.ends_at), facecolor="#E4E4E4", edgecolor="none", zorder=0)
    for change in plan.changes:
        axes.axvline(naive(change.at), color="black", linestyle=(0, (4, 2)), linewidth=1.0)


def hours_chart(plan: BurnPlan) -> bytes:
    """Return wind and gust over the evening against the farm's limits; grey where lighting is open."""

    def paint(axes: Any) -> None:
        hours = evening_hours(plan)
        axes.plot(hours["local"], hours["wind_km_h"], color="black", marker="o", markersize=3, label=tr("mean wind"))
        axes.plot(hours["local"], hours["gust_km_h"], color="black", linestyle=":", marker="^", markersize=3,
                  label=tr("gust"))  # fmt: skip
        for key, style in (("wind_max", "-"), ("gust_max", ":")):
            limit = plan.farm.limits.get(key)
            if limit is not None:
                axes.axhline(limit.value, color="#595959", linewidth=0.9, linestyle=style)
        _clock_axis(axes, plan)
        axes.set_ylim(0, 1.25 * axes.get_ylim()[1])
        axes.set_ylabel("km/h")
        axes.set_title(tr("Wind by the hour; lines across are your limits"))
        axes.legend(loc="upper left", ncols=2)

    return _drawn(paint)


def air_chart(plan: BurnPlan) -> bytes:
    """Return air temperature and humidity over the evening."""

    def paint(axes: Any) -> None:
        hours = evening_hours(plan)
        axes.plot(hours["local"], hours["temp_c"], color="black", marker="o", markersize=3, label=tr("air, °C"))
        axes.plot(hours["local"], hours["rh_pct"], color="black", linestyle="--", marker="s", markersize=3,
                  label=tr("humidity, %"))  # fmt: skip
        _clock_axis(axes, plan)
        axes.set_ylim(0, 115)
        axes.set_title(tr("Air and humidity by the hour"))
        axes.legend(loc="upper left", ncols=2)

    return _drawn(paint)


def moisture_chart(plan: BurnPlan) -> bytes:
    """Return the moisture of the row's surface over the evening, with its range where that is known."""

    def paint(axes: Any) -> None:
        hours = evening_hours(plan)
        if {"moisture_low_pct", "moisture_high_pct"} <= set(hours.columns):
            for column, words in (("moisture_low_pct", tr("likely range")), ("moisture_high_pct", None)):
                axes.plot(hours["local"], hours[column], color="black", linestyle=(0, (1, 2)), linewidth=1.0,
                          label=words)  # fmt: skip
        axes.plot(hours["local"], hours["moisture_pct"], color="black", marker="o", markersize=3,
                  label=tr("surface of the row"))  # fmt: skip
        _clock_axis(axes, plan)
        axes.set_ylim(0, 1.3 * axes.get_ylim()[1])
        axes.set_ylabel("%")
        axes.set_title(tr("Moisture of dead straw by the hour"))
        axes.legend(loc="upper left")

    return _drawn(paint)


def stop_wind_chart(plan: BurnPlan) -> bytes:
    """Return the stop wind against air temperature, a line a humidity, of the plan's last stop-wind table."""

    def paint(axes: Any) -> None:
        assert plan.weather is not None
        table = plan.weather.stop_winds[-1]
        styles = ("-", "--", "-.", ":")
        marks = "os^Dv"
        for k, n in enumerate(range(0, len(table.rh_pct), 2)):
            axes.plot(table.temp_c, table.wind_km_h[:, n], color="black", linestyle=styles[k % 4], marker=marks[k % 5],
                      markersize=3, label=f"{table.rh_pct[n]} %")  # fmt: skip
        axes.set_ylim(0, 1.25 * axes.get_ylim()[1])
        axes.set_xlabel(tr("air, °C"))
        axes.set_ylabel(tr("km/h at {height:g} m").format(height=table.meter_height_m))
        axes.set_title(tr("Stop above this wind, by humidity"))
        axes.legend(ncols=4, loc="upper right", columnspacing=0.8, handlelength=2.2)

    return _drawn(paint)


def load_chart(plan: BurnPlan) -> bytes:
    """Return how much row has which load, in km, light, right and heavy from white to black."""

    def paint(axes: Any) -> None:
        rows = plan.windrows[plan.windrows["paddock"].isin(plan.paddocks)]
        rows = rows[np.isfinite(rows["load_kg_m"])]
        load = rows["load_kg_m"].to_numpy()
        # The last bar takes what lies beyond nearly all rows.
        edges = np.linspace(0.0, max(float(np.quantile(load, 0.98)) * 1.15, 0.5), 17)
        kind = rows["load_class"].to_numpy()
        foot = np.zeros(16)
        # Plain greys with black edges: Qt turns a hatch of an SVG into pictures of megabytes.
        for wanted, grey, words in (
            (kind == "light", "#FFFFFF", tr("too light")), (~np.isin(kind, ("light", "heavy")), "#BDBDBD", tr("right")),
            (kind == "heavy", "#000000", tr("too heavy")),
        ):  # fmt: skip
            if wanted.any():
                length = rows["length_m"].to_numpy()[wanted] / 1000.0
                km, _ = np.histogram(np.minimum(load[wanted], edges[-1]), edges, weights=length)
                axes.bar(edges[:-1], km, np.diff(edges), bottom=foot, align="edge", edgecolor="black", facecolor=grey,
                         linewidth=0.7, label=words)  # fmt: skip
                foot = foot + km
        axes.set_ylim(0, 1.25 * max(foot.max(), 0.1))
        axes.set_xlabel(tr("load in the row, kg/m"))
        axes.set_ylabel(tr("km of row"))
        axes.set_title(tr("Loads of the rows"))
        axes.legend(loc="upper right")

    return _drawn(paint)
