"""The zone of a place: towns looked up in the IANA time zone database's own list of zones (zone1970.tab)."""

import pytest

from mapper.files.zone import zone_at


@pytest.mark.parametrize(
    ("lon", "lat", "zone"),
    [
        (116.9, -31.7, "Australia/Perth"),
        (137.8, -34.0, "Australia/Adelaide"),
        (142.1, -35.65, "Australia/Melbourne"),
        (144.0, -34.9, "Australia/Sydney"),
        (148.6, -32.2, "Australia/Sydney"),
        (150.3, -27.5, "Australia/Brisbane"),
        (147.3, -42.0, "Australia/Hobart"),
        (0.0, 52.0, "Etc/GMT"),
        (-105.0, 47.9, "Etc/GMT+7"),
        (24.0, 50.0, "Etc/GMT-2"),
    ],
)
def test_zone_of_a_place(lon, lat, zone):
    assert zone_at(lon, lat) == zone
