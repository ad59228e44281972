"""Limits with boxes to tick, and the words of stop and hold."""

from mapper.draw.palette import PAPER
from mapper.draw.words import tr
from mapper.farm.limits import INDICES, Limit
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import when, winds
from mapper.sheets.page import Box, Page, text_width, wrap
from mapper.sheets.said import hour_words
from mapper.sheets.texts import lines_of

SOFT = PAPER.soft


def _upto(least: Limit | None, most: Limit | None, unit: str) -> str:
    low, high = ("" if limit is None else f"{limit.value:g}" for limit in (least, most))
    if low and high:
        return tr("{low} to {high} {unit}").format(low=low, high=high, unit=unit).strip()
    if high:
        return tr("up to {high} {unit}").format(high=high, unit=unit).strip()
    return tr("at least {low} {unit}").format(low=low, unit=unit).strip() if low else tr("not known: no go")


def limit_lines(plan: BurnPlan, paddock: str | None) -> list[tuple[str, str, str]]:
    """Return the boxes to tick before lighting: what, the limit, the unit of the reading to write beside it."""
    limits = plan.farm.limits
    get = limits.get
    wind, index = get("wind_max") or get("wind_min"), get("index_max") or get("index_min")
    height = (
        tr(", {averaging_min:g}-min mean at {height_m:g} m").format(
            averaging_min=wind.averaging_min, height_m=wind.height_m
        )
        if wind is not None
        else ""
    )
    gust = get("gust_max")
    gust_height = tr(" at {height_m:g} m").format(height_m=gust.height_m) if gust is not None else ""
    now, _ = winds(plan, paddock)
    unknown = tr("not known: no go")
    crew = [_most(get(k), u) for k, u in (("people_min", ""), ("units_min", ""), ("water_min", " L"))]
    hours = f"{_hour(get('light_from'))} / {_hour(get('out_by'))}" if get("light_from") or get("out_by") else unknown
    humid = _upto(get("humidity_min"), get("humidity_max"), "%")
    air = get("temperature_max")
    warm = tr("not known") if air is None else _upto(None, air, "°C")
    said = (
        ""
        if plan.ban.state != "none" or plan.ban.checked_at is None
        else tr("none, {when}").format(when=when(plan, plan.ban.checked_at))
    )
    name = (
        INDICES[index.index].split(" (")[0].replace("Grassland fire danger index", "GFDI") if index else "danger index"
    )
    return [
        (tr("No ban declared today"), said, "checked at"),
        (tr("Permit here"), "", "no."),
        (tr("Fire service told"), "", "at"),
        (tr("Wind{height}").format(height=height), _upto(get("wind_min"), get("wind_max"), "km/h"), "km/h"),
        (tr("Gust{gust_height}").format(gust_height=gust_height), _upto(None, gust, "km/h"), "km/h"),
        (
            tr("Wind from"),
            tr("{words}: order is drawn for it").format(words=now.words) if now else tr("not known: no go"),
            "",
        ),
        (tr("Index, {name}").format(name=name), _upto(get("index_min"), get("index_max"), ""), ""),
        (tr("Air / humidity"), unknown if air is None and humid == unknown else f"{warm} / {humid}", "°C   %"),
        (tr("People / units / water"), unknown if set(crew) == {"?"} else " / ".join(crew), ""),
        (tr("Light from / out by"), hours, ""),
        (tr("Test row held in the row"), "", "min"),
    ]


def _most(limit: Limit | None, unit: str) -> str:
    return "?" if limit is None else f"{limit.value:,.0f}{unit}"


def _hour(limit: Limit | None) -> str:
    return tr("not known") if limit is None else hour_words(limit.value)


def stop_words(plan: BurnPlan) -> str:
    """Return the words of "stop and hold", from the local limits that are known."""
    limits = plan.farm.limits
    parts = []
    if (wind := limits.get("wind_max")) is not None:
        parts.append(tr("wind over {value:g} km/h").format(value=wind.value))
    if (gust := limits.get("gust_max")) is not None:
        parts.append(tr("gust over {value:g}").format(value=gust.value))
    if (index := limits.get("index_stop")) is not None:
        parts.append(tr("index {value:g}").format(value=index.value))
    *first, last = [*parts, *lines_of(plan, "stop_and_hold")]
    return tr("if {these}, or {last}.").format(these=", ".join(first), last=last)


def paint_limits(page: Page, box: Box, plan: BurnPlan, paddock: str | None) -> None:
    """Limits with boxes to tick and room for the reading, and the stop-and-hold words."""
    inside = page.panel(box, tr("LIGHT UP ONLY IF ALL ARE TICKED"))
    stop = stop_words(plan)
    stop_h = 4.6 + 3.7 * len(wrap(stop, 8.5, True, inside.w - 4)) + 0.6
    lines = limit_lines(plan, paddock)
    step = (inside.h - stop_h) / len(lines)
    pt = 9.0
    before = {"checked at": tr("checked at"), "no.": tr("no."), "at": tr("at")}  # words that stand left of their line
    for n, (what, value, kind) in enumerate(lines):
        unit, left_of = before.get(kind, kind), kind in before
        y = inside.y + step * (n + 0.5)
        page.tick(inside.x + 2, y, min(3.2, step - 0.8))
        left = inside.x + 7
        wide = page.text(left, y + 1.15, what, pt, True, width=inside.w * 0.62)
        at = max(left + wide + 2, inside.x + inside.w * 0.5 if value and kind != "checked at" else 0)
        if kind == "checked at" and value:
            page.text(inside.right - 2, y + 1.15, value, 7, colour=SOFT, align="right")
            page.text(at, y + 1.15, unit, 7, colour=SOFT)
            page.blank(at + text_width(unit, 7) + 1, inside.right - 4 - text_width(value, 7), y + 1.6)
        elif value:
            at += page.text(at, y + 1.15, value, pt, True, width=inside.right - 2 - at) + 2
        unit_w = text_width(unit, 7) if unit else 0
        if not (kind == "checked at" and value) and inside.right - 2 - at > unit_w + 7:
            page.text(at if left_of else inside.right - 2, y + 1.15, unit, 7, colour=SOFT,
                      align="left" if left_of else "right")  # fmt: skip
            first = at + unit_w + 1 if left_of else max(at, inside.right - 24)
            last = inside.right - 2 if left_of else inside.right - 3 - unit_w
            page.blank(first, last, y + 1.6)
        page.line(inside.x, inside.y + step * (n + 1), inside.right, inside.y + step * (n + 1), 0.12, "#8A8A8A")
    foot = Box(inside.x, inside.bottom - stop_h, inside.w, stop_h)
    page.rect(foot, PAPER.tint, 0.35)
    page.text(foot.x + 2, foot.y + 3.9, tr("STOP AND HOLD"), 9.5, True)
    page.paragraph(Box(foot.x + 2, foot.y + 4.5, foot.w - 4, stop_h - 4.5), stop, 8.5, True)
