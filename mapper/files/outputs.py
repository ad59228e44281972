"""What a plan leaves on the disk beside its sheets: layers for any GIS, a summary, and the order for the ute."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper import __version__
from mapper.files.atomic import written_whole
from mapper.files.gpx import write_gpx
from mapper.files.kml import write_kml
from mapper.plan.burnplan import CAUTION, BurnPlan
from mapper.rows.result import RowsResult

LAYERS = (
    "windrows", "heaps", "pieces", "lighting_points", "blocks", "edges", "breaks", "buffers", "ways_out", "smoke",
)  # fmt: skip
_ORDER_COLUMNS = ("order_no", "piece_id", "row_id", "paddock", "block", "crew", "lit_at", "out_at", "length_m")


def write_layers(layers: Mapping[str, pd.DataFrame], path: Path) -> None:
    """Write layers and tables (frames without geometry) as one GeoPackage, whole or not at all."""
    import pyogrio

    with written_whole(path) as half:
        for name, layer in layers.items():
            if isinstance(layer, gpd.GeoDataFrame):
                # Empty layers have no shape to tell a type from; any GIS opens "Unknown".
                kind = "Unknown" if layer.empty or layer.geom_type.nunique() > 1 else None
                pyogrio.write_dataframe(layer, half, layer=name, driver="GPKG", geometry_type=kind)
            else:
                pyogrio.write_dataframe(_plain_table(layer), half, layer=name, driver="GPKG")


def _plain_table(table: pd.DataFrame) -> pd.DataFrame:
    """The table without two zones in it: local times as text, the way people read them."""
    plain = table.copy()
    for column in plain.columns:
        dtype = plain[column].dtype
        if isinstance(dtype, pd.DatetimeTZDtype) and str(dtype.tz) != "UTC":
            plain[column] = plain[column].map(pd.Timestamp.isoformat)
    return plain


def write_rows(rows: RowsResult, path: Path) -> None:
    """Write layers windrows and heaps as a GeoPackage."""
    write_layers({"windrows": rows.windrows, "heaps": rows.heaps}, path)


def write_hours(hours: pd.DataFrame, path: Path) -> None:
    """Write the judged hours as CSV: UTF-8, decimal point, UTC and local time in ISO 8601."""
    table = hours.copy()
    for column in ("time_utc", "time_local"):
        table[column] = table[column].map(pd.Timestamp.isoformat)
    with written_whole(path) as half:
        table.round(3).to_csv(half, index=False)


def write_plan(plan: BurnPlan, folder: Path) -> list[Path]:
    """Write plan.gpkg, summary.json, order.csv, .gpx, .geojson and .kml into a folder; return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / n for n in ("plan.gpkg", "summary.json", "order.csv", "order.gpx", "order.geojson",
                                     "order.kml")]  # fmt: skip
    write_layers({**{n: getattr(plan, n) for n in LAYERS}, "hours": plan.hours}, paths[0])
    with written_whole(paths[1]) as half:
        half.write_text(json.dumps(summary(plan), ensure_ascii=False, indent=2), encoding="utf-8")
    points = ordered_points(plan)
    with written_whole(paths[2]) as half:
        points.drop(columns="geometry").to_csv(half, index=False)
    ways = plan.ways_out.to_crs("EPSG:4326")
    write_gpx(points, ways, f"Burn order {plan.night:%Y-%m-%d}, plan {plan.number}", paths[3])
    with written_whole(paths[4]) as half:
        half.write_text(points.to_json(drop_id=True), encoding="utf-8")
    write_kml(plan, points, paths[5])
    return paths


def ordered_points(plan: BurnPlan) -> gpd.GeoDataFrame:
    """Return the lighting points in lighting order, WGS 84 degrees, with local times as people say them.

    Columns: plan, order_no, point (1.. within the piece), paddock, block, row_id, crew, lit_at (local), longitude,
    latitude.
    """
    points = plan.lighting_points.sort_values(["lit_at", "order_no"], kind="stable").reset_index(drop=True)
    lon, lat = plan.farm.grid.to_lonlat(points.geometry.x.to_numpy(), points.geometry.y.to_numpy())
    row_of = plan.pieces.set_index("piece_id")["row_id"]
    local = points["lit_at"].dt.tz_convert(plan.farm.zone).dt.strftime("%Y-%m-%d %H:%M:%S")
    return gpd.GeoDataFrame(
        {
            "plan": plan.number,
            "order_no": points["order_no"],
            "point": points.groupby("piece_id").cumcount() + 1,
            "paddock": points["paddock"],
            "block": points["block"],
            "row_id": points["piece_id"].map(row_of),
            "crew": points["crew"],
            "lit_at": local,
            "longitude": np.round(lon, 7),
            "latitude": np.round(lat, 7),
        },
        geometry=gpd.points_from_xy(lon, lat),
        crs="EPSG:4326",
    )


def summary(plan: BurnPlan) -> dict[str, Any]:
    """Return the plan in words and figures, ready for JSON: every figure with its unit and source."""
    lit = plan.pieces[plan.pieces["order_no"] > 0].sort_values("order_no")
    left = plan.pieces[plan.pieces["order_no"] == 0]
    return {
        "program": f"mapper {__version__}",
        "farm": plan.farm.name,
        "invented": plan.farm.invented,
        "plan": plan.number,
        "night": plan.night.isoformat(),
        "made_at": plan.made_at.isoformat(),
        "author": plan.author,
        "grid": plan.farm.grid.name,
        "zone": plan.farm.zone,
        "caution": CAUTION,
        "go": plan.go,
        "against": list(plan.against),
        "ban": {"state": plan.ban.state, "checked_at": _iso(plan.ban.checked_at), "by": plan.ban.by},
        "paddocks": list(plan.paddocks),
        "sunset": _iso(plan.sunset),
        "sunrise": _iso(plan.sunrise),
        "windows": [
            {"starts_at": _iso(w.starts_at), "last_light_at": _iso(w.ends_at), "verdict": w.verdict, "why": w.why}
            for w in plan.windows
        ],
        "wind_changes": [
            {"at": _iso(c.at), "from_deg": c.from_deg, "to_deg": c.to_deg, "from_km_h": c.from_km_h,
             "to_km_h": c.to_km_h, "sigma_min": c.sigma_min}
            for c in plan.changes
        ],
        "hours": [{k: _plain(v) for k, v in row.items()} for row in plan.hours.to_dict("records")],
        "order": [
            {k: _plain(row[k]) for k in _ORDER_COLUMNS} for row in lit.to_dict("records")
        ],
        "left_unlit": [
            {k: _plain(row[k]) for k in ("piece_id", "row_id", "paddock", "left_reason", "length_m")}
            for row in left.to_dict("records")
        ],
        "ways_out": [
            {k: _plain(row[k]) for k in ("paddock", "block", "name", "to", "until", "note")}
            for row in plan.ways_out.drop(columns="geometry").to_dict("records")
        ],
        "tell": [{k: _plain(v) for k, v in row.items()} for row in plan.tell.to_dict("records")],
        "warnings": [
            {"step": r.step, "level": r.level, "paddock": r.paddock, "text": r.text} for r in plan.remarks
        ],
        "figures": [
            {"name": f.name, "value": _plain(f.value), "unit": f.unit, "source": f.source, "inputs": f.inputs,
             "outside_range": f.outside}
            for f in plan.figures
        ],
        "local_limits": [
            {"key": v.key, "label": v.kind.label, "value": v.value, "unit": v.unit, "index": v.index,
             "height_m": v.height_m, "averaging_min": v.averaging_min, "source": v.source, "date": v.date,
             "starting": v.starting}
            for v in plan.farm.limits.limits.values()
        ],
    }  # fmt: skip


def _iso(at: Any) -> str | None:
    return None if at is None or pd.isna(at) else pd.Timestamp(at).isoformat()


def _plain(value: Any) -> Any:
    """A value JSON knows: times as ISO text, what is not known as null."""
    if isinstance(value, str | bool):
        return value
    if value is None or pd.isna(value):
        return None
    if isinstance(value, pd.Timestamp):
        return value.isoformat()
    return round(float(value), 4) if isinstance(value, float | np.floating) else int(value)
