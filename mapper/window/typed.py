"""The next corner as a person types it: a length, a length and a bearing, or a place on the grid or in degrees."""

import re
from typing import TYPE_CHECKING, NamedTuple

from mapper.farm.errors import MapperError
from mapper.window.shapes import Point, ahead

if TYPE_CHECKING:
    from mapper.farm.crs import Grid

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
# Eastings and northings of a metric grid are at least this; no side of a paddock is.
_GRID_FROM = 20_000.0
TODO = "Type 250, or 250 90 for length and bearing, or easting northing, or degrees such as -36.2 141.6"


class Typed(NamedTuple):
    """The place meant (farm metres) and how it was understood."""

    x: float
    y: float
    words: str


def read_next(text: str, last: Point | None, bearing_deg: float | None, grid: "Grid") -> Typed:
    """Return the place that a text means.

    last: the corner before it. bearing_deg: where the pointer lies from there, for a length alone. Degrees are told
    by a sign, a degree mark or a letter; N and E are plus. Raises MapperError where the text is none of these.
    """
    numbers, sides = _numbers(text)
    marked = bool(sides) or "°" in text or any(n.startswith(("-", "+")) for n in numbers)
    values = [float(n.replace(",", ".")) for n in numbers]
    on_grid = len(values) == 2 and min(values) >= _GRID_FROM
    if on_grid and [s.upper() for s in sides] == ["N", "E"]:
        values.reverse()
    if marked and not on_grid:
        return _degrees(text, values, sides, grid)
    if on_grid:
        return Typed(values[0], values[1], f"to {values[0]:.1f} E {values[1]:.1f} N")
    if len(values) not in {1, 2} or values[0] <= 0:
        raise MapperError("this is no length and no place", text, TODO)
    if last is None:
        raise MapperError("the first corner needs a place", text, "Click it, or type its easting and northing")
    bearing = values[1] if len(values) == 2 else bearing_deg
    if bearing is None:
        raise MapperError("no bearing is known yet", text, "Point the way, or type a bearing behind the length")
    if not 0 <= bearing <= 360:
        raise MapperError(f"a bearing of {bearing:g} makes no sense", text, "Type 0 to 360, clockwise from grid north")
    x, y = ahead(last, values[0], bearing)
    return Typed(x, y, f"{values[0]:g} m on bearing {bearing:.0f}°")


def _numbers(text: str) -> tuple[list[str], list[str]]:
    """Return the numbers as written and the letters for the sides; a comma before a space parts two numbers."""
    spaced = re.sub(r",(?=\s)|;", " ", text.strip())
    if re.fullmatch(r"\S+\.\d+,\S+", spaced):
        spaced = spaced.replace(",", " ")
    return _NUMBER.findall(spaced), re.findall(r"(?<![A-Za-z])[NSEWnsew](?![A-Za-z])", spaced)


def _degrees(text: str, values: list[float], sides: list[str], grid: "Grid") -> Typed:
    per = len(values) // 2
    if len(values) not in {2, 4, 6} or len(sides) not in {0, 2}:
        raise MapperError("this is no place in degrees", text, TODO)
    lat, lon = (_whole(values[i * per : (i + 1) * per]) for i in (0, 1))
    if sides:
        letters = [s.upper() for s in sides]
        if letters[0] in "EW":
            lat, lon, letters = lon, lat, letters[::-1]
        if letters[0] not in "NS" or letters[1] not in "EW":
            raise MapperError("a place needs one of N, S and one of E, W", text, TODO)
        lat, lon = abs(lat) * (-1 if letters[0] == "S" else 1), abs(lon) * (-1 if letters[1] == "W" else 1)
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        raise MapperError("this is no place on earth", text, "Latitude first, then longitude")
    x, y = grid.from_lonlat(lon, lat)
    words = f"to {abs(lat):.5f}° {'S' if lat < 0 else 'N'} {abs(lon):.5f}° {'W' if lon < 0 else 'E'}"
    return Typed(float(x), float(y), words)


def _whole(parts: list[float]) -> float:
    """Degrees, minutes and seconds as degrees."""
    size = float(sum(abs(p) / 60.0**k for k, p in enumerate(parts)))
    return -size if parts[0] < 0 else size
