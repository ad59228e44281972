"""Images and elevation on the farm's grid; rasters made up here."""

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin

from mapper.farm.errors import CrsError, FileError
from mapper.files.project import open_project, save_project
from mapper.files.rasters import describe, read_heights, read_window, with_heights
from tests.farms import small_farm

X0, Y0 = 554000.0, 5993000.0
CRS = "EPSG:7854"


def _write(path, values, crs=CRS, cell=10.0, **options):
    bands, height, width = values.shape
    with rasterio.open(
        path, "w", driver="GTiff", count=bands, height=height, width=width, dtype=values.dtype, crs=crs,
        transform=from_origin(X0, Y0 + height * cell, cell, cell), **options,
    ) as data:  # fmt: skip
        data.write(values)
    return path


def test_an_image_comes_the_right_way_up(tmp_path):
    values = np.zeros((3, 40, 60), np.uint8)
    values[0, :20], values[1, 20:] = 200, 100
    path = _write(tmp_path / "Gümüş image.tif", values)
    about = describe(path)
    assert (about.bands, about.width, about.cell) == (3, 60, 10.0)
    assert about.crs.to_epsg() == 7854
    image = read_window(path, (X0 - 100, Y0, X0 + 600, Y0 + 400), (70, 40), CRS)
    assert image.shape == (40, 70, 4)
    assert image[5, 30].tolist() == [200, 0, 0, 255]
    assert image[35, 30].tolist() == [0, 100, 0, 255]
    assert image[5, 3, 3] == 0


def test_heights_are_nan_where_the_model_says_nothing(tmp_path):
    values = np.broadcast_to(100.0 + np.arange(60.0), (1, 40, 60)).astype(np.float32).copy()
    values[0, :, :5] = -9999
    path = _write(tmp_path / "elevation.tif", values, nodata=-9999)
    heights = read_heights(path, (X0, Y0, X0 + 600, Y0 + 400), CRS, 10.0)

    def height(x, y):
        row, col = (heights.north - Y0 - y) / heights.cell_m, (X0 + x - heights.west) / heights.cell_m
        return heights.values[int(row), int(col)]

    assert np.isnan(height(20, 300))
    assert np.isnan(height(-3000, 300))
    assert height(305, 300) == pytest.approx(130.0, abs=1.0)
    # A metre in each ten: 5.7 degrees, uphill to the east; flat where nothing is known.
    steep, up = heights.slope_at([X0 + 305, X0 - 1000], [Y0 + 305, Y0])
    assert steep == pytest.approx([np.degrees(np.arctan(0.1)), 0.0], abs=1e-3)
    assert up[0] == pytest.approx(90.0)
    assert any("does not say above which level" in n for n in describe(path).report().notes)


def test_another_grid_is_turned(tmp_path):
    values = np.full((1, 50, 50), 50.0, np.float32)
    path = tmp_path / "degrees.tif"
    with rasterio.open(
        path, "w", driver="GTiff", count=1, height=50, width=50, dtype="float32", crs="EPSG:4326", nodata=-1,
        transform=from_origin(141.55, -36.15, 0.002, 0.002),
    ) as data:  # fmt: skip
        data.write(values)
    heights = read_heights(path, (X0, Y0, X0 + 100, Y0 + 100), CRS)
    assert np.nanmin(heights.values) == np.nanmax(heights.values) == pytest.approx(50.0)


def test_no_grid_no_file_and_rubbish(tmp_path):
    with pytest.raises(CrsError, match="no grid"):
        describe(_write(tmp_path / "plain.tif", np.ones((1, 5, 5), np.uint8), crs=None))
    (tmp_path / "rubbish.tif").write_bytes(b"no raster")
    for name in ("rubbish.tif", "none.tif"):
        with pytest.raises(FileError, match=name):
            describe(tmp_path / name)


def test_a_farm_brings_its_heights_and_a_project_finds_them_again(tmp_path):
    values = np.broadcast_to(200.0 + np.arange(60.0), (1, 40, 60)).astype(np.float32)
    farm = small_farm(elevation=str(_write(tmp_path / "elevation.tif", values, nodata=-9999)))
    assert farm.heights is None
    with_model = with_heights(farm)
    assert with_model.heights is not None
    save_project(with_model, tmp_path / "farm.gpkg")
    opened, _ = open_project(tmp_path / "farm.gpkg")
    np.testing.assert_array_equal(opened.heights.values, with_model.heights.values)
    # Before any boundary is drawn the whole model is read.
    bare = with_heights(farm.with_(paddocks=farm.paddocks.iloc[:0]))
    assert np.nanmax(bare.heights.values) == pytest.approx(259, abs=2)
    assert with_heights(with_model.with_(elevation="")).heights is None
