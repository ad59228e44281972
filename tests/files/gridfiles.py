"""Small gridded forecasts written for tests: CF-NetCDF by SciPy, GRIB 2 by GDAL's own writer."""

from pathlib import Path

import numpy as np

REFERENCE = "2026-04-18T00:00:00Z"
REFERENCE_S = 1776470400


def write_netcdf(path: Path, variables, hours=(0, 1, 2), lon=(140, 141, 142, 143, 144), lat=(-38, -37, -36, -35)):
    """variables: name -> (standard name, unit, values: a number or one a time); cells off the farm's hold 100 more."""
    from scipy.io import netcdf_file

    with netcdf_file(str(path), "w") as f:
        f.Conventions = "CF-1.8"
        f.forecast_reference_time = REFERENCE
        for name, values, unit in (
            ("time", hours, "hours since 2026-04-18 00:00:00"),
            ("latitude", lat, "degrees_north"),
            ("longitude", lon, "degrees_east"),
        ):
            f.createDimension(name, len(values))
            v = f.createVariable(name, "d", (name,))
            v.units, v.standard_name = unit, name
            v[:] = values
        for name, (standard, unit, values) in variables.items():
            v = f.createVariable(name, "f4", ("time", "latitude", "longitude"))
            v.units, v.standard_name = unit, standard
            each = np.broadcast_to(np.asarray(values, dtype=float), (len(hours),))
            v[:] = each[:, None, None] + np.zeros((1, len(lat), 1)) + 100.0 * (np.arange(len(lon)) != 2)
    return path


# Element -> GRIB 2 category, number, kind of surface, its height.
_GRIB = {
    "TMP": (0, 0, 103, 2), "RH": (1, 1, 103, 2), "UGRD": (2, 2, 103, 10), "VGRD": (2, 3, 103, 10),
    "GUST": (2, 22, 1, 0), "TCDC": (6, 1, 1, 0), "UGRD100": (2, 2, 103, 100),
}  # fmt: skip


def write_grib(path: Path, elements, hours=(1, 2, 3), west=139.5, north=-34.5):
    """elements: name of _GRIB -> values, one an hour, in GDAL's unit (degC for TMP); 4 by 5 cells of a degree."""
    import rasterio
    import rasterio.shutil
    from rasterio.transform import from_origin

    bands = [(name, hour, values[k]) for name, values in elements.items() for k, hour in enumerate(hours)]
    plain = path.with_suffix(".tif")
    profile = {
        "driver": "GTiff", "width": 5, "height": 4, "count": len(bands), "dtype": "float64", "crs": "EPSG:4326",
        "transform": from_origin(west, north, 1, 1),
    }  # fmt: skip
    with rasterio.open(plain, "w", **profile) as data:
        for k, (name, hour, value) in enumerate(bands, 1):
            category, number, surface, height = _GRIB[name]
            cells = np.full((4, 5), float(value))
            cells[:, [0, 1, 3, 4]] += 1.0
            data.write(cells, k)
            data.update_tags(
                k,
                GRIB_DISCIPLINE="0",
                GRIB_IDS="CENTER=255 SUBCENTER=0 MASTER_TABLE=2 LOCAL_TABLE=0 SIGNF_REF_TIME=1 "
                f"REF_TIME={REFERENCE} PROD_STATUS=0 TYPE=1",
                GRIB_PDS_PDTN="0",
                GRIB_PDS_TEMPLATE_NUMBERS=f"{category} {number} 2 0 255 0 0 0 1 0 0 0 {hour} "
                f"{surface} 0 0 0 0 {height} 255 0 0 0 0 0",
            )
    rasterio.shutil.copy(plain, path, driver="GRIB")
    plain.unlink()
    return path
