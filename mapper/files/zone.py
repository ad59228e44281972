"""The time zone of a place, for files that do not name one."""

from math import floor

import numpy as np

# Land of Australia by state border: (west, south, east, north) in degrees, first that holds the place wins.
# Borders: 129 E, 138 E, 141 E, 26 S, 29 S. Broken Hill and Eucla keep their neighbours' time; type the zone there.
_STATES: tuple[tuple[float, float, float, float, str], ...] = (
    (108.0, -36.0, 129.0, -9.0, "Australia/Perth"),
    (129.0, -26.0, 138.0, -9.0, "Australia/Darwin"),
    (129.0, -39.0, 141.0, -26.0, "Australia/Adelaide"),
    (138.0, -29.0, 154.0, -9.0, "Australia/Brisbane"),
    (143.5, -44.0, 149.0, -39.4, "Australia/Hobart"),
)
# The Murray and the line to the coast, read off towns on it: Mildura, Swan Hill, Echuca, Yarrawonga, Albury, ...
_MURRAY = (
    (141.0, 142.2, 143.6, 144.8, 146.0, 146.9, 148.1, 150.0),
    (-34.0, -34.2, -35.3, -36.1, -36.0, -36.1, -36.8, -37.5),
)
_SOUTH_EAST = (141.0, -39.4, 154.0, -28.0)


def zone_at(lon: float, lat: float) -> str:
    """Return a time zone's name for longitude, latitude in degrees.

    In Australia the state's zone; elsewhere the whole-hour zone of the longitude, which knows no daylight saving.
    """
    for west, south, east, north, zone in _STATES:
        if west <= lon < east and south <= lat < north:
            return zone
    west, south, east, north = _SOUTH_EAST
    if west <= lon < east and south <= lat < north:
        return "Australia/Melbourne" if lat < np.interp(lon, *_MURRAY) else "Australia/Sydney"
    hours = floor((lon + 7.5) / 15.0)
    # The database counts these names westward: Etc/GMT-10 is ten hours ahead of UTC.
    return "Etc/GMT" if hours == 0 else f"Etc/GMT{-hours:+d}"
