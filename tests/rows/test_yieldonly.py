"""Logs that hold a yield but neither flow nor header flag, and rows that run on past the boundary."""

import numpy as np
import pandas as pd
import shapely

from mapper.farm.farm import Harvester
from mapper.farm.tracks import make_track
from mapper.rows.derive import derive_rows

_WIDTH_M, _SPEED_M_S, _LONG_M, _PASSES = 10.0, 2.0, 300.0, 6


def _drive(overrun_m: float) -> pd.DataFrame:
    """Back and forth along x, turning outside, then once across the standing strip at the top with the header up."""
    x, y, cuts = [], [], []
    for k in range(_PASSES):
        way = np.arange(-overrun_m, _LONG_M + overrun_m, _SPEED_M_S)
        x += list(way if k % 2 == 0 else _LONG_M - way)
        y += [5.0 + _WIDTH_M * k] * len(way)
        cuts += list((way > -3) & (way < _LONG_M - 3))
        turn = np.linspace(-np.pi / 2, np.pi / 2, 8)[1:-1]
        side = 1 if k % 2 == 0 else -1
        x += list((_LONG_M + overrun_m if side > 0 else -overrun_m) + side * 5 * np.cos(turn))
        y += list(10.0 + _WIDTH_M * k + 5 * np.sin(turn))
        cuts += [False] * len(turn)
    across = np.arange(0, 250, _SPEED_M_S)
    x, y, cuts = x + list(across), y + [5.0 + _WIDTH_M * (_PASSES + 1)] * len(across), cuts + [False] * len(across)
    n = len(x)
    nothing = np.full(n, np.nan)
    return make_track(
        {"t_s": 1.7e9 + np.arange(n, dtype=float), "x": np.array(x), "y": np.array(y), "speed_m_s": nothing,
         "heading_deg": nothing, "header_down": np.full(n, -1), "width_m": nothing, "flow_kg_s": nothing,
         "yield_t_ha": np.where(cuts, 2.5, 0.0), "machine": ["H1"] * n}
    )  # fmt: skip


def _derive(overrun_m: float, delay_s: float):
    paddock = pd.Series({"paddock": "P", "crop": "wheat", "geometry": shapely.box(0, 0, _LONG_M, 80)})
    return derive_rows(
        _drive(overrun_m), {"H1": Harvester("H1", _WIDTH_M, threshing_delay_s=delay_s)}, paddock, "EPSG:7854"
    )


def test_a_yield_alone_tells_driving_from_cutting():
    found = _derive(12.0, 4.0)
    assert set(found.windrows["evidence"]) == {"log, fresh ground and flow"}
    assert len(found.windrows) == _PASSES  # the drive across the standing strip made no row
    assert not any("neither when the header was down" in r.text for r in found.remarks)


def test_straw_past_the_boundary_is_said():
    said = [r for r in _derive(30.0, 14.0).remarks if "past the boundary" in r.text]
    assert len(said) == 1 and said[0].level == "look" and f"{_PASSES} rows" in said[0].text
    assert not [r for r in _derive(30.0, 3.0).remarks if "past the boundary" in r.text]
