"""Invented plans of any shape, for tests of paper: headings, sizes, holes, curves, winds, from a strategy."""

from dataclasses import dataclass, replace
from datetime import timedelta

import geopandas as gpd
import numpy as np
import shapely
from hypothesis import strategies as st
from shapely import affinity

from mapper.plan.burnplan import BurnPlan
from mapper.weather.wind import WindChange
from tests import demo
from tests.farms import EAST, NORTH


@dataclass(frozen=True)
class Shape:
    """radii: of the corners, metres, evenly round; stretch: long to wide; heading: the rows' turn from north."""

    radii: tuple[float, ...]
    stretch: float
    heading_deg: float
    hole: bool
    curved: bool
    pitch_m: float
    blocks: int
    wind_deg: float
    go: bool


def shapes() -> st.SearchStrategy[Shape]:
    """Paddocks from under one to some hundred hectares, 1 to 400 rows; each number gives one of its own."""
    return st.integers(0, 2**20).map(shape_of)


def shape_of(number: int) -> Shape:
    """Return the shape that belongs to a number."""
    chance = np.random.default_rng(number)
    size = chance.choice((45.0, 120.0, 300.0, 500.0, 800.0))
    return Shape(
        tuple(float(size * v) for v in chance.uniform(0.62, 1.0, int(chance.integers(4, 10)))),
        float(chance.choice((1.0, 1.4, 2.5, 6.0))), float(chance.choice((0.0, 12.0, 44.0, 77.0, 131.0))),
        bool(chance.integers(2)), bool(chance.integers(2)), float(chance.choice((6.0, 9.0, 12.2, 18.0))),
        int(chance.integers(1, 9)), float(chance.choice((0.0, 75.0, 190.0, 315.0))), bool(chance.integers(2)),
    )  # fmt: skip


def shaped_plan(shape: Shape) -> BurnPlan | None:
    """Return a plan of a paddock of this shape, or None where no row finds room in it."""
    turn = np.linspace(0, 2 * np.pi, len(shape.radii), endpoint=False)
    wide, tall = 1 / np.sqrt(shape.stretch), np.sqrt(shape.stretch)
    xy = np.column_stack([np.sin(turn) * wide, np.cos(turn) * tall]) * np.array(shape.radii)[:, None]
    area = shapely.Polygon(xy + np.array([EAST + 1200, NORTH + 1200]))
    if shape.hole and area.area > 4e4:
        area = area.difference(area.centroid.buffer(0.16 * np.sqrt(area.area)))
    if shapely.buffer(area, -16).is_empty:
        return None
    old_land, old_shapes = demo.land, dict(demo.SHAPES)
    demo.land = lambda name: area
    demo.SHAPES["Shaped"] = []
    try:
        rows = demo._rows_of("Shaped", shape.curved, shape.pitch_m)
        trees = area.centroid.buffer(40)
        lit = [r for r in rows if not (shape.curved and r.intersects(trees))]
        if not lit or len(rows) > 400:
            return None
        blocks = min(shape.blocks, max(len(rows) // 3, 1))
        plan = demo.demo_plan(("Shaped",), shape.curved, shape.pitch_m, blocks, shape.go)
    finally:
        demo.land = old_land
        demo.SHAPES.clear()
        demo.SHAPES.update(old_shapes)
    return _winded(_turned(plan, shape.heading_deg, area.centroid), shape.wind_deg)


def _turned(plan: BurnPlan, heading_deg: float, about: shapely.Point) -> BurnPlan:
    def turned(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        if layer.empty:
            return layer
        made = layer.copy()
        made["geometry"] = [affinity.rotate(g, -heading_deg, origin=about) for g in layer.geometry]
        if "facing_deg" in made:
            made["facing_deg"] = (made["facing_deg"] + heading_deg) % 360
        return made

    names = [n for n in vars(plan) if isinstance(getattr(plan, n), gpd.GeoDataFrame)]
    farm = plan.farm.with_(**{n: turned(getattr(plan.farm, n)) for n in ("paddocks", "assets", "neighbours")})
    return replace(plan, farm=farm, **{n: turned(getattr(plan, n)) for n in names})


def _winded(plan: BurnPlan, wind_deg: float) -> BurnPlan:
    hours = plan.hours.copy()
    change = demo.CHANGE.at
    after = (wind_deg + 270) % 360
    hours["wind_from_deg"] = np.where(hours["time_utc"] >= change, after, wind_deg)
    swing = WindChange(change + timedelta(0), wind_deg, after, 11.0, 20.0, 45.0)
    edges = plan.edges.copy()
    for column, wind in (("label", wind_deg), ("label_after", after)):
        apart = np.abs((edges["facing_deg"] - wind - 180 + 180) % 360 - 180)
        edges[column] = np.where(apart <= 60, "downwind", "upwind")
    return replace(plan, hours=hours, changes=(swing,), edges=edges)
