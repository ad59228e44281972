import pytest
import shapely

from mapper.farm.layers import check_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.ground.buffers import care_buffers
from tests.farms import EAST, GRID, NORTH, limits, small_farm


def test_every_asset_with_a_limit_gets_its_area_and_source():
    farm = small_farm()
    buffers = care_buffers(farm.assets, farm.limits, GRID.crs)
    check_layer("buffers", buffers)
    house = buffers[(buffers["asset"] == "H1")].set_index("purpose")
    assert house.loc["care", "distance_m"] == 300
    assert house.loc["care"].geometry.area == pytest.approx(3.1416 * 300**2, rel=0.01)
    assert house.loc["no burn", "distance_m"] == 10
    assert "invented for a test" in house.loc["care", "source"]


def test_the_strip_under_a_power_line_is_not_lit():
    line = make_layer("assets", {"asset": ["L"], "kind": ["power_line"], "name": ["Line"]},
                      [shapely.LineString([(EAST, NORTH), (EAST + 500, NORTH)])], GRID.crs)  # fmt: skip
    buffers = care_buffers(line, limits(), GRID.crs)
    assert list(buffers["purpose"]) == ["no burn"]


def test_without_limits_there_are_no_areas():
    assert care_buffers(small_farm().assets, LocalLimits(), GRID.crs).empty
