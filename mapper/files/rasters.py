"""Images and elevation models: described, and read as a view wants them, turned onto the farm's grid."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS

from mapper.farm.crs import transformer
from mapper.farm.errors import CrsError, FileError
from mapper.farm.farm import Farm
from mapper.farm.heights import Heights
from mapper.files.report import ImportReport

# Heights are read this far past the paddocks, on cells of this side; more than so many of them are made coarser.
HEIGHTS_ROUND_M, HEIGHT_CELL_M, _MOST_HEIGHTS = 6000.0, 20.0, 1_000_000

# Bounds of a view or raster: west, south, east, north in metres of a grid.
Bounds = tuple[float, float, float, float]


@dataclass(frozen=True)
class Raster:
    """What a raster file holds. cell_m: size of a cell in the units of its grid. overviews: has smaller copies."""

    path: Path
    bands: int
    dtype: str
    width: int
    height: int
    crs: CRS
    bounds: Bounds
    cell: float
    nodata: float | None
    overviews: bool
    vertical: str

    def report(self) -> ImportReport:
        """Return the account of the file."""
        notes = [f"{self.width} x {self.height} cells of {self.cell:g}, {self.bands} bands of {self.dtype}."]
        if self.width * self.height > 25_000_000 and not self.overviews:
            notes.append("a large image without smaller copies in it (overviews) draws slowly.")
        if self.bands == 1 and self.dtype.startswith(("float", "int")):
            notes.append(f"heights: {self.vertical or 'the file does not say above which level'}.")
        return ImportReport(self.path.name, "raster", 1, self.crs.name, "file", notes=tuple(notes))


def _opened(path: Path) -> Any:
    import rasterio
    from rasterio.errors import RasterioIOError

    if not path.exists():
        raise FileError("there is no such file", str(path), "Check the name and folder")
    try:
        return rasterio.open(path)
    except RasterioIOError as exc:
        raise FileError("it is no raster that can be read", str(path), "Export it as GeoTIFF") from exc


def describe(path: Path | str) -> Raster:
    """Return what a raster holds. Raises FileError where it is none, CrsError where it does not say its grid."""
    path = Path(path)
    with _opened(path) as data:
        if data.crs is None:
            raise CrsError("the raster names no grid", str(path), "Export it as GeoTIFF with its coordinate system")
        crs = CRS.from_wkt(data.crs.to_wkt())
        sub = [c for c in crs.sub_crs_list if c.is_vertical]
        return Raster(
            path, data.count, str(data.dtypes[0]), data.width, data.height, crs, tuple(data.bounds),
            float(abs(data.transform.a)), data.nodata, bool(data.overviews(1)), sub[0].name if sub else "",
        )  # fmt: skip


def read_window(path: Path | str, bounds: Bounds, size: tuple[int, int], crs: Any) -> NDArray[np.uint8]:
    """Return an image as a view wants it.

    Parameters
    ----------
    bounds : of the view, metres on crs.
    size : width, height in pixels.
    crs : the farm's grid.

    Returns uint8 array (height, width, 4): red, green, blue, opacity (0 outside the image).
    """
    path = Path(path)
    with _opened(path) as data:
        bands = [1, 2, 3] if data.count >= 3 else [1]
        values, mask = _warped(data, path, bounds, size, crs, bands)
        if values.dtype != np.uint8:
            values = _to_bytes(values, mask)
        colours = values if len(bands) == 3 else np.repeat(values, 3, axis=0)
        return np.ascontiguousarray(np.dstack([*colours, mask]))


def read_heights(path: Path | str, bounds: Bounds, crs: Any, cell_m: float = HEIGHT_CELL_M) -> Heights:
    """Return the heights round bounds (metres on crs) as far as HEIGHTS_ROUND_M, on cells of cell_m or coarser.

    Raises FileError where the file is no raster, CrsError where it names no grid.
    """
    path = Path(path)
    west, south = (b - HEIGHTS_ROUND_M for b in bounds[:2])
    east, north = (b + HEIGHTS_ROUND_M for b in bounds[2:])
    cell_m = max(cell_m, float(np.sqrt((east - west) * (north - south) / _MOST_HEIGHTS)))
    width, height = (int(np.ceil(d / cell_m)) for d in (east - west, north - south))
    view = west, north - height * cell_m, west + width * cell_m, north
    with _opened(path) as data:
        values, mask = _warped(data, path, view, (width, height), crs, [1], smooth=True)
        return Heights(np.where(mask > 0, values[0].astype(float), np.nan), west, north, cell_m)


def with_heights(farm: Farm) -> Farm:
    """Return the farm with the heights of its elevation model round its paddocks; none where it has no model."""
    if not farm.elevation:
        return farm.with_(heights=None)
    bounds = tuple(farm.paddocks.total_bounds)
    if farm.paddocks.empty:
        # Boundaries may be drawn later: all of the model.
        model = describe(farm.elevation)
        bounds = transformer(model.crs, farm.grid.crs).transform_bounds(*model.bounds)
    return farm.with_(heights=read_heights(farm.elevation, bounds, farm.grid.crs))


def _warped(
    data: Any, path: Path, bounds: Bounds, size: tuple[int, int], crs: Any, bands: list[int], smooth: bool = False
) -> tuple[NDArray[Any], NDArray[np.uint8]]:
    """Return bands (n, height, width) and mask (0 nothing, 255 known) on the view's cells."""
    from rasterio.enums import Resampling
    from rasterio.transform import from_bounds
    from rasterio.vrt import WarpedVRT

    if data.crs is None:
        raise CrsError("the raster names no grid", str(path), "Export it as GeoTIFF with its coordinate system")
    width, height = size
    with WarpedVRT(
        data,
        crs=CRS.from_user_input(crs).to_wkt(),
        transform=from_bounds(*bounds, width, height),
        width=width,
        height=height,
        resampling=Resampling.bilinear if smooth else Resampling.average,
        add_alpha=data.nodata is None and data.count in (1, 3),
    ) as view:
        values = view.read(bands)
        mask = view.dataset_mask()
    if data.nodata is not None and np.isnan(data.nodata):
        mask = np.where(np.isnan(values[0].astype(float)), 0, mask).astype(np.uint8)
    return values, mask


def _to_bytes(values: NDArray[Any], mask: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Stretch values between their 2nd and 98th hundredths to bytes."""
    known = values[:, mask > 0].astype(float)
    if known.size == 0:
        return np.zeros(values.shape, np.uint8)
    low, high = np.nanpercentile(known, [2, 98])
    share = np.clip((values.astype(float) - low) / max(high - low, 1e-9), 0, 1)
    return np.asarray(share * 255, np.uint8)
