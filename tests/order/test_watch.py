"""Figures worked by hand from the farm's own speeds; no published rate."""

import pytest

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.limits import Limit, LocalLimits
from mapper.order.watch import watch
from tests.order.paddocks import order_of, straight_rows


def test_one_point_a_row_burns_longer_than_many():
    # 6 rows of 400 m, 12 km/h, 5 s a point. One point: 6 x 125 s, then 400 m at 4 m/min and 20 min: 2 h.
    # A point every 100 m: 5 points, 88.9 m apart, 6 x 145 s, then 44.4 m and 20 min.
    order = order_of(straight_rows(6), crews=(Crew("1"),))
    found = {f.name: f.value for f in order.figures}
    assert found["P: with one point a row"] == pytest.approx(6 * 125 / 3600 + 2.0)
    assert found["P: with a point every 100 m"] == pytest.approx(6 * 145 / 3600 + (400 / 4.5 / 2 / 4 + 20) / 60)
    assert RowBurn().point_gap_m == 100


def test_patrol_and_rows_alight_are_said():
    order = order_of(straight_rows(6))
    assert any("how long to patrol is not known" in r.text and r.level == "look" for r in order.remarks)
    assert any("burn at once; your limit is not known" in r.text for r in order.remarks)
    assert watch((), LocalLimits({"patrol_min": Limit("patrol_min", 60.0, "test", "2026-01-01")}), None) == []
