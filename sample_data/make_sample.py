"""Make the sample farm: invented land, harvest, weather and rasters.

    python sample_data/make_sample.py [--out FOLDER]

Seeded: the same libraries give the same files. Nothing in it is a real place, person or log.
"""

import argparse
import os
import shutil
import sys
from pathlib import Path

import numpy as np
import pyogrio

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from making import land, log, rasters, weather  # noqa: E402

SEED = 20260418
WRITTEN_BY_HAND = ("README.txt", "farm.toml", "limits.toml")
# A Shapefile's column names have at most ten letters.
SHORT = {
    "yield_t_ha": "yield_t_ha",
    "cut_height_m": "cut_hgt_m",
    "stubble_t_ha": "stub_t_ha",
    "header_width_m": "header_m",
    "row_heading_deg": "row_head",
    "headland_laps": "laps",
}


def write_vectors(out: Path) -> None:
    """Write the GeoPackages, and the boundaries as a Shapefile as well."""
    # Otherwise the files carry the hour they were made and differ each time.
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2026-04-01T00:00:00Z"})
    marked = {"DESCRIPTION": f"{land.MARK}: not a real place"}
    for file, layer, table in (
        ("boundaries.gpkg", "paddocks", land.paddocks()),
        ("assets.gpkg", "assets", land.assets()),
        ("neighbours.gpkg", "neighbours", land.neighbours()),
        ("breaks.gpkg", "breaks_there", land.breaks_there()),
    ):
        (out / file).unlink(missing_ok=True)
        pyogrio.write_dataframe(table, out / file, layer=layer, driver="GPKG", geometry_type="Unknown",
                                promote_to_multi=False, layer_options=marked)  # fmt: skip
    table = land.paddocks().rename(columns=SHORT)
    options = {"ENCODING": "UTF-8", "DBF_DATE_LAST_UPDATE": "2026-04-01"}
    table.to_file(out / "boundaries.shp", driver="ESRI Shapefile", engine="pyogrio", layer_options=options)


def main() -> None:
    """Write the whole sample into a folder (its own unless another is named)."""
    parser = argparse.ArgumentParser(description="Make the invented sample farm.")
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write into (default: sample_data)")
    out = parser.parse_args().out.resolve()
    out.mkdir(parents=True, exist_ok=True)
    os.environ.pop("PROJ_LIB", None)
    write_vectors(out)
    means = dict(zip(*(land.paddocks()[c] for c in ("paddock", "yield_t_ha")), strict=True))
    log.write_log_1(out / "harvester_1.csv", np.random.default_rng([SEED, 1]), means)
    log.write_log_2(out / "harvester_2.csv", np.random.default_rng([SEED, 2]), means)
    weather.write_forecast(out / "forecast.csv")
    rasters.write_elevation(out / "elevation.tif")
    rasters.write_backdrop(out / "backdrop.tif", np.random.default_rng(SEED))
    if out != HERE:
        for name in WRITTEN_BY_HAND:
            shutil.copyfile(HERE / name, out / name)


if __name__ == "__main__":
    main()
