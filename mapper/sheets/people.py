"""Briefing, people, who is told, readings, and what to do when it goes wrong."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from mapper.draw.palette import PAPER
from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import when
from mapper.sheets.page import Box, Page, elide, wrap
from mapper.sheets.said import told_words
from mapper.sheets.texts import lines_of, set_by

SOFT = PAPER.soft


def paint_briefing(page: Page, box: Box, plan: BurnPlan, paddock: str | None) -> None:
    """What is said to the crew before lighting, with lines to fill in."""
    inside = page.panel(box, tr("SAY BEFORE LIGHTING"))
    mine = plan.ways_out if paddock is None else plan.ways_out[plan.ways_out["paddock"] == paddock]
    outs = mine["name"].drop_duplicates().tolist()
    ways = tr("Ways out: none drawn, walk them")
    if outs:
        ways = elide(tr("Out by: ") + ", ".join(outs), 9, True, inside.w * 0.5)
    lines = [
        (tr("Lookout"), tr("name, where")), (tr("Weather"), tr("who reads it, how often")),
        (tr("Radio channel / phone"), ""), (ways, tr("walked by all")), (tr("Safe ground"), tr("who counts heads")),
    ]  # fmt: skip
    step = inside.h / len(lines)
    for n, (what, hint) in enumerate(lines):
        y = inside.y + step * (n + 0.5)
        page.tick(inside.x + 2, y)
        x = inside.x + 7 + page.text(inside.x + 7, y + 1.2, what, 9, True) + 2
        x += page.text(x, y + 1.2, hint, 8, colour=SOFT) + 2 if hint else 0
        page.blank(x, inside.right - 2, y + 1.6)


def paint_readings(page: Page, box: Box, plan: BurnPlan) -> None:
    """An empty table for the readings taken on the paddock."""
    wind = plan.farm.limits.get("wind_max") or plan.farm.limits.get("wind_min")
    height = tr("write at which height")
    if wind is not None:
        height = tr("the wind limit means {height_m:g} m up").format(height_m=wind.height_m)
    inside = page.panel(box, tr("READINGS ON THE PADDOCK (every 30 min; {height})").format(height=height))
    heads = (tr("Time"), tr("From"), "km/h", tr("Gust"), "°C", tr("RH %"), tr("Index"), tr("Go on / stop"), tr("By"))
    shares = np.array([9, 12, 9, 9, 8, 12, 9, 19, 13])
    edges = inside.x + np.concatenate([[0], np.cumsum(shares)]) / shares.sum() * inside.w
    rows = max(int((inside.h - 5.5) / 6.2), 1)
    step = (inside.h - 5.5) / rows
    for n, head in enumerate(heads):
        page.text(edges[n] + 1.4, inside.y + 3.9, head, 8.5, True, width=edges[n + 1] - edges[n] - 2)
        if n:
            page.line(edges[n], inside.y, edges[n], inside.bottom, 0.2)
    for n in range(rows):
        y = inside.y + 5.5 + n * step
        page.line(inside.x, y, inside.right, y, 0.2)


def people_lines(plan: BurnPlan) -> list[tuple[str, str]]:
    """Return who is who and who must be told: a name and what is known."""
    crew = tr("{people} people, units {units}, {water_l:,.0f} L")
    crews = [(c.crew, crew.format(people=c.people, units=c.units, water_l=c.water_l)) for c in plan.farm.crews]
    told = []
    rows: Any = plan.tell.itertuples() if len(plan.tell) else ()
    for row in rows:
        by = "" if pd.isna(row.by) else tr("by {when}").format(when=when(plan, row.by))
        said = tr("told {told_at}").format(told_at=told_words(plan, row.told_at)) if row.told_at else by
        head = tr("Told: {who}") if row.told_at else tr("Tell: {who}")
        told.append((head.format(who=row.who), ", ".join(t for t in (row.phone, said) if t)))
    return [(tr("In charge"), " ".join(t for t in (plan.farm.in_charge, plan.farm.phone) if t)), *crews, *told]


PERSON_MM = 5.8


def paint_people(page: Page, box: Box, lines: Sequence[tuple[str, str]]) -> None:
    """People, units and who must be told: name, what is known, a line to write on. lines: of people_lines."""
    inside = page.panel(box, tr("WHO, AND WHO IS TOLD"))
    step = min(inside.h / max(len(lines), 1), 7.2)
    for n, (what, known) in enumerate(lines):
        y = inside.y + step * (n + 0.5) + 1.2
        wide = page.text(inside.x + 2, y, what, 8.5, True, width=inside.w * 0.6)
        x = inside.x + 2 + wide + 2
        x += page.text(x, y, known, 8, colour=SOFT, width=inside.right - 2 - x) + 1.5 if known else 0
        page.blank(x, inside.right - 2, y + 0.4)


def _numbered(plan: BurnPlan, paddock: str | None) -> list[str]:
    return [f"{n}  {words}" for n, words in enumerate(lines_of(plan, "if_it_goes_wrong", paddock), 1)]


def wrong_height(plan: BurnPlan, paddock: str | None, width: float) -> float:
    """Return the height that paint_wrong wants."""
    words = sum(3.85 * len(wrap(w, 9, True, width - 4)) + 0.7 for w in _numbered(plan, paddock))
    return 9.4 + words + 2.9 * len(wrap(set_by(plan, "if_it_goes_wrong"), 7, False, width - 4))


def paint_wrong(page: Page, box: Box, plan: BurnPlan, paddock: str | None) -> None:
    """If it goes wrong: numbered, bold, with the place to say in the emergency call, and who set the words."""
    inside = page.panel(box, tr("IF IT GOES WRONG")).inset(2, 1)
    y = inside.y
    for words in _numbered(plan, paddock):
        y += page.paragraph(Box(inside.x, y, inside.w, max(inside.bottom - y, 4)), words, 9, True, leading=1.2) + 0.7
    said = set_by(plan, "if_it_goes_wrong")
    page.paragraph(Box(inside.x, y + 0.4, inside.w, max(inside.bottom - y, 3)), said, 7, colour=SOFT, leading=1.15)
