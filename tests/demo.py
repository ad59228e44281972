"""Invented plans for tests of paper and screen: straight rows, curved rows, a tiny paddock, a long thin one.

Nothing here is computed by the program's own stages, so that painting is tested alone.
"""

from datetime import UTC, date, datetime, timedelta

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.farm import Crew, Farm
from mapper.farm.layers import empty_layer, make_layer, stack_layers
from mapper.farm.notes import Figure, Remark
from mapper.hours.verdict import BanCheck, Window
from mapper.plan.burnplan import BurnPlan
from mapper.weather.wind import WindChange
from tests.farms import EAST, GRID, NORTH, evening_forecast, limits

CRS = GRID.crs
NIGHT = date(2026, 4, 18)
MADE_AT = datetime(2026, 4, 17, 6, 40, tzinfo=UTC)
SUNSET = datetime(2026, 4, 18, 8, 1, tzinfo=UTC)
SUNRISE = datetime(2026, 4, 18, 20, 52, tzinfo=UTC)
FIRST = datetime(2026, 4, 18, 8, 30, tzinfo=UTC)
_WEST = "West edge is 6 m. Your local limit is 10 m."
CHANGE = WindChange(datetime(2026, 4, 18, 12, 30, tzinfo=UTC), 315.0, 225.0, 11.0, 20.0, 45.0)

# Corners in metres from the farm's origin, and the row pitch.
SHAPES: dict[str, list[tuple[float, float]]] = {
    "Bottom Dam": [(0, 100), (0, 780), (160, 840), (800, 840), (900, 700), (900, 0), (130, 0), (130, 100)],
    "Shed Hill": [(1300, 100), (1240, 470), (1400, 760), (1640, 720), (1690, 850), (2000, 800), (2180, 500),
                  (2120, 130), (1700, 20)],
    "Hut": [(-300, -200), (-300, -80), (-150, -60), (-130, -190)],
    "Long Strip": [(0, -700), (0, -560), (2600, -500), (2600, -640)],
}  # fmt: skip


def land(name: str) -> shapely.Polygon:
    """The paddock's area in the farm's grid."""
    return shapely.Polygon([(EAST + x, NORTH + y) for x, y in SHAPES[name]])


def demo_farm(names: tuple[str, ...] = ("Bottom Dam",)) -> Farm:
    """An invented farm round some paddocks."""
    areas = [land(n) for n in names]
    paddocks = make_layer(
        "paddocks",
        {"paddock": list(names), "crop": ["wheat"] * len(names), "yield_t_ha": [3.2] * len(names),
         "header_width_m": [12.0] * len(names)},
        areas, CRS,
    )  # fmt: skip
    west, south, east, north = shapely.union_all(areas).bounds
    point, line = shapely.Point, shapely.LineString
    things = [
        ("H1", "house", "House", "", point(west + 60, south - 60)),
        ("S1", "shed", "Shed", "", point(west + 100, south - 75)),
        ("K1", "haystack", "Hay stack", "", point(west - 110, south + 200)),
        ("G1", "gate", "G1", "", point(east, south + 12)),
        ("G2", "gate", "G2", "", point(west, (south + north) / 2)),
        ("W1", "water", "W1", "", point(east + 90, south + 110)),
        ("T1", "trees", "Trees", "", point((west + east) / 2, (south + north) / 2).buffer(24)),
        ("P1", "power_line", "Power line", "", line([(east - 320, north + 120), (east + 140, north - 420)])),
        ("P2", "pole", "", "", point(east - 258.3, north + 47.6)),
        ("P3", "pole", "", "", point(east + 40, north - 302.6)),
        ("R1", "road", "Tank Road", "", line([(west - 900, north + 60), (east + 1500, north + 60)])),
        ("H2", "house", "House", "N1", point(east + 700, south + 200)),
        ("H3", "house", "House", "N2", point(west - 500, north + 300)),
        ("V1", "vineyard", "Vines", "N2", shapely.box(west - 700, north + 130, west - 450, north + 260)),
    ]
    assets = make_layer(
        "assets",
        {"asset": [t[0] for t in things], "kind": [t[1] for t in things], "name": [t[2] for t in things],
         "neighbour": [t[3] for t in things], "water_l": [5000.0 if t[1] == "water" else np.nan for t in things]},
        [t[4] for t in things], CRS,
    )  # fmt: skip
    neighbours = make_layer(
        "neighbours",
        {"neighbour": ["N1", "N2"], "name": ["Neighbour 1", "Neighbour 2"],
         "phone": ["0491 570 006", "0491 570 156"]},
        [shapely.box(east + 20, south - 150, east + 1100, north + 40),
         shapely.box(west - 900, north + 80, east - 200, north + 900)], CRS,
    )  # fmt: skip
    return Farm(
        name="Example Farm", grid=GRID, zone="Australia/Melbourne", paddocks=paddocks, assets=assets,
        neighbours=neighbours, breaks_there=empty_layer("breaks_there", CRS), limits=limits(),
        crews=(Crew("Crew 1"), Crew("Crew 2", people=2)), forecast=evening_forecast(), in_charge="A. Example",
        phone="0491 570 110", invented=True,
    )  # fmt: skip


def _rows_of(name: str, curved: bool, pitch_m: float) -> list[shapely.LineString]:
    """Row lines inside the paddock, in burning order (east to west, or south to north where they curve)."""
    area = shapely.buffer(land(name), -16)
    west, south, east, north = area.bounds
    found = []
    if curved:
        x = np.linspace(west, east, 80)
        wave = 45 * np.sin((x - west) / (east - west) * 2.6)
        lines = [shapely.linestrings(np.column_stack([x, y + wave])) for y in np.arange(south - 60, north, pitch_m)]
    elif east - west > 3 * (north - south):
        lines = [shapely.LineString([(east, y), (west, y + 60)]) for y in np.arange(south - 60, north, pitch_m)]
    else:
        lines = [shapely.LineString([(x, south), (x, north)]) for x in np.arange(east - pitch_m / 2, west, -pitch_m)]
    for one in lines:
        parts = shapely.get_parts(shapely.intersection(one, area))
        found += [p for p in parts if p.geom_type == "LineString" and p.length > 15]
    return found


def _paddock_layers(name: str, first_at: datetime, curved: bool, pitch_m: float, blocks: int) -> dict[str, object]:
    lines = _rows_of(name, curved, pitch_m)
    n = len(lines)
    trees = land(name).centroid.buffer(40)
    left = np.array([bool(curved and g.intersects(trees)) for g in lines])
    number = np.where(left, 0, np.cumsum(~left))
    share = np.minimum((np.arange(n) * blocks) // max(n, 1), blocks - 1)
    letters = np.array([chr(65 + k) for k in share])
    minute = np.arange(n) * 150.0 / max(n, 1)
    lit = [first_at + timedelta(minutes=float(m)) for m in minute]
    ids = [f"{name}-{k + 1:03d}" for k in range(n)]
    length = [g.length for g in lines]
    base = {"paddock": [name] * n}
    windrows = make_layer(
        "windrows",
        {**base, "row_id": ids, "machine": ["Harvester 1"] * n, "length_m": length, "load_kg_m": [2.4] * n,
         "load_t_ha": [34.0] * n, "load_class": ["right"] * n, "evidence": ["log"] * n},
        lines, CRS,
    )  # fmt: skip
    pieces = make_layer(
        "pieces",
        {**base, "piece_id": ids, "row_id": ids, "block": letters, "order_no": number, "crew": ["Crew 1"] * n,
         "lit_at": lit, "out_at": [t + timedelta(minutes=40) for t in lit],
         "left_reason": np.where(left, "inside the trees' ring", ""), "length_m": length},
        lines, CRS,
    )  # fmt: skip
    points = make_layer(
        "lighting_points",
        {"paddock": [name] * int((~left).sum()), "block": letters[~left], "piece_id": np.array(ids)[~left],
         "order_no": number[~left], "crew": ["Crew 1"] * int((~left).sum()),
         "lit_at": [t for t, gone in zip(lit, left, strict=True) if not gone]},
        [shapely.Point(g.coords[0 if (g.coords[0][1] <= g.coords[-1][1]) != curved else -1])
         for g, gone in zip(lines, left, strict=True) if not gone], CRS,
    )  # fmt: skip
    shapes, rows = [], []
    for k in range(blocks):
        mine = (share == k) & ~left
        if not mine.any():
            continue
        around = shapely.buffer(shapely.multilinestrings([lines[i] for i in np.flatnonzero(mine)]), pitch_m / 2 + 0.2)
        shapes.append(shapely.intersection(around, land(name)))
        start = lit[int(np.flatnonzero(mine)[0])]
        rows.append({"paddock": name, "block": chr(65 + k), "first_no": int(number[mine].min()),
                     "last_no": int(number[mine].max()), "starts_at": start,
                     "ends_at": start + timedelta(minutes=150 / blocks), "crew": "Crew 1",
                     "note": "test row first" if k == 0 else ""})  # fmt: skip
    table = {c: [r[c] for r in rows] for c in rows[0]}
    return {"windrows": windrows, "pieces": pieces, "lighting_points": points,
            "blocks": make_layer("blocks", table, shapes, CRS), **_edge_layers(name)}  # fmt: skip


def _edge_layers(name: str) -> dict[str, gpd.GeoDataFrame]:
    ring = shapely.get_coordinates(shapely.orient_polygons(land(name)).exterior)
    sides = [shapely.LineString(ring[k : k + 2]) for k in range(len(ring) - 1)]
    n = len(sides)
    step = np.diff(ring, axis=0)
    facing = np.degrees(np.arctan2(step[:, 1], -step[:, 0])) % 360
    downwind = np.abs((facing - 135 + 180) % 360 - 180) <= 60
    after = np.abs((facing - 45 + 180) % 360 - 180) <= 60
    compass = ["North", "North-east", "East", "South-east", "South", "South-west", "West", "North-west"]
    words = [f"{compass[int(np.round(f / 45)) % 8]} edge" for f in facing]
    present = np.where(np.abs((facing - 270 + 180) % 360 - 180) < 40, 6.0, 10.0)
    edges = make_layer(
        "edges",
        {"edge_id": [f"{name}-E{k}" for k in range(n)], "paddock": [name] * n, "length_m": [s.length for s in sides],
         "facing_deg": facing, "label": np.where(downwind, "downwind", "upwind"),
         "label_after": np.where(after, "downwind", "upwind"), "chance_downwind": np.where(downwind, 0.8, 0.1),
         "reach_m": [120.0] * n, "intensity_kw_m": [900.0] * n, "breach": [0.02] * n,
         "beyond": ["standing stubble"] * n},
        sides, CRS,
    )  # fmt: skip
    breaks = make_layer(
        "breaks",
        {"paddock": [name] * n, "guards": ["standing stubble"] * n, "side": words, "present_m": present,
         "wanted_m": [10.0] * n, "wanted_by": ["invented for a test, 2026-03-01"] * n, "short_m": 10.0 - present,
         "length_m": [s.length for s in sides],
         "todo": np.where(present < 10, "widen by 4 m along its length (plough)", "")},
        sides, CRS,
    )  # fmt: skip
    return {"edges": edges, "breaks": breaks}


def _hours() -> pd.DataFrame:
    times = pd.date_range("2026-04-18T02:00Z", periods=24, freq="h").astype("datetime64[ns, UTC]")
    k = np.arange(24)
    changed = times >= CHANGE.at
    hours = pd.DataFrame({"time_utc": times, "time_local": times.tz_convert("Australia/Melbourne")})
    hours["temp_c"], hours["rh_pct"] = 24 - 0.6 * k, 38 + 1.5 * k
    hours["wind_km_h"], hours["gust_km_h"] = np.where(changed, 20.0, 11.0), np.where(changed, 28.0, 16.0)
    hours["wind_from_deg"] = np.where(changed, 225.0, 315.0)
    hours["rain_mm"], hours["cloud_pct"], hours["moisture_pct"] = 0.0, 60.0, 9.0
    for index in ("gfdi_mk3", "gfdi_mk4", "gfdi_mk5", "fbi"):
        hours[index] = 7.0 - 0.2 * k
    hours["stability"], hours["is_night"] = "D", (times > SUNSET) & (times < SUNRISE)
    for judged in ("stay_in_row", "heat", "smoke", "local_rules"):
        hours[judged], hours[f"{judged}_why"] = "go", ""
    hours["verdict"] = np.where((times >= FIRST - timedelta(minutes=30)) & (times < CHANGE.at), "go", "no-go")
    hours["why"] = np.where(hours["verdict"] == "go", "", "outside your hours")
    return hours


def demo_plan(
    names: tuple[str, ...] = ("Bottom Dam",),
    curved: bool = False,
    pitch_m: float = 12.0,
    blocks: int = 5,
    go: bool = True,
) -> BurnPlan:
    """An invented plan. names: keys of SHAPES. curved: rows follow a wave. blocks: how many letters a paddock."""
    farm = demo_farm(names)
    made = [_paddock_layers(n, FIRST + timedelta(minutes=20 * k), curved, pitch_m, blocks) for k, n in enumerate(names)]
    layers = {
        layer: stack_layers(layer, [m[layer] for m in made], CRS)
        for layer in ("windrows", "pieces", "lighting_points", "blocks", "edges", "breaks")
    }
    west, south, east, north = farm.paddocks.total_bounds
    gates = [
        (east, south + 12, east - 200, south - 60),
        (west, (south + north) / 2, west - 140, (south + north) / 2 + 90),
    ]
    ways = make_layer(
        "ways_out",
        {"paddock": [names[0]] * 2, "block": ["A", "E"], "name": ["OUT 1", "OUT 2"], "to": ["safe ground, bare", "G2"],
         "until": [CHANGE.at, pd.NaT]},
        [shapely.LineString([(g[0], g[1] - 40), (g[2], g[3])]) for g in gates], CRS,
    )  # fmt: skip
    assets = farm.assets.set_index("asset").geometry
    care = [("P1", "power_line", "Power line", "no burn", 20.0), ("T1", "trees", "Trees", "no burn", 4.0),
            ("H1", "house", "House", "care", 50.0), ("R1", "road", "Tank Road", "care", 20.0)]  # fmt: skip
    buffers = make_layer(
        "buffers",
        {"asset": [c[0] for c in care], "kind": [c[1] for c in care], "name": [c[2] for c in care],
         "purpose": [c[3] for c in care], "distance_m": [c[4] for c in care],
         "source": ["invented for a test, 2026-03-01"] * len(care)},
        [assets[c[0]].buffer(c[4]) for c in care], CRS,
    )  # fmt: skip
    area = farm.paddocks.union_all()
    plumes = []
    for towards in (135.0, 45.0):
        turn = np.radians(towards + np.linspace(-25, 25, 9))
        fan = [(area.centroid.x + 1500 * np.sin(t), area.centroid.y + 1500 * np.cos(t)) for t in turn]
        for share in (1.0, 0.55, 0.3):
            tip = shapely.MultiPoint([(area.centroid.x + (x - area.centroid.x) * share,
                                       area.centroid.y + (y - area.centroid.y) * share) for x, y in fan])  # fmt: skip
            plumes.append(shapely.convex_hull(shapely.union(area.centroid.buffer(150), tip)))
    smoke = make_layer(
        "smoke",
        {"paddock": [""] * 6, "when": ["now"] * 3 + ["after"] * 3, "level": ["haze", "smoke", "thick smoke"] * 2,
         "starts_at": [FIRST] * 3 + [CHANGE.at] * 3, "ends_at": [CHANGE.at] * 3 + [CHANGE.at + timedelta(hours=1)] * 3,
         "pm25_ug_m3": [25.0, 100.0, 400.0] * 2},
        plumes, CRS,
    )  # fmt: skip
    tell = pd.DataFrame(
        [{"who": w, "neighbour": i, "role": r, "phone": p, "why": y, "by": pd.Timestamp(FIRST) - pd.Timedelta("24h"),
          "told_at": ""}
         for w, i, r, p, y in (
             ("Fire service", "", "authority", "", "every burn"),
             ("Local authority or permit officer", "", "authority", "", "permit and local code"),
             ("Neighbour 1", "N1", "neighbour", "0491 570 006", "land adjoins the burn, smoke may drift there"),
             ("Neighbour 2", "N2", "neighbour", "0491 570 156", "land adjoins the burn"),
             ("Tank Road", "", "public road", "", "within its care distance"))]
    )  # fmt: skip
    return BurnPlan(
        number=7, farm=farm, night=NIGHT, made_at=MADE_AT, author="the farm manager", paddocks=names,
        heaps=empty_layer("heaps", CRS), buffers=buffers, ways_out=ways, smoke=smoke, hours=_hours(),
        windows=(Window(FIRST, CHANGE.at - timedelta(minutes=50), "go"),), changes=(CHANGE,), sunset=SUNSET,
        sunrise=SUNRISE, ban=BanCheck("none", MADE_AT, "A. Example") if go else BanCheck(), tell=tell, go=go,
        against=() if go else ("Nobody has looked whether a ban is declared.", _WEST),
        remarks=(Remark("breaks", "look", _WEST, names[0]),),
        figures=(Figure("Row load, middle", 2.4, "kg/m", "invented for a test"),), **layers,
    )  # fmt: skip
