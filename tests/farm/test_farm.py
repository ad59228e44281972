import pytest

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import CrsError, SettingError
from mapper.farm.farm import Crew, Harvester, RowBurn, empty_farm
from tests.farms import GRID, small_farm


def test_settings_check_themselves():
    for made in (lambda: Harvester("1", 0.3), lambda: Crew("1", people=0), lambda: RowBurn(burnout_min=0)):
        with pytest.raises(SettingError, match="outside"):
            made()


def test_a_farm_knows_its_zone_grid_and_paddocks():
    farm = empty_farm(GRID, "Australia/Adelaide")
    with pytest.raises(SettingError, match="time zone"):
        farm.with_(zone="Mars/Base")
    with pytest.raises(SettingError, match="no paddock"):
        small_farm().paddock("North")
    other = small_farm().paddocks.to_crs("EPSG:7855")
    with pytest.raises(SettingError, match="the farm on"):
        small_farm(paddocks=other)


def test_grid_refuses_degrees_and_nonsense():
    from pyproj import CRS

    with pytest.raises(CrsError):
        Grid(CRS.from_epsg(4326))
    with pytest.raises(CrsError):
        metric_crs(-36.2, 141.6)
    with pytest.raises(CrsError):
        metric_crs(float("nan"), 0.0)
