"""The invented elevation and backdrop: gentle rises, and a painted picture of the land."""

from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.features import rasterize
from rasterio.transform import from_origin
from scipy.ndimage import gaussian_filter

from making import land

WEST, SOUTH, EAST_EDGE, NORTH_EDGE = -3300.0, -3600.0, 4200.0, 2700.0  # metres from the farm's crossing
TAGS = {"TIFFTAG_IMAGEDESCRIPTION": f"{land.MARK}: made by make_sample.py, not a real place"}


def _grid(cell: float) -> tuple[Any, tuple[int, int]]:
    shape = (round((NORTH_EDGE - SOUTH) / cell), round((EAST_EDGE - WEST) / cell))
    return from_origin(land.EAST + WEST, land.NORTH + NORTH_EDGE, cell, cell), shape


def height_m(x: Any, y: Any) -> Any:
    """Return the ground's height for metres from the farm's crossing: rises of a few metres, a dip along the creek."""
    rise = 138 + 6.5 * np.sin(x / 1450 + 0.6) * np.cos(y / 1250 - 0.3) + 3.0 * np.sin((x + 2 * y) / 1900)
    hill = 9.0 * np.exp(-(((x + 650) / 620) ** 2 + ((y - 900) / 480) ** 2))
    creek = -5.5 * np.exp(-(((y + 820) / 190) ** 2)) / (1 + np.exp((-x - 150) / 160))
    return rise + hill + creek


def write_elevation(path: Path) -> None:
    """Write elevation.tif: 30 m cells, float32, metres (made-up heights), nodata -9999 in one corner."""
    transform, (rows, columns) = _grid(30.0)
    y, x = np.mgrid[0:rows, 0:columns]
    z = height_m(WEST + (x + 0.5) * 30, NORTH_EDGE - (y + 0.5) * 30).astype("float32").round(1)
    z[-6:, :8] = -9999
    with rasterio.open(path, "w", driver="GTiff", height=rows, width=columns, count=1, dtype="float32", crs=land.CRS,
                       transform=transform, nodata=-9999, compress="deflate", predictor=3) as out:  # fmt: skip
        out.write(z, 1)
        out.update_tags(**TAGS)


def write_backdrop(path: Path, rng: np.random.Generator, cell: float = 4.0) -> None:
    """Write backdrop.tif: an RGB picture painted from the same shapes, JPEG inside."""
    transform, shape = _grid(cell)
    picture = np.empty((*shape, 3), dtype="float32")
    picture[:] = (196, 184, 148)
    grain = rng.normal(size=shape).astype("float32")
    picture += (7 * grain + 60 * gaussian_filter(grain, 9))[..., None]

    def burn(shapes: Any, touched: bool = False) -> Any:
        return rasterize(shapes, out_shape=shape, transform=transform, all_touched=touched, dtype="uint8").astype(bool)

    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype("float32") * cell
    _paint_country(picture, rows, columns, rng)
    tints = ((214, 192, 130), (208, 182, 118), (219, 202, 142), (200, 176, 120), (216, 196, 138), (206, 190, 130))
    table = land.paddocks()
    for tint, (_, paddock) in zip(tints, table.iterrows(), strict=True):
        inside = burn([paddock.geometry])
        a = np.radians(paddock["row_heading_deg"])
        stripe = np.sin((columns * np.cos(a) + rows * np.sin(a)) * 2 * np.pi / (2 * paddock["header_width_m"]))
        picture[inside] = np.array(tint) + (6 * stripe + 5 * grain + 40 * gaussian_filter(grain, 14))[inside, None]
    assets = land.assets()
    for kind, tint, grow in (
        ("bare", (158, 124, 92), 0), ("green", (112, 146, 74), 0), ("vineyard", (106, 124, 80), 0),
        ("trees", (82, 98, 62), 5), ("tree", (78, 94, 58), 6), ("road", (206, 198, 184), 6),
        ("track", (200, 186, 154), 3), ("shed", (222, 224, 226), 3), ("house", (178, 94, 80), 9),
        ("haystack", (224, 200, 120), 2),
    ):  # fmt: skip
        inside = burn([g.buffer(grow) for g in assets.loc[assets["kind"] == kind, "geometry"]], touched=True)
        picture[inside] = np.array(tint) + 6 * grain[inside, None]
    picture[burn([land.DAM])] = (92, 112, 116)
    for where, count in (
        (land.TREES_AT_DAM, 40),
        (assets.loc[assets["name"] == "Creek trees", "geometry"].iloc[0], 600),
    ):
        _trees(picture, burn, where, count, rng)
    image = np.clip(picture, 0, 255).astype("uint8").transpose(2, 0, 1)
    with rasterio.open(path, "w", driver="GTiff", height=shape[0], width=shape[1], count=3, dtype="uint8", crs=land.CRS,
                       transform=transform, compress="jpeg", jpeg_quality=68, photometric="ycbcr", tiled=True,
                       blockxsize=256, blockysize=256) as out:  # fmt: skip
        out.write(image)
        out.update_tags(**TAGS)
    with rasterio.open(path, "r+") as out:
        out.build_overviews([2, 4, 8], rasterio.enums.Resampling.average)


def _paint_country(picture: Any, rows: Any, columns: Any, rng: np.random.Generator) -> None:
    """Paint other people's paddocks as blocks of slightly different tints."""
    block = (rows // 830).astype(int) * 12 + ((columns + 90 * np.sin(rows / 830)) // 910).astype(int)
    tints = rng.normal(0, 9, size=(block.max() + 1, 1)) + rng.normal(0, 4, size=(block.max() + 1, 3))
    angles = rng.uniform(0, np.pi, size=block.max() + 1)
    a = angles[block]
    picture += tints[block] + (4 * np.sin((columns * np.cos(a) + rows * np.sin(a)) * 2 * np.pi / 27))[..., None]


def _trees(picture: Any, burn: Any, where: Any, count: int, rng: np.random.Generator) -> None:
    from shapely import points

    west, south, east, north = where.bounds
    places = points(rng.uniform(west, east, count * 3), rng.uniform(south, north, count * 3))
    places = [p.buffer(r) for p, r in zip(places, rng.uniform(4, 9, count * 3), strict=True) if where.contains(p)][
        :count
    ]
    if places:
        picture[burn(places)] = (66, 82, 50)
