"""The next corner as people type it."""

import pytest

from mapper.farm.errors import MapperError
from mapper.window.typed import read_next
from tests.farms import GRID

LAST = (600_000.0, 5_990_000.0)
EAST, NORTH = GRID.from_lonlat(141.6, -36.2)


@pytest.mark.parametrize(
    ("text", "x", "y"),
    [("250", 600_250, 5_990_000), ("250,5", 600_250.5, 5_990_000), ("250 180", 600_000, 5_989_750),
     ("250 m 0", 600_000, 5_990_250), ("100.5 @ 270", 599_899.5, 5_990_000), ("250, 180", 600_000, 5_989_750),
     ("600123.5 5991234", 600_123.5, 5_991_234), ("600123,5 E 5991234 N", 600_123.5, 5_991_234),
     ("5991234 N 600123 E", 600_123, 5_991_234)],
)  # fmt: skip
def test_lengths_bearings_and_places_of_the_grid(text, x, y):
    found = read_next(text, LAST, 90.0, GRID)
    assert (found.x, found.y) == pytest.approx((x, y), abs=1e-6)


@pytest.mark.parametrize(
    "text",
    ["-36.2 141.6", "-36.2, 141.6", "-36.2,141.6", "-36,2 141,6", "36.2 S 141.6 E", "141.6 E 36.2 S",
     "36°12' S 141°36' E",
     "36 12 0 S 141 36 0 E"],
)  # fmt: skip
def test_degrees(text):
    found = read_next(text, LAST, 90.0, GRID)
    assert (found.x, found.y) == pytest.approx((float(EAST), float(NORTH)), abs=0.01)
    assert found.words == "to 36.20000° S 141.60000° E"


@pytest.mark.parametrize(
    ("text", "words"),
    [("", "no length"), ("abc", "no length"), ("0", "no length"), ("250 400", "makes no sense"), ("1 2 3", "no length"),
     ("-36.2", "degrees"), ("-136.2 141.6", "on earth"), ("36 N 141 S", "one of N, S")],
)  # fmt: skip
def test_what_is_none_of_these_is_said(text, words):
    with pytest.raises(MapperError, match=words):
        read_next(text, LAST, 90.0, GRID)


def test_a_length_needs_a_corner_and_a_way():
    with pytest.raises(MapperError, match="first corner"):
        read_next("250", None, None, GRID)
    with pytest.raises(MapperError, match="no bearing"):
        read_next("250", LAST, None, GRID)
