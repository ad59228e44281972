"""The burn order by block, the way the work goes, and what is left unlit."""

from typing import Any

import numpy as np

from mapper.draw.words import tr
from mapper.plan.burnplan import BurnPlan
from mapper.sheets.night import clock
from mapper.sheets.page import Box, Page, wrap
from mapper.sheets.said import metres_words
from mapper.sheets.table import Column, paint_table


def order_rows(plan: BurnPlan, paddock: str | None) -> list[tuple[str, ...]]:
    """Return the block table: block, rows, start, end, crew, note, box to tick."""
    blocks = _of(plan.blocks, plan, paddock).sort_values(["starts_at", "first_no"])
    return [
        (
            str(b.block) if paddock is not None else f"{b.paddock} {b.block}",
            f"{b.first_no}–{b.last_no}" if b.first_no != b.last_no else str(b.first_no),
            clock(plan, b.starts_at), clock(plan, b.ends_at), crew_words(str(b.crew)), str(b.note), "[]",
        )
        for b in blocks.itertuples()
    ]  # fmt: skip


def _of(layer: Any, plan: BurnPlan, paddock: str | None) -> Any:
    return layer[layer["paddock"].isin(plan.paddocks if paddock is None else (paddock,))]


def crew_words(crews: str) -> str:
    """Return "Crew 1–3" for "Crew 1 + Crew 2 + Crew 3", "Crew 1, 3" where one is left out; other names as they are."""
    names = [name.rpartition(" ") for name in crews.split(" + ")]
    kinds, numbers = {kind for kind, _, _ in names}, [n for _, _, n in names]
    if len(names) < 2 or len(kinds) > 1 or not all(n.isdigit() for n in numbers):
        return crews
    count = [int(n) for n in numbers]
    run = len(count) > 2 and count == list(range(count[0], count[0] + len(count)))
    return f"{kinds.pop()} {f'{count[0]}–{count[-1]}' if run else ', '.join(numbers)}".strip()


def every_block_columns(paddock: str | None) -> tuple[Column, ...]:
    """Return the columns of the table of every block; of several paddocks (None) the blocks' names are longer."""
    more = 0.0 if paddock is not None else 0.12
    return (
        (tr("Block"), 0.1 + more, True),
        (tr("Rows"), 0.17 - more / 2, True),
        (tr("Start"), 0.12, True),
        (tr("End"), 0.12, False),
        (tr("Crew"), 0.16, False),
        (tr("Note"), 0.25 - more / 2, False),
        (tr("Done"), 0.08, False),
    )


def _front_columns() -> tuple[Column, ...]:
    """The front says the notes under the table, where they have room."""
    return (
        (tr("Block"), 0.12, True),
        (tr("Rows"), 0.22, True),
        (tr("Start"), 0.15, True),
        (tr("End"), 0.15, False),
        (tr("Crew"), 0.27, False),
        (tr("Done"), 0.09, False),
    )


def _night_columns() -> tuple[Column, ...]:
    """The columns where blocks of several paddocks stand in one table."""
    return (
        (tr("Block"), 0.32, True),
        (tr("Rows"), 0.17, True),
        (tr("Start"), 0.12, True),
        (tr("End"), 0.12, False),
        (tr("Crew"), 0.19, False),
        (tr("Done"), 0.08, False),
    )


def note_words(plan: BurnPlan, paddock: str | None) -> str:
    """Return the blocks' notes, each once: "A, B: edge rows: burnt out before the inside is lit."."""
    blocks = _of(plan.blocks, plan, paddock)
    blocks = blocks[blocks["note"] != ""].sort_values("first_no")
    named = blocks["block"] if paddock is not None else blocks["paddock"] + " " + blocks["block"]
    said = named.groupby(blocks["note"], sort=False).agg(", ".join)
    return " ".join(f"{names}: {note}." for note, names in said.items())


def paint_order(page: Page, box: Box, plan: BurnPlan, paddock: str | None, rest: str = "on the back") -> int:
    """The burn order by block; return how many blocks found room."""
    inside = page.panel(box, tr("BURN ORDER: {work_way}").format(work_way=work_way(plan, paddock)))
    left = " ".join(t for t in (note_words(plan, paddock), left_words(plan, paddock)) if t)
    foot = 0.0
    if left:
        # What the table leaves over, but never so little that nothing is said.
        spare = inside.h - 4.6 - 4.6 * len(_of(plan.blocks, plan, paddock)) - 1.2
        most = max(spare, 12.0)
        if 4.0 * len(wrap(left, 8.5, True, inside.w - 4)) > most:
            left = " ".join(t for t in (note_words(plan, paddock), left_in_short(plan, paddock)) if t)
        foot = min(4.0 * len(wrap(left, 8.5, True, inside.w - 4)), most) + 1.2
        page.line(inside.x, inside.bottom - foot, inside.right, inside.bottom - foot, 0.25)
        page.paragraph(Box(inside.x + 2, inside.bottom - foot + 0.3, inside.w - 4, foot - 0.6), left, 8.5, True)
    rows = order_rows(plan, paddock)
    table = Box(inside.x, inside.y, inside.w, inside.h - foot)
    if not rows:
        page.paragraph(table.inset(2), tr("No row is lit by this plan."), 9, True)
        return 0
    columns = _front_columns() if paddock is not None else _night_columns()
    return paint_table(page, table, columns, [(*r[:5], r[6]) for r in rows], 9, 4.4, 12.0, rest)


def work_way(plan: BurnPlan, paddock: str | None) -> str:
    """Return the direction in which the work goes, first block to last: "east to west"."""
    points = _of(plan.lighting_points, plan, paddock)
    points = points[points["order_no"] > 0].sort_values("order_no")
    if len(points) < 2 or points["paddock"].nunique() > 1:
        return tr("as numbered")
    third = max(len(points) // 3, 1)
    xy = np.column_stack([points.geometry.x, points.geometry.y])
    step = xy[-third:].mean(axis=0) - xy[:third].mean(axis=0)
    if np.hypot(*step) < 30:
        return tr("as numbered")
    names = tr("north north-east east south-east south south-west west north-west").split()
    to = round(float(np.degrees(np.arctan2(step[0], step[1]))) / 45) % 8
    return tr("{names} to {names2}").format(names=names[(to + 4) % 8], names2=names[to])


def left_in_short(plan: BurnPlan, paddock: str | None) -> str:
    """Return how much is left unlit, without the reasons."""
    left = _of(plan.pieces, plan, paddock)
    left = left[left["left_reason"] != ""]
    if left.empty:
        return ""
    said = tr("Leave the dotted parts, do not light: {count} rows or parts, {length}.")
    return said.format(count=len(left), length=metres_words(float(left["length_m"].sum())))


def left_words(plan: BurnPlan, paddock: str | None) -> str:
    """Return what is left unlit and why, counted; empty where nothing is."""
    left = _of(plan.pieces, plan, paddock)
    left = left[left["left_reason"] != ""]
    if left.empty:
        return ""
    counts = left.groupby("left_reason").agg(n=("piece_id", "size"), m=("length_m", "sum"))
    parts = [
        tr("{int} rows or parts, {length} ({reason})").format(int=int(r.n), length=metres_words(r.m), reason=reason)
        for reason, r in counts.sort_values("n", ascending=False).iterrows()
    ]
    return tr("Leave the dotted parts, do not light: {join}.").format(join="; ".join(parts))
