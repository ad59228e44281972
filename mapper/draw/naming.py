"""What the map says and where each word might stand: row numbers, blocks, breaks, ways out, assets, neighbours."""

from typing import Any

import numpy as np
import shapely

from mapper.draw.labels import Ask, Obstacle
from mapper.draw.marks import along
from mapper.draw.scene import Scene, danger_spots, safe_spots, start_finish, symbol_spots
from mapper.draw.strokes import ground_of, to_px
from mapper.draw.symbols import SYMBOL_REACH_MM
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.farm.assets import ASSET_KINDS
from mapper.farm.ranged import Array

_EVERY = (1, 2, 5, 10, 20, 50, 100)
_LABEL_MM = 3.6 + 0.6  # "88" at 9 pt bold, and a gap
_STEPS = np.array([[1, 0], [-1, 0], [0, -1], [0, 1], [0.8, -0.8], [0.8, 0.8], [-0.8, -0.8], [-0.8, 0.8]])


def number_every(pitch_mm: float, tiers: int = 1, label_mm: float = _LABEL_MM) -> int:
    """Return n so that every n-th row's number fits: n x pitch x tiers is at least a label's width."""
    return next((n for n in _EVERY if n * pitch_mm * tiers >= label_mm), _EVERY[-1])


def round_spot(at: Array, mm: float, reach_mm: float, wide_mm: float) -> tuple[Array, Array]:
    """Return candidates in eight directions on three rings round a symbol, and their preference costs."""
    rings = []
    likes = []
    for ring, extra in enumerate((0.0, 3.0, 7.0)):
        step = _STEPS * np.array([reach_mm + wide_mm / 2 + extra, reach_mm + 2.0 + extra]) * mm
        rings.append(at + step)
        likes.append(np.arange(len(_STEPS)) * 0.15 + ring * 2.0)
    return np.vstack(rings), np.concatenate(likes)


def grid_spots(shape_px: Any, gap: float, most: int = 80) -> tuple[Array, Array]:
    """Return a grid of candidates inside an area and how far each is from its middle (as preference)."""
    left, top, right, bottom = shapely.bounds(shape_px)
    gap = max(gap, float(np.sqrt(max((right - left) * (bottom - top), 1.0) / most)))
    x, y = np.meshgrid(np.arange(left, right, gap) + gap / 2, np.arange(top, bottom, gap) + gap / 2)
    inside = shapely.contains_xy(shape_px, x.ravel(), y.ravel())
    middle = shapely.get_coordinates(shape_px.representative_point())
    spots = np.vstack([middle, np.column_stack([x.ravel()[inside], y.ravel()[inside]])])
    size = max(right - left, bottom - top, 1.0)
    return spots, np.hypot(*(spots - middle).T) / size * 6.0


def number_asks(scene: Scene, view: View, tiers: int = 1) -> list[Ask]:
    """Return asks for row numbers: beyond the lighting end, beyond the other end, else on the row itself.

    tiers: how many steps the numbers may stand in, so that more of them fit. A row that runs out of the picture has
    its number where it leaves it.
    """
    pieces = scene.layer("pieces")
    if pieces is None:
        return []
    lit = pieces[(pieces["order_no"] > 0) & (pieces["left_reason"] == "")]
    # 2.0 mm a digit at 9 pt bold, a plate's sides, a gap.
    wide = 2.0 * len(str(int(lit["order_no"].max()))) + 2.6 if len(lit) else _LABEL_MM
    every = number_every(scene.row_pitch_m * view.px_per_m / view.px_per_mm, tiers, wide)
    points = scene.layer("lighting_points")
    starts = {} if points is None else {p.piece_id: p.geometry for p in points.itertuples()}
    ends = {int(v) for v in lit.groupby(["paddock", "block"])["order_no"].agg(["min", "max"]).to_numpy().ravel()}
    if every > 5:  # too close for more than the numbers in their steps; the blocks' cards name the ends
        ends = {int(lit["order_no"].min()), int(lit["order_no"].max())} if len(lit) else set()
    found = []
    frame = shapely.box(0.0, 0.0, *view.size)
    for piece in lit.itertuples():
        number = int(piece.order_no)
        if number % every and number not in ends:
            continue
        xy = _within(view.points(shapely.get_coordinates(piece.geometry)), frame)
        if xy is None:
            continue
        start = starts.get(piece.piece_id)
        if start is not None:
            at = np.array([float(v) for v in view.to_px(np.array(start.x), np.array(start.y))])
            if np.hypot(*(xy[-1] - at)) < np.hypot(*(xy[0] - at)):
                xy = xy[::-1]
        spots, likes = _number_spots(xy, view.px_per_mm)
        rank = 2 if number % 5 == 0 else 3 if number % every == 0 else 6
        look = "black" if number % 5 == 0 or number in ends else "plate"
        found.append(
            Ask(f"row {number:05d} {piece.piece_id}", (str(number),), spots, likes, rank, look, 9.0, leader=True,
                anchor=(float(xy[0, 0]), float(xy[0, 1])))
        )  # fmt: skip
    return found


def _within(xy: Array, frame: Any) -> Array | None:
    """Return the longest stretch of a line inside the picture; None where there is none."""
    left, top, right, bottom = frame.bounds
    if xy[:, 0].min() >= left and xy[:, 0].max() <= right and xy[:, 1].min() >= top and xy[:, 1].max() <= bottom:
        return xy
    parts = shapely.get_parts(shapely.intersection(shapely.linestrings(xy), frame))
    parts = [p for p in parts if p.geom_type == "LineString" and p.length > 0]
    longest: Array | None = shapely.get_coordinates(max(parts, key=lambda p: p.length)) if parts else None
    return longest


def _number_spots(xy: Array, mm: float) -> tuple[Array, Array]:
    spots: list[Array] = []
    likes: list[float] = []
    for end, base in ((xy, 0.0), (xy[::-1], 3.0)):
        first = end[0] - end[1]
        unit = first / max(float(np.hypot(*first)), 1e-9)
        side = np.array([-unit[1], unit[0]])
        if base == 0.0:
            for out, cost in ((5.0, 0.0), (7.0, 0.4), (9.5, 0.9), (12.5, 1.5), (16.0, 2.5)):
                for shift in (0.0, 1.8, -1.8, 4.0, -4.0):
                    spots.append(end[0] + (unit * out + side * shift) * mm)
                    likes.append(cost + abs(shift) * 0.25)
    on, _ = along(xy, max(6.0 * mm, float(np.hypot(*np.diff(xy, axis=0).T).sum()) / 12), 4.0 * mm)
    spots.extend(on)
    likes.extend([4.5 + 0.1 * k for k in range(len(on))])
    return np.array(spots), np.array(likes)


def block_asks(scene: Scene, view: View, clock: Any = None) -> list[Ask]:
    """Return asks for the blocks' cards: letter, rows, start. clock(time) gives the words for a start."""
    blocks = scene.layer("blocks")
    found = []
    for block in () if blocks is None else blocks.itertuples():
        shape = to_px(block.geometry, view)
        mm = view.px_per_mm
        spots, likes = grid_spots(shape, 6 * mm)
        middle = spots[0]
        narrow = shape.area / max(shape.length / 2, 1e-9) < 5.0 * mm
        if narrow:  # its card stands beside it, tied to it by a line
            beside, cost = round_spot(middle, mm, 8.0, 26.0)
            spots, likes = np.vstack([spots, beside]), np.concatenate([likes, cost + 9.0])
        words = [str(block.block), f"{block.first_no}–{block.last_no}"]
        if clock is not None and block.starts_at == block.starts_at:
            words.append(clock(block.starts_at))
        found.append(Ask(f"block {block.paddock} {block.block}", tuple(words), spots, likes, 1, "card", 9.0,
                         leader=narrow, anchor=(float(middle[0]), float(middle[1]))))  # fmt: skip
    return found


def break_asks(scene: Scene, view: View, against: bool = False) -> list[Ask]:
    """Return asks for the breaks' widths, one a side: on the line or beside it.

    against: write present against wanted ("6 of 10 m") where a break is too narrow.
    """
    breaks = scene.layer("breaks")
    found = []
    for k, row in enumerate(() if breaks is None else breaks.itertuples()):
        xy = view.points(shapely.get_coordinates(row.geometry))
        short = bool(row.short_m > 0)
        run_mm = row.geometry.length * view.px_per_m / view.px_per_mm
        if (not short and np.isnan(row.present_m)) or row.side.startswith("Ring") or run_mm < (8 if short else 12):
            continue
        present = 0.0 if np.isnan(row.present_m) else float(row.present_m)
        words = (
            tr("{present:.3g} m: widen to {wanted_m:.3g}").format(present=present, wanted_m=row.wanted_m)
            if short
            else f"{present:.3g} m"
        )
        if short and present < 0.5:
            words = tr("make a break of {wanted_m:.3g} m").format(wanted_m=row.wanted_m)
        if against and short and row.wanted_m == row.wanted_m:
            words = tr("{present:.3g} of {wanted_m:.3g} m").format(present=present, wanted_m=row.wanted_m)
        run = float(np.hypot(*np.diff(xy, axis=0).T).sum())
        at, unit = along(xy, max(run / 9, 8 * view.px_per_mm), run / 18)
        if not len(at):
            continue
        normal = np.column_stack([-unit[:, 1], unit[:, 0]])
        wide = np.abs(normal[:, :1]) * (0.85 * len(words) + 1.0) + 2.2
        spots = np.vstack(
            [at + normal * s * (wide + off) * view.px_per_mm for s in (1, -1) for off in (0.5, 3, 7)] + [at]
        )
        likes = np.concatenate([[o] * len(at) for _ in (1, -1) for o in (0.6, 1.2, 2.4)] + [[0.2] * len(at)])
        middle = np.tile(np.abs(np.arange(len(at)) - (len(at) - 1) / 2) * 0.12, 7)
        centre = at[len(at) // 2]
        found.append(
            Ask(f"break {k:04d}", (words,), spots, likes + middle, 2 if short else 7, "black" if short else "plate",
                9.0, anchor=(float(centre[0]), float(centre[1])))
        )  # fmt: skip
    return found


def way_out_asks(scene: Scene, view: View, clock: Any = None) -> list[Ask]:
    """Return asks for the ways out: "OUT 1 until 22:30", beside the line."""
    ways = scene.layer("ways_out")
    found = []
    said: set[tuple[str, str]] = set()
    for way in () if ways is None else ways.itertuples():
        until = (
            tr(" until {clock}").format(clock=clock(way.until)) if clock is not None and way.until == way.until else ""
        )
        if (way.name, until) in said:
            continue
        said.add((way.name, until))
        xy = view.points(shapely.get_coordinates(way.geometry))
        run = float(np.hypot(*np.diff(xy, axis=0).T).sum())
        at, unit = along(xy, max(run / 6, 4 * view.px_per_mm), run / 12)
        if not len(at):
            at, unit = xy[-1:], np.array([[1.0, 0.0]])
        normal = np.column_stack([-unit[:, 1], unit[:, 0]])
        wide = np.abs(normal[:, :1]) * (0.9 * len(way.name + until) + 1.5) + 3.0
        spots = np.vstack(
            [at + normal * s * (wide + off) * view.px_per_mm for s in (1, -1) for off in (0, 3, 7)] + [at]
        )
        likes = np.concatenate([[o] * len(at) for _ in (1, -1) for o in (0.0, 0.6, 1.6)] + [[1.0] * len(at)])
        # The words of a way out never stand on ground where nobody should stand: under a power line, in trees.
        likes = likes + 6.0 * _in_no_burn(scene, view, spots)
        found.append(
            Ask(f"way {way.paddock} {way.block} {way.name}", (f"{way.name}{until}",), spots, likes, 1, "plate", 9.0,
                anchor=(float(at[0, 0]), float(at[0, 1])))
        )  # fmt: skip
    return found


def _in_no_burn(scene: Scene, view: View, spots: Array) -> Array:
    """Return 1.0 for places in ground where nothing is lit, else 0.0."""
    if scene.no_burn is None:
        return np.zeros(len(spots))
    east, north = view.from_px(spots[:, 0], spots[:, 1])
    inside: Array = shapely.contains_xy(scene.no_burn, east, north).astype(float)
    return inside


def asset_asks(scene: Scene, view: View, kinds: frozenset[str] | None = None) -> list[Ask]:
    """Return asks for assets' names: round a point, along a line, inside an area."""
    assets = scene.layer("assets")
    found: list[Ask] = []
    if assets is None:
        return found
    spots_of = {asset: at for asset, _, at in symbol_spots(scene, view)}
    frame = ground_of(view)
    mm = view.px_per_mm
    for asset in assets.itertuples():
        words = asset_words(asset)
        if not words or (kinds is not None and asset.kind not in kinds) or asset.kind in ("tree", "pole"):
            continue
        wide = 1.75 * len(words)
        if asset.asset in spots_of:
            spots, likes = round_spot(spots_of[asset.asset], mm, SYMBOL_REACH_MM + 0.4, wide)
        elif asset.geometry.geom_type.endswith("LineString"):
            seen = shapely.intersection(asset.geometry, frame)
            if seen.is_empty:
                continue
            line = max(shapely.get_parts(shapely.line_merge(seen)), key=lambda g: g.length)
            xy = view.points(shapely.get_coordinates(line))
            run = float(np.hypot(*np.diff(xy, axis=0).T).sum())
            at, unit = along(xy, max(run / 14, 6 * mm), run / 28)
            if not len(at):
                continue
            normal = np.column_stack([-unit[:, 1], unit[:, 0]])
            off = np.abs(normal[:, :1]) * wide / 2 + 3.0
            spots = np.vstack([at + normal * s * off * mm for s in (1, -1)] + [at])
            likes = np.concatenate([[0.0] * len(at)] * 2 + [[1.0] * len(at)])
        else:
            continue
        important = asset.kind in ("gate", "water", "power_line")
        found.append(
            Ask(f"asset {asset.asset}", (words,), spots, likes, 3 if important else 5, "halo", 8.5, True,
                owner=str(asset.asset))
        )  # fmt: skip
    return found


def asset_words(asset: Any) -> str:
    """Return an asset's words on the map: its name, and its water."""
    words = str(asset.name or ("" if asset.kind in ("track", "road") else ASSET_KINDS[asset.kind].label))
    water = float(asset.water_l)
    return f"{words} {water:,.0f} L" if asset.kind == "water" and water > 0 else words


def land_asks(scene: Scene, view: View, layer: str, column: str, rank: int = 8) -> list[Ask]:
    """Return asks for the names of areas (neighbours, paddocks), inside what the view shows of them."""
    land = scene.layer(layer)
    frame = ground_of(view)
    found = []
    for k, row in enumerate(() if land is None else land.itertuples()):
        words = str(getattr(row, column))
        seen = shapely.intersection(row.geometry, frame)
        if words and not seen.is_empty and seen.area * view.px_per_m**2 > (12 * view.px_per_mm) ** 2:
            spots, likes = grid_spots(to_px(seen, view), 7 * view.px_per_mm)
            found.append(Ask(f"land {layer} {k:03d}", (words,), spots, likes * 0.2, rank, "halo", 9.0, False))
    return found


def frame_asks(view: View, frames: dict[int, Any]) -> list[Ask]:
    """Return asks for the numbers of maps of parts, inside their frames: number to area in metres."""
    found = []
    for number, frame in frames.items():
        spots, likes = grid_spots(to_px(frame, view), 6 * view.px_per_mm)
        found.append(
            Ask(f"frame {number:03d}", (tr("map {number}").format(number=number),), spots, likes, 0, "black", 14.0)
        )
    return found


def start_finish_asks(scene: Scene, view: View) -> list[Ask]:
    """Return asks for the words START and FINISH beside their symbols."""
    found = []
    for k, (word, at) in enumerate(start_finish(scene, view)):
        spots, likes = round_spot(at, view.px_per_mm, 2.8, 1.9 * len(word))
        found.append(Ask(f"mark {k:03d} {word}", (word,), spots, likes, 1, "halo", 10.0, owner=f"{word} {k}"))
    return found


def symbol_obstacles(scene: Scene, view: View) -> list[Obstacle]:
    """Return the boxes of symbols, which no word may cover."""
    reach = SYMBOL_REACH_MM * view.px_per_mm
    spots = [(name, at) for name, _, at in symbol_spots(scene, view)]
    spots += [(f"{word} {k}", at) for k, (word, at) in enumerate(start_finish(scene, view))]
    spots += [(f"safe {name}", at) for name, at in safe_spots(scene, view)]
    spots += [(f"danger {k}", at) for k, at in enumerate(danger_spots(scene, view))]
    return [Obstacle(n, (at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)) for n, at in spots]


def map_obstacles(scene: Scene, view: View) -> list[Obstacle]:
    """Return all that no word may cover: symbols, the rows' lighting ends (leaders may cross those), ways out."""
    mm = view.px_per_mm
    found = symbol_obstacles(scene, view)
    points = scene.layer("lighting_points")
    if points is not None:
        first = points.sort_values("lit_at", kind="stable").drop_duplicates("piece_id")
        ends = view.points(np.column_stack([first.geometry.x, first.geometry.y]))
        found += [Obstacle("end", (x - 0.5 * mm, y - 0.5 * mm, x + 0.5 * mm, y + 0.5 * mm), False) for x, y in ends]
    ways = scene.layer("ways_out")
    for way in () if ways is None else ways.itertuples():
        xy, _ = along(view.points(shapely.get_coordinates(way.geometry)), 2.0 * mm)
        found += [Obstacle("way", (x - 1.4 * mm, y - 1.4 * mm, x + 1.4 * mm, y + 1.4 * mm)) for x, y in xy]
    return found


def number_badge(scene: Scene, view: View, numbers: dict[str, int]) -> list[Ask]:
    """Return asks for numbers tied to a table, beside the assets they stand for: asset id to number."""
    assets = scene.layer("assets")
    found: list[Ask] = []
    frame = ground_of(view, view.mm(4))
    symbols = {name for name, _, _ in symbol_spots(scene, view)}
    for asset in () if assets is None else assets.itertuples():
        seen = shapely.intersection(asset.geometry, frame)
        if asset.asset not in numbers or seen.is_empty:
            continue
        middle = shapely.get_coordinates(to_px(seen.representative_point(), view))[0]
        owner = asset.asset if asset.asset in symbols else ""
        spots, likes = round_spot(middle, view.px_per_mm, SYMBOL_REACH_MM if owner else 0.5, 4.0)
        number = str(numbers[asset.asset])
        found.append(Ask(f"badge {asset.asset}", (number,), spots, likes, 1, "black", 9.0, leader=True,
                         anchor=(float(middle[0]), float(middle[1])), owner=owner))  # fmt: skip
    return found
