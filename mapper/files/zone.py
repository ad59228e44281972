"""The time zone of a place, for files that do not name one."""


def zone_at(lon: float, lat: float) -> str:
    """Return a time zone's name (IANA) for longitude, latitude in degrees, with its daylight saving.

    From outlines that come with the program, simplified: within a few hundred metres of a border it may be the
    neighbour's. At sea a whole-hour zone "Etc/GMT...". It is a guess, and whoever uses it says so.
    """
    from tzfpy import get_tz

    return get_tz(lon, lat) or "Etc/UTC"
