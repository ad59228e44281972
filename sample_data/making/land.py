"""The invented land: paddocks, roads, what stands on it, neighbours, present breaks. Metres in MGA2020 zone 54.

Every figure here is made up. Phone numbers are from the range kept for fiction in Australia.
"""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely import affinity, line_merge
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

CRS = "EPSG:7854"
EAST, NORTH = 553_900.0, 5_993_700.0  # longitude 141.6, latitude -36.2 nearly
MARK = "Example Farm (invented)"


def at(x: float, y: float) -> tuple[float, float]:
    """Return grid coordinates of a place given in metres from the farm's crossing."""
    return EAST + x, NORTH + y


def line(*places: tuple[float, float]) -> LineString:
    return LineString([at(*p) for p in places])


def area(*places: tuple[float, float]) -> Polygon:
    return Polygon([at(*p) for p in places])


def point(x: float, y: float) -> Point:
    return Point(at(x, y))


WINDMILL_ROAD = line((-3300, 60), (-2400, 8), (-1100, 0), (400, 0), (1650, -6), (4200, -60))
GRANITE_ROAD = line((520, 2700), (560, 1560), (640, 1331), (1545, -35), (2080, -850), (3200, -2700), (3700, -3600))
HOUSE_LANE = line((-1480, 0), (-1476, -120), (-1500, -240), (-1540, -310))
MIDDLE_LANE = line((-395, 0), (-390, -330), (-330, -640), (-318, -1120))
VINE_LANE = line((2970, -2315), (3110, -2385), (3240, -2490))
POWER_LINE = line((-3300, -420), (-1700, -395), (240, -365), (1900, -330), (4200, -290))
DAM = affinity.rotate(affinity.scale(point(-520, 640).buffer(1.0), 62, 38), 25)
TREES_AT_DAM = area((-455, 690), (-395, 700), (-360, 655), (-400, 610), (-450, 625))
LONE_TREES = ((640, 420), (905, 610), (520, 905))


def creek_bank() -> np.ndarray:
    """Return the creek side of Creek Flat, east to west: a smooth winding line."""
    x = np.linspace(1960, 262, 120)
    y = -800 + 105 * np.sin((x - 250) / 265.0) + 55 * np.sin((x + 90) / 128.0) * np.sin(np.pi * (x - 262) / 1698) ** 2
    return np.column_stack([x + EAST, y + NORTH])


def paddock_shapes() -> dict[str, Polygon | MultiPolygon]:
    """Return the six paddocks by name."""
    dam_outline = area((-1000, 28), (90, 26), (205, 450), (120, 940), (-260, 1180), (-770, 1050), (-1030, 540))
    dam_paddock = dam_outline.difference(DAM.buffer(8)).difference(TREES_AT_DAM.buffer(6))
    corner = area((345, 30), (1455, 28), (569, 1365), (420, 1345))
    bank = creek_bank()
    creek = Polygon([at(262, -30), at(1510, -36), at(1960, -740), *bank])
    lane_gap = MIDDLE_LANE.buffer(9, cap_style="flat")
    both = area((-890, -28), (145, -28), (195, -450), (130, -900), (-610, -960), (-870, -640)).difference(lane_gap)
    halves = MultiPolygon(sorted((p for p in both.geoms if p.area > 1e4), key=lambda p: p.centroid.x))
    back = area((-2230, 45), (-1150, 32), (-1172, 620), (-1690, 648), (-1680, 1160), (-2200, 1180))
    house = area((-1330, -40), (-1010, -38), (-985, -255), (-1150, -335), (-1322, -300))
    shapes = {
        "Dam Paddock": dam_paddock,
        "Granite Corner": corner,
        "Creek Flat": creek,
        "Lane Paddock": halves,
        "Back Block": back,
        "House Paddock": house,
    }
    return {name: shape.buffer(0) if shape.geom_type == "Polygon" else shape for name, shape in shapes.items()}


def paddocks() -> gpd.GeoDataFrame:
    """Return layer paddocks. row_heading_deg and header_width_m are those driven (Back Block: as remembered)."""
    shapes = paddock_shapes()
    table = pd.DataFrame(
        [
            ("Dam Paddock", "wheat", 2.4, 0.12, 2.4, 100.0, 12.2, 84.0, 3.0),
            ("Granite Corner", "wheat", 2.1, 0.12, 2.1, 100.0, 12.2, 146.5, 2.0),
            ("Creek Flat", "barley", 2.6, 0.15, 2.6, 100.0, 13.7, 88.0, 3.0),
            ("Lane Paddock", "canola", 1.2, 0.20, 1.9, 100.0, 13.7, 4.0, 2.0),
            ("Back Block", "wheat", 2.0, 0.12, 2.0, 100.0, 12.2, 178.5, 3.0),
            ("House Paddock", "barley", 2.2, 0.15, 2.3, 100.0, 13.7, 86.0, 2.0),
        ],
        columns=["paddock", "crop", "yield_t_ha", "cut_height_m", "stubble_t_ha", "curing_pct", "header_width_m",
                 "row_heading_deg", "headland_laps"],
    )  # fmt: skip
    return gpd.GeoDataFrame(table, geometry=[shapes[n] for n in table["paddock"]], crs=CRS)


def _poles() -> list[Point]:
    return [POWER_LINE.interpolate(d) for d in np.arange(85.0, POWER_LINE.length, 130.0)]


def poles_inside(shape: Any) -> list[Point]:
    """Return the power poles that stand inside a paddock."""
    return [p for p in _poles() if shape.contains(p)]


def assets() -> gpd.GeoDataFrame:
    """Return layer assets: everything on and round the farm that a burn must respect."""
    rows: list[tuple[Any, ...]] = []

    def put(
        kind: str, geometry: Any, name: str = "", neighbour: str = "", water: float = np.nan, note: str = ""
    ) -> None:
        rows.append((f"A{len(rows) + 1:02d}", kind, name, neighbour, water, note or "invented", geometry))

    put("house", point(-1580, -330), "Home")
    put("shed", box(*at(-1500, -300), *at(-1455, -270)), "Machinery shed")
    put("shed", box(*at(-1470, -240), *at(-1440, -222)), "Grain shed")
    put("haystack", box(*at(-1360, -205), *at(-1342, -160)), "Hay at the gate of House Paddock")
    put("house", point(1905, 745), "House N1", "N1")
    put("shed", box(*at(1950, 770), *at(1978, 790)), "Shed N1", "N1")
    put("house", point(-2790, -640), "House N2", "N2")
    put("house", point(905, -1560), "House N3", "N3")
    put("haystack", box(*at(1010, -1490), *at(1032, -1442)), "Hay N3", "N3")
    put("house", point(3130, -2410), "House N4", "N4")
    put("vineyard", area((3250, -2500), (3900, -2560), (3880, -3150), (3560, -3100)), "Vines N4", "N4")
    put("road", WINDMILL_ROAD, "Windmill Road", note="public road, sealed; invented")
    put("road", GRANITE_ROAD, "Granite Road", note="public road, gravel; invented")
    put("track", HOUSE_LANE, "House lane")
    put("track", MIDDLE_LANE, "Middle lane", note="runs between the two parts of Lane Paddock; invented")
    put("track", VINE_LANE, "Vine lane", "N4")
    put("power_line", POWER_LINE, "Power line", note="timber poles; invented")
    for i, pole in enumerate(p for p in _poles() if -1500 < p.x - EAST < 2100):
        put("pole", pole, f"P{i + 1}")
    put("trees", TREES_AT_DAM, "Trees at the dam")
    edge_of_trees = LineString(creek_bank()).offset_curve(12)
    put("trees", edge_of_trees.buffer(26, single_sided=True), "Creek trees", "N3")
    put("trees", area((-1148, 700), (-1095, 705), (-1080, 985), (-1140, 1010)), "Remnant east of Back Block")
    for i, place in enumerate(LONE_TREES):
        put("tree", point(*place), f"T{i + 1}", note="lone paddock tree; invented")
    put("water", DAM, "Dam", water=2_400_000.0)
    put("water", point(-1530, -275), "Tank at the sheds", water=90_000.0)
    put("water", point(1490, -12), "Road tank", water=22_500.0)
    put("water", point(-2232, 620), "Trough tank", water=13_500.0)
    gates = ((-560, 27), (-1014, 300), (905, 29), (860, -33), (1700, -322), (-620, -28), (-100, -28), (-398, -560),
             (-1640, 37), (-1180, -39))  # fmt: skip
    for i, place in enumerate(gates):
        put("gate", point(*place), f"G{i + 1}")
    put("bare", area((-2210, 1198), (-1670, 1178), (-1650, 1800), (-2250, 1840)), "Fallow north of Back Block", "N2",
        note="bare fallow; invented")  # fmt: skip
    put("green", area((255, 1395), (525, 1412), (490, 2050), (180, 2010)), "Lucerne north of Granite Corner", "N1",
        note="green lucerne; invented")  # fmt: skip
    put("bare", area((-830, -990), (-620, -982), (125, -920), (120, -1200), (-840, -1260)), "Fallow south of the lane",
        "N3", note="bare fallow; invented")  # fmt: skip
    columns = ["asset", "kind", "name", "neighbour", "water_l", "note", "geometry"]
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=columns), geometry="geometry", crs=CRS)


def neighbours() -> gpd.GeoDataFrame:
    """Return layer neighbours: four, with parcels that touch neither the farm nor the roads."""
    farm = gpd.GeoSeries(paddock_shapes().values(), crs=CRS).union_all().buffer(14, join_style="mitre")
    roads = WINDMILL_ROAD.buffer(12).union(GRANITE_ROAD.buffer(12))
    wanted = [
        ("N1", "Neighbour 1 (invented)", "0491 570 006", area((600, 2400), (3600, 2400), (3600, -30), (1560, -30),
                                                             (660, 1300), (590, 1480), (250, 1400), (120, 2400))),
        ("N2", "Neighbour 2 (invented)", "0491 570 156", MultiPolygon([
            area((-3300, 90), (-2260, 40), (-2225, 1195), (-1660, 1175), (-1080, 1020), (-770, 1070), (-260, 1200),
                 (90, 1180), (80, 2300), (-3300, 2300)),
            area((-3300, -10), (-2000, -20), (-1980, -1000), (-3300, -1100))])),
        ("N3", "Neighbour 3 (invented)", "0491 570 157", area((-1800, -1120), (-640, -978), (150, -915),
                                                             (250, -700), (2050, -830), (2840, -2180), (-1700, -2300))),
        ("N4", "Neighbour 4 (invented)", "0491 570 158", area((2935, -2230), (4100, -2200), (4100, -3500),
                                                             (3670, -3500))),
    ]  # fmt: skip
    creek_side = Polygon([*creek_bank(), at(262, 0), at(1500, 0), at(1960, -740)])
    shapes = [s.difference(farm).difference(roads).difference(creek_side) for *_, s in wanted]
    return gpd.GeoDataFrame(
        {
            "neighbour": [w[0] for w in wanted],
            "name": [w[1] for w in wanted],
            "phone": [w[2] for w in wanted],
            "told_at": ["2026-04-16 17:30", "", "2026-04-16 18:05", ""],
            "told_by": ["farm manager", "", "farm manager", ""],
        },
        geometry=[_solid(s) for s in shapes],
        crs=CRS,
    )


def _solid(shape: Any) -> Any:
    """Return a parcel without slivers under half a hectare."""
    parts = [p for p in getattr(shape, "geoms", [shape]) if p.area > 5000]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def breaks_there() -> gpd.GeoDataFrame:
    """Return layer breaks_there: what was graded or sprayed. Some are too narrow, Creek Flat's creek side has none."""
    shapes = paddock_shapes()
    rows: list[tuple[float, str, str, Any]] = []

    def along(paddock: str, first: float, last: float, width: float, made_by: str, note: str, part: int = 0) -> None:
        """Put a break just outside the ring, between two shares of its length."""
        shape = shapes[paddock]
        shape = shape.geoms[part] if shape.geom_type == "MultiPolygon" else shape
        ring = Polygon(shape.exterior).buffer(width / 2, join_style="mitre").exterior
        if not ring.is_ccw:
            ring = LineString(list(ring.coords)[::-1])
        steps = np.linspace(first, last, 200) * ring.length
        path = LineString([ring.interpolate(s) for s in steps]).simplify(0.3)
        rows.append((width, made_by, note, path))

    along("Dam Paddock", 0.0, 0.62, 10.0, "grader", "graded March")
    along("Dam Paddock", 0.62, 1.0, 6.0, "grader", "single pass only")
    along("Granite Corner", 0.0, 1.0, 8.0, "disc", "two passes")
    along("Lane Paddock", 0.0, 1.0, 10.0, "grader", "graded March", 0)
    along("Lane Paddock", 0.0, 1.0, 10.0, "grader", "graded March", 1)
    along("Back Block", 0.0, 0.55, 5.0, "spray and disc", "half done")
    along("House Paddock", 0.0, 1.0, 8.0, "disc", "two passes")
    shape = shapes["Creek Flat"]
    # Nothing along the creek.
    ring = shape.buffer(5, join_style="mitre").exterior
    top = line_merge(ring.difference(LineString(creek_bank()).buffer(14)))
    for part in getattr(top, "geoms", [top]):
        if part.length > 100:
            rows.append((10.0, "grader", "north, east and west sides; creek side open", part))
    for name, width in (("DAM", 6.0), ("TREES", 4.0)):
        hole = DAM.buffer(8) if name == "DAM" else TREES_AT_DAM.buffer(6)
        note = "round the dam" if name == "DAM" else "round the trees at the dam"
        rows.append((width, "disc", note, LineString(hole.buffer(-width / 2).exterior.coords)))
    frame = pd.DataFrame(rows, columns=["width_m", "made_by", "note", "geometry"])
    frame["note"] += "; invented"
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=CRS)
