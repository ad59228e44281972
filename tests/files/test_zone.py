"""The zone of a place: towns of the IANA time zone database's own list of zones (zone1970.tab) and towns near them."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from mapper.files.zone import zone_at

# Place, zone, hours from UTC in April (after the first Sunday) and in January 2026, as the tz database gives them.
PLACES = [
    (116.9, -31.7, "Australia/Perth", 8, 8),
    (128.9, -31.68, "Australia/Eucla", 8.75, 8.75),
    (132.3, -14.5, "Australia/Darwin", 9.5, 9.5),
    (137.8, -34.0, "Australia/Adelaide", 9.5, 10.5),
    (141.47, -31.95, "Australia/Broken_Hill", 9.5, 10.5),
    (142.1, -35.65, "Australia/Melbourne", 10, 11),
    (144.0, -34.9, "Australia/Sydney", 10, 11),
    (148.6, -32.2, "Australia/Sydney", 10, 11),
    (150.3, -27.5, "Australia/Brisbane", 10, 10),
    (147.3, -42.0, "Australia/Hobart", 10, 11),
    (159.08, -31.55, "Australia/Lord_Howe", 10.5, 11),
    (0.5, 52.0, "Europe/London", 1, 0),
    (-105.0, 47.9, "America/Denver", -6, -7),
    (24.0, 50.0, "Europe/Kyiv", 3, 2),
    (75.9, 30.9, "Asia/Kolkata", 5.5, 5.5),
    (85.3, 27.7, "Asia/Kathmandu", 5.75, 5.75),
    (-60.0, -36.5, "America/Argentina/Buenos_Aires", -3, -3),
    (172.3, -43.5, "Pacific/Auckland", 12, 13),
    (18.7, -33.3, "Africa/Johannesburg", 2, 2),
    (-60.0, -50.0, None, None, None),
]


@pytest.mark.parametrize(("lon", "lat", "zone", "april", "january"), PLACES)
def test_zone_of_a_place(lon, lat, zone, april, january):
    found = zone_at(lon, lat)
    if zone is None:
        assert found.startswith("Etc/")  # at sea
        return
    assert found == zone
    for month, hours in ((4, april), (1, january)):
        offset = datetime(2026, month, 18, tzinfo=UTC).astimezone(ZoneInfo(found)).utcoffset()
        assert offset.total_seconds() == 3600 * hours
