"""Which rows smoke at a moment, and where: a row is a line, and what is lit between two looks is not missed."""

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import make_layer
from mapper.plan.smoke import _thickest, sources_alight
from tests.farms import EAST, GRID, NORTH

START = pd.Timestamp("2026-04-18T08:00Z")


def pieces(lit, out, length=600.0):
    n = len(lit)
    lines = [shapely.LineString([(EAST + 12 * k, NORTH), (EAST + 12 * k, NORTH + length)]) for k in range(n)]
    times = {c: [START + pd.Timedelta(minutes=m) for m in v] for c, v in (("lit_at", lit), ("out_at", out))}
    names = {c: [f"{c[0]}{k}" for k in range(n)] for c in ("piece_id", "row_id")}
    data = {**names, **times, "order_no": list(range(1, n + 1)), "length_m": [length] * n}
    return make_layer("pieces", data, lines, GRID.crs)


LOADS = pd.Series({"r0": 1.5, "r1": 1.5, "r2": 1.5})


def at(minutes):
    return START + pd.Timedelta(minutes=minutes)


def test_a_row_smokes_along_its_length_and_its_rate_is_shared():
    """600 m x 1.5 kg/m burnt in 20 min: 0.89 x 16.9 g/kg (Environ. Pollut. 2018) over 1200 s is 11.3 g/s."""
    xy, rate = sources_alight(pieces([0], [20]), LOADS, at(10), 20.0, 16.9)
    assert len(xy) == 4
    assert rate.sum() == pytest.approx(600 * 1.5 * 0.89 * 16.9 / 1200.0)
    np.testing.assert_allclose(xy[:, 1] - NORTH, [75, 225, 375, 525], atol=1e-6)
    assert len(sources_alight(pieces([0], [20]), LOADS, at(25), 20.0, 16.9)[0]) == 0


def test_many_sources_are_gathered_and_keep_the_whole_rate():
    many = pieces([0] * 300, [20] * 300)
    loads = pd.Series({f"r{k}": 1.0 for k in range(300)})
    xy, rate = sources_alight(many, loads, at(10), 20.0, 16.9)
    assert len(xy) == len(rate) == 200
    assert rate.sum() == pytest.approx(300 * 600 * 0.89 * 16.9 / 1200.0)


def test_a_burn_between_two_looks_is_not_missed():
    short = pieces([2, 3, 40], [18, 19, 60])
    assert _thickest(short, START) == at(5)
    assert len(sources_alight(short, LOADS, _thickest(short, START), 15.0, 16.9)[0]) == 8
