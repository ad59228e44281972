"""Edits as functions of a farm."""

import pytest

from mapper.farm.errors import MapperError
from mapper.window import edits
from tests.demo import demo_farm

SQUARE = [(0.0, 0.0), (0.0, 200.0), (200.0, 200.0), (200.0, 0.0)]


@pytest.fixture
def farm():
    return demo_farm(("Bottom Dam",))


def test_added_and_the_old_farm_is_untouched(farm):
    new = edits.add_paddock(farm, "New", SQUARE)
    assert list(new.paddocks["paddock"]) == ["Bottom Dam", "New"] and len(farm.paddocks) == 1
    assert new.paddock("New").geometry.area == pytest.approx(40_000)


@pytest.mark.parametrize(
    ("corners", "words"),
    [(SQUARE[:2], "three corners"), ([SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]], "sides cross"),
     ([(0, 0), (0, 2), (2, 0)], "no paddock")],
)  # fmt: skip
def test_what_is_no_paddock_is_refused(farm, corners, words):
    with pytest.raises(MapperError, match=words):
        edits.add_paddock(farm, "New", corners)


def test_a_name_stands_once(farm):
    with pytest.raises(MapperError, match="that name"):
        edits.add_paddock(farm, "Bottom Dam", SQUARE)
    with pytest.raises(MapperError, match="empty or taken"):
        edits.rename_paddock(edits.add_paddock(farm, "New", SQUARE), "New", "Bottom Dam")


def test_corners_moved_added_taken_out(farm):
    corners = edits.rings_of(farm.paddock("Bottom Dam").geometry)[0][0]
    x, y = corners[2]
    moved = edits.move_corner(farm, "Bottom Dam", 0, 0, 2, (x + 5, y))
    assert (x + 5, y) in edits.rings_of(moved.paddock("Bottom Dam").geometry)[0][0]
    more = edits.add_corner(farm, "Bottom Dam", 0, 0, 2, ((x + corners[3][0]) / 2, (y + corners[3][1]) / 2))
    assert len(edits.rings_of(more.paddock("Bottom Dam").geometry)[0][0]) == len(corners) + 1
    fewer = edits.remove_corner(more, "Bottom Dam", 0, 0, 3)
    assert fewer.paddock("Bottom Dam").geometry.equals(farm.paddock("Bottom Dam").geometry)


def test_a_corner_cannot_cross_a_side(farm):
    x0, _, x1, _ = farm.paddocks.total_bounds
    with pytest.raises(MapperError, match="cross"):
        edits.move_corner(farm, "Bottom Dam", 0, 0, 0, (x1 + 500, farm.paddocks.total_bounds[1] + 300))
    assert x0 < x1


def test_split_keeps_the_area(farm):
    x0, y0, x1, y1 = farm.paddocks.total_bounds
    cut = edits.split_paddock(farm, "Bottom Dam", [((x0 + x1) / 2, y0 - 10), ((x0 + x1) / 2, y1 + 10)])
    assert list(cut.paddocks["paddock"]) == ["Bottom Dam 1", "Bottom Dam 2"]
    assert cut.paddocks.area.sum() == pytest.approx(farm.paddocks.area.sum())
    with pytest.raises(MapperError, match="does not cut"):
        edits.split_paddock(farm, "Bottom Dam", [(x0 - 50, y0), (x0 - 50, y1)])
