"""Pieces: parts of rows that are lit as one, and the parts that stay unlit with the reason."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.ground.buffers import NO_BURN

# A row must double back by this much across the wind before it counts as a turn: rows from a log wander. Our choice.
TURN_M = 3.0
# A row that goes downwind by this much and then upwind is lit from where it turns, both ways upwind. Our choice.
BEND_M = 20.0
# A lap is cut at its corners: this much turn, of a line simplified so far. Our choice.
CORNER_DEG, CORNER_M = 25.0, 10.0
# Longest piece along the wind beside rows that lie across it: no longer than a crew may drive to get clear
# (danger.CLEAR_M), so that two laps lit side by side never close it in. Our choice.
FLANK_M = 40.0
# So far its lee may reach back over the row upwind of it: a cell less than FLANK_M.
_BACK_M = 30.0
# What is shorter is not worth a lighting point. Our choice.
SHORTEST_M = 3.0


@dataclass(frozen=True)
class Piece:
    """One part of a row. line runs as the harvester drove; left_reason is empty where it is to be lit."""

    piece_id: str
    row_id: str
    paddock: str
    line: shapely.LineString
    left_reason: str = ""


@dataclass(frozen=True)
class Unlit:
    """Ground on which nothing is lit, and why."""

    area: BaseGeometry
    reason: str


def unlit_ground(buffers: gpd.GeoDataFrame, breaks_there: gpd.GeoDataFrame | None = None) -> tuple[Unlit, ...]:
    """Return the ground on which no row is lit: areas of layer "buffers" marked "no burn", and bare breaks."""
    found = [
        Unlit(
            b.geometry, f"{_NO_BURN_WORDS.get(str(b.kind), 'bare ring round')} {b.name or b.kind} ({b.distance_m:g} m)"
        )
        for b in buffers.itertuples()
        if b.purpose == NO_BURN
    ]
    if breaks_there is not None:
        widths = zip(breaks_there.geometry, breaks_there["width_m"], strict=True)
        found += [
            Unlit(line.buffer(w / 2, cap_style="flat"), f"lies in the {w:g} m break") for line, w in widths if w > 0
        ]
    return tuple(found)


_NO_BURN_WORDS = {"power_line": "strip under", "crop": "break beside"}


def cut_rows(windrows: gpd.GeoDataFrame, unlit: Sequence[Unlit], winds_to_deg: Sequence[float]) -> list[Piece]:
    """Return the pieces of all rows, in the order of the rows and along each row.

    A row is cut where it enters or leaves unlit ground, and where its crosswind coordinate turns under any of the
    winds (directions blown to, degrees): a line along the wind then meets a piece at most once; and where it turns from
    downwind to upwind under the first of them. Lengths are conserved.
    """
    areas = [u.area for u in unlit]
    tree = shapely.STRtree(areas)
    pieces: list[Piece] = []
    for row in windrows.itertuples():
        parts: list[tuple[shapely.LineString, str]] = []
        for line, reason in _split_unlit(row.geometry, [unlit[k] for k in sorted(tree.query(row.geometry))]):
            if reason:
                parts.append((line, reason))
            else:
                parts += [
                    (p, "" if p.length >= SHORTEST_M else "too short to light") for p in _at_turns(line, winds_to_deg)
                ]
        several = len(parts) > 1
        for k, (line, reason) in enumerate(parts):
            name = f"{row.row_id}.{k + 1}" if several else str(row.row_id)
            pieces.append(Piece(name, str(row.row_id), str(row.paddock), line, reason))
    return cut_at_crossings(pieces)


def split_at(line: shapely.LineString, places_m: Array) -> list[shapely.LineString]:
    """Return the parts of a line between places along it (metres, any order); ends and near-ends are passed over."""
    stops = np.unique(np.round(np.asarray(places_m, dtype=float), 6))
    stops = np.r_[0.0, stops[(stops > 1e-3) & (stops < line.length - 1e-3)], line.length]
    return [substring(line, a, b) for a, b in pairwise(stops)] if len(stops) > 2 else [line]


def _split_unlit(line: shapely.LineString, unlit: Sequence[Unlit]) -> list[tuple[shapely.LineString, str]]:
    if not unlit:
        return [(line, "")]
    places: list[float] = []
    for u in unlit:
        crossing = shapely.get_coordinates(shapely.intersection(line, u.area.boundary))
        places += list(shapely.line_locate_point(line, shapely.points(crossing))) if len(crossing) else []
    parts: list[tuple[list[shapely.LineString], str]] = []
    for part in split_at(line, np.array(places)):
        middle = part.interpolate(0.5, normalized=True)
        reason = next((u.reason for u in unlit if u.area.intersects(middle)), "")
        if parts and parts[-1][1] == reason:
            parts[-1][0].append(part)
        else:
            parts.append(([part], reason))
    return [(_joined(lines), reason) for lines, reason in parts]


def _joined(lines: Sequence[shapely.LineString]) -> shapely.LineString:
    if len(lines) == 1:
        return lines[0]
    xy = [shapely.get_coordinates(line) for line in lines]
    return shapely.LineString(np.concatenate([xy[0], *(a[1:] for a in xy[1:])]))


def _at_turns(line: shapely.LineString, winds_to_deg: Sequence[float]) -> list[shapely.LineString]:
    xy = shapely.get_coordinates(line)
    across = {k for to in winds_to_deg for k in turns(xy, to)}
    along = {k for to in winds_to_deg[:1] for k in turns(xy, to - 90.0, BEND_M)}
    cuts = sorted({0, len(xy) - 1} | across | along | bends(xy))
    return [shapely.LineString(xy[a : b + 1]) for a, b in pairwise(cuts)]


def bends(xy: Array) -> set[int]:
    """Return the vertices of (n, 2) at which a line turns a corner, as laps do: both sides can then be lit apart."""
    if len(xy) < 3:
        return set()
    plain = shapely.get_coordinates(shapely.simplify(shapely.LineString(xy), CORNER_M))
    step = np.diff(plain, axis=0)
    heading = np.degrees(np.arctan2(step[:, 0], step[:, 1]))
    turn = np.abs((np.diff(heading) + 180.0) % 360.0 - 180.0)
    found = plain[1:-1][turn >= CORNER_DEG]
    return {int(np.hypot(*(xy - p).T).argmin()) for p in found}


def cut_at_crossings(pieces: Sequence[Piece]) -> list[Piece]:
    """Return the pieces; of two that cross the one that reaches less far beyond the other is cut there.

    Each part can then be lit before or after the other row, as the wind wants it.
    """
    lines = np.array([p.line for p in pieces], dtype=object)
    places: dict[int, list[float]] = {}
    for a, b in shapely.STRtree(lines).query(lines, predicate="crosses").T:
        if a >= b or pieces[a].paddock != pieces[b].paddock or pieces[a].left_reason or pieces[b].left_reason:
            continue
        for x in shapely.get_coordinates(shapely.intersection(lines[a], lines[b])):
            at = {k: float(lines[k].project(shapely.Point(x))) for k in (int(a), int(b))}
            tail = {k: min(d, lines[k].length - d) for k, d in at.items()}
            k = min(tail, key=lambda k: tail[k])
            if tail[k] >= SHORTEST_M:
                places.setdefault(k, []).append(at[k])
    result: list[Piece] = []
    for k, piece in enumerate(pieces):
        parts = split_at(piece.line, np.array(places[k])) if k in places else [piece.line]
        several = len(parts) > 1
        result += [
            replace(piece, piece_id=f"{piece.piece_id}.{j + 1}" if several else piece.piece_id, line=line)
            for j, line in enumerate(parts)
        ]
    return result


def cut_flanks(
    pieces: Sequence[Piece], to_deg: float, along_deg: float, lee_deg: float, flanks: bool = True
) -> list[Piece]:
    """Return the pieces; those near the wind's direction are cut short, so that a crew beside one has fire along no
    more of it than it can get clear of.

    Within along_deg of the wind none is longer than FLANK_M (flanks False: left whole). Beyond, up to lee_deg (the wind
    may turn so far), so that its fire reaches back over the rows upwind of it by no more than FLANK_M.
    """
    result: list[Piece] = []
    for piece in pieces:
        chord = np.subtract(piece.line.coords[-1], piece.line.coords[0])
        share = abs(float(chord @ unit(to_deg))) / max(float(np.hypot(*chord)), 1e-9)
        off_deg = float(np.degrees(np.arccos(min(share, 1.0))))
        longest = np.inf
        if off_deg <= along_deg:
            longest = FLANK_M if flanks else np.inf
        elif off_deg < lee_deg:
            longest = max(FLANK_M, _BACK_M / np.sin(np.radians(min(lee_deg - off_deg, 90.0))))
        count = 1 if piece.left_reason else max(int(np.ceil(piece.line.length / longest)), 1)
        parts = split_at(piece.line, np.linspace(0, piece.line.length, count + 1)[1:-1])
        result += [
            replace(piece, piece_id=f"{piece.piece_id}.{j + 1}" if count > 1 else piece.piece_id, line=line)
            for j, line in enumerate(parts)
        ]
    return result


def turns(xy: Array, to_deg: float, slack_m: float = TURN_M) -> list[int]:
    """Return the vertices (of (n, 2)) where a line's crosswind coordinate turns by more than slack_m."""
    across = xy @ unit(to_deg + 90.0)
    step = np.sign(np.diff(across))
    extremes = np.r_[0, 1 + np.flatnonzero(step[1:] != step[:-1]), len(xy) - 1]
    found: list[int] = []
    top = bottom = 0
    heading = 0
    for k in extremes:
        top = k if across[k] > across[top] else top
        bottom = k if across[k] < across[bottom] else bottom
        if heading >= 0 and across[top] - across[k] > slack_m:
            if heading > 0:
                found.append(int(top))
            heading, bottom, top = -1, k, k
        elif heading <= 0 and across[k] - across[bottom] > slack_m:
            if heading < 0:
                found.append(int(bottom))
            heading, bottom, top = 1, k, k
    return found
