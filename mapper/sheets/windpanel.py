"""The wind while burning and after the change."""

from typing import Any

import numpy as np
from PySide6.QtCore import QPointF

from mapper.draw import symbols
from mapper.draw.palette import PAPER
from mapper.draw.strokes import pen
from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import clock, compass, winds
from mapper.sheets.page import Box, Page, fitting_pt


def paint_wind(page: Page, box: Box, plan: BurnPlan, paddock: str | None) -> None:
    """Wind while burning and after the change, north up, and where the smoke goes."""
    inside = page.panel(box, tr("WIND FORECAST (10-min mean at 10 m, north up)"))
    now, after = winds(plan, paddock)
    half = inside.w / 2
    foot = 6.5
    dial = Box(inside.x, inside.y, half, inside.h - foot)
    for n, (wind, hollow) in enumerate(((now, False), (after, True))):
        cell = Box(dial.x + n * half, dial.y, half, dial.h)
        radius = min(8.0, cell.h / 2 - 3.0)
        middle = np.array([cell.x + radius + 3.5, cell.y + cell.h / 2 + 1.2])
        words_x = middle[0] + radius + 3.0
        if wind is None:
            none = tr("No forecast wind") if n == 0 else tr("No change found in the forecast")
            page.paragraph(Box(cell.x + 3, cell.y + 3, half - 6, cell.h - 4), none, 9, True)
            continue
        _dial(page, middle, radius, wind.from_deg, hollow)
        begins, ends = clock(plan, wind.starts_at), clock(plan, wind.ends_at)
        head = tr("{begins} to {ends}") if n == 0 else tr("CHANGE {begins}")
        head = head.format(begins=begins, ends=ends)
        room = cell.right - words_x - 1
        page.text(words_x, middle[1] - 4.2, head, 8.5, True, width=room)
        said = tr("from {words}  {km_h:.0f}").format(words=wind.words, km_h=wind.km_h)
        page.text(words_x, middle[1] + 1.2, said, fitting_pt(said, True, room, (11, 10, 9)), True, width=room)
        gust = (
            "" if wind.gust_km_h != wind.gust_km_h else tr(", gusts {gust_km_h:.0f}").format(gust_km_h=wind.gust_km_h)
        )
        page.text(words_x, middle[1] + 5.8, f"km/h{gust}", 8.5, width=room)
    page.line(inside.x + half, inside.y, inside.x + half, inside.bottom - foot, 0.2)
    page.line(inside.x, inside.bottom - foot, inside.right, inside.bottom - foot, 0.2)
    page.text(
        inside.x + 2,
        inside.bottom - 2.2,
        _smoke_words(now, after),
        8.5,
        True,
        width=inside.w - 4,
    )


def _dial(page: Page, middle: Any, radius: float, from_deg: float, hollow: bool) -> None:
    page.painter.setPen(pen(PAPER.ink, 0.25 * page.k))
    page.painter.drawEllipse(QPointF(middle[0] * page.k, middle[1] * page.k), radius * page.k, radius * page.k)
    for n in range(8):
        turn = np.radians(45 * n)
        unit = np.array([np.sin(turn), -np.cos(turn)])
        inner, outer = middle + unit * (radius - 1.2), middle + unit * radius
        page.line(inner[0], inner[1], outer[0], outer[1], 0.25)
    page.text(middle[0], middle[1] - radius - 0.6, "N", 8, True, "centre")
    symbols.wind_arrow(page.painter, middle * page.k, page.k, PAPER, from_deg + 180, 2 * radius - 3, hollow)


def _smoke_words(now: Any, after: Any) -> str:
    if now is None:
        return tr("Smoke: no forecast wind.")
    later = (
        "" if after is None else tr(", after the change to the {compass}").format(compass=compass(after.from_deg + 180))
    )
    return tr("Smoke goes to the {compass}{later}.").format(compass=compass(now.from_deg + 180), later=later)
