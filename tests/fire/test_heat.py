"""Heat in rows. Lethal points as their sources print them; traces are invented."""

import numpy as np
import pytest

from mapper.fire.heat import KILL_POINTS, effective_burn_time, heat_index, killed, longest_above, row_heat


def test_heat_index_of_the_lethal_points():
    """(T - 25) x s, derived: ryegrass 3,750, radish 4,750 (Walsh & Newman 2007).

    400 C x 60 s is 22,500, close to the 22,600 of Norsworthy et al. (2020).
    """
    for point in KILL_POINTS:
        trace = np.full(int(point.seconds), point.temp_c)
        assert heat_index(trace, 25.0) == pytest.approx(point.heat_index, rel=5e-3)


def test_heaviest_published_trace():
    """Lupin row near Mullewa: over 500 C for 3 minutes, at least 85,500 (Newman & Walsh 2005; derived)."""
    assert heat_index(np.full(180, 500.0), 25.0) == 85_500


def test_traces_at_other_steps():
    trace = np.full(12, 450.0)
    assert heat_index(trace, 20.0, step_s=5) == heat_index(np.full(60, 450.0), 20.0)
    assert effective_burn_time(trace, step_s=5) == 60
    assert effective_burn_time([150, 199, 201, 300]) == 2


def test_a_broken_spell_is_not_ten_seconds():
    trace = np.array([410.0] * 6 + [390.0] + [410.0] * 6)
    assert longest_above(trace, 400) == 6
    assert not killed(trace, 20)["annual ryegrass"]
    assert killed(np.full(10, 410.0), 20) == {
        "annual ryegrass": True, "wild radish in pods": False, "all seed tested": False,
    }  # fmt: skip
    assert all(killed(np.full(60, 550.0), 20).values())


@pytest.mark.parametrize(
    ("kg_m", "width", "moisture", "verdict"),
    [
        (1.2, 0.6, 9, "likely"),  # 20 t/ha: the trade's least
        (1.0, 0.5, 9, "likely"),
        (0.9, 0.6, 9, "doubtful"),
        (0.5, 0.6, 9, "unlikely"),  # 8 t/ha
        (1.5, 0.6, 18, "doubtful"),
        (1.5, 0.6, 30, "unlikely"),
        (np.nan, 0.6, 9, "not known"),
        (1.5, 0.6, np.nan, "not known"),
    ],
)
def test_row_heat(kg_m, width, moisture, verdict):
    got = row_heat(kg_m, width, moisture)
    assert got.verdict[()] == verdict
    assert got.why[()]


def test_rows_in_one_go():
    got = row_heat([0.5, 1.0, 2.0], 0.6, 10)
    np.testing.assert_allclose(got.load_t_ha, [8.333, 16.667, 33.333], rtol=1e-3)
    assert got.verdict.tolist() == ["unlikely", "doubtful", "likely"]
    assert row_heat(1.0, 0.6, 10, enough_t_ha=15).verdict[()] == "likely"
