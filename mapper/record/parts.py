"""What became of every metre of row: entries folded over the plan's pieces."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import geopandas as gpd
import pandas as pd
from shapely.ops import substring

from mapper.farm.layers import make_layer
from mapper.record.entry import Entry, standing
from mapper.record.night import NightRecord
from mapper.record.states import WORST_LAST

# Shorter bits of row than this are the pencil's, not the fire's: our choice.
_SHORTEST_M = 0.5


@dataclass(frozen=True)
class Part:
    """A stretch of one piece, metres from the end where lighting began, and the entry that says what became of it."""

    from_m: float
    to_m: float
    state: str
    entry: Entry


def parts_of(entries: tuple[Entry, ...], number: int, length_m: float) -> tuple[Part, ...]:
    """Return what standing entries say of one piece, end to end where it is known, later entries over earlier ones.

    A row that went out at 150 m burnt up to there: of that stretch nothing else need be written.
    """
    parts: list[Part] = []
    for entry in entries:
        if entry.kind != "rows" or number not in entry.body["numbers"]:
            continue
        low = min(max(float(entry.body.get("from_m") or 0.0), 0.0), length_m)
        high = entry.body.get("to_m")
        high = length_m if high is None else min(float(high), length_m)
        if high - low < _SHORTEST_M and length_m > _SHORTEST_M:
            continue
        state = str(entry.body["state"])
        kept: list[Part] = []
        for part in parts:
            kept += [
                Part(a, b, part.state, part.entry)
                for a, b in ((part.from_m, min(part.to_m, low)), (max(part.from_m, high), part.to_m))
                if b - a >= _SHORTEST_M
            ]
        if state == "went out" and entry.body.get("to_m") is None:
            kept += [Part(a, b, "burnt", entry) for a, b in _gaps(kept, low)]
        parts = [*kept, Part(low, high, state, entry)]
    return tuple(sorted(parts, key=lambda p: p.from_m))


def _gaps(parts: list[Part], to_m: float) -> list[tuple[float, float]]:
    """The stretches before to_m of which nothing is said."""
    found, at = [], 0.0
    for part in sorted(parts, key=lambda p: p.from_m):
        if min(part.from_m, to_m) - at >= _SHORTEST_M:
            found.append((at, min(part.from_m, to_m)))
        at = max(at, part.to_m)
    return [*found, (at, to_m)] if to_m - at >= _SHORTEST_M else found


def row_parts(record: NightRecord, at: datetime | None = None) -> gpd.GeoDataFrame:
    """Return layer "row_parts": each piece cut where its state changes; "" where nothing is written down yet.

    at: UTC; entries of what happened later are left out, and a lit piece whose burn-out time has passed still counts
    as alight until somebody says it is out. Pieces that the plan left unlit are "left" until an entry says otherwise.
    """
    entries = tuple(e for e in standing(record.entries) if at is None or e.happened <= at)
    rows: list[dict[str, object]] = []
    lines = []
    for piece in record.pieces.itertuples():
        length = float(piece.geometry.length)
        number = int(piece.order_no)
        parts = list(parts_of(entries, number, length)) if number > 0 else []
        for low, high, part in _end_to_end(parts, length):
            rows.append({
                "piece_id": piece.piece_id, "row_id": piece.row_id, "paddock": piece.paddock, "block": piece.block,
                "order_no": number, "from_m": low, "to_m": high, "length_m": high - low,
                "state": part.state if part else ("left" if number <= 0 else ""),
                "why": piece.left_reason if number <= 0 else "",
                "at": part.entry.at if part else pd.NaT, "by": part.entry.by if part else "",
                "entry_id": part.entry.entry_id if part else "",
            })  # fmt: skip
            lines.append(substring(piece.geometry, low, high))
    table = {c: [row[c] for row in rows] for c in rows[0]} if rows else {}
    return make_layer("row_parts", table, lines, record.pieces.crs)


def _end_to_end(parts: list[Part], length_m: float) -> list[tuple[float, float, Part | None]]:
    """Fill the stretches of which nothing is said."""
    filled: list[tuple[float, float, Part | None]] = []
    at = 0.0
    for part in parts:
        if part.from_m - at >= _SHORTEST_M:
            filled.append((at, part.from_m, None))
        filled.append((part.from_m, part.to_m, part))
        at = part.to_m
    if length_m - at >= _SHORTEST_M or not filled:
        filled.append((at, length_m, None))
    return filled


def state_of_pieces(parts: gpd.GeoDataFrame) -> dict[int, str]:
    """Return the worst state of each numbered piece, "" where not all of it is written down, by order_no."""
    rank = {state: k for k, state in enumerate(WORST_LAST)}
    numbered = parts[parts["order_no"] > 0]

    def worst(states: "pd.Series[str]") -> str:
        known = [s for s in states if s]
        return "" if len(known) < len(states) and all(s == "burnt" for s in known) else max(known, key=rank.__getitem__)

    return {int(n): worst(states) for n, states in numbered.groupby("order_no")["state"]}


def km_by_state(parts: gpd.GeoDataFrame) -> dict[str, float]:
    """Return kilometres of row in each state that occurs; "" is not written down."""
    return {str(s): float(m) / 1000.0 for s, m in parts.groupby("state")["length_m"].sum().items()}


@dataclass(frozen=True)
class Alight:
    """What burns at a moment: row numbers, the last expected to be out and when (UTC), and those overdue."""

    numbers: tuple[int, ...]
    last_out: datetime | None
    overdue: tuple[int, ...]


def alight(record: NightRecord, at: datetime) -> Alight:
    """Return the rows alight at a moment, and when they should be out by the plan's figures of a burning row."""
    parts = row_parts(record, at)
    burning = parts[parts["state"] == "lit"]
    out: dict[int, datetime] = {}
    for part in burning.itertuples():
        lit_at = at if pd.isna(part.at) else part.at.to_pydatetime()
        # The plan's points stand this far apart at most.
        run_min = record.point_gap_m / 2 / record.spread_m_min
        due = lit_at + timedelta(minutes=run_min + record.burnout_min)
        out[part.order_no] = max(due, out.get(part.order_no, due))
    return Alight(
        tuple(sorted(out)), max(out.values(), default=None), tuple(sorted(n for n, t in out.items() if t < at))
    )
