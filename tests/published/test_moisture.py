"""Moisture. Sources: Van Wagner & Pickett (1985) Forestry Technical Report 33, test series (second-hand, 48 days seen);
dead grass by McArthur (1966) / Cheney et al. (1989), second-hand, values calc.
"""

import numpy as np
import pytest

from mapper.weather.moisture import code_from_moisture, dead_grass_moisture, ffmc_daily, moisture_from_code

# Noon temperature, humidity, wind km/h, rain mm -> code; start 85.
SERIES = """
17,42,25,0 87.6 | 20,21,25,2.4 86.2 | 8.5,40,17,0 86.9 | 6.5,25,6,0 88.8 | 13,34,24,0 89 | 6,40,22,.4 88.6 |
5.5,52,6,0 87.3 | 8.5,46,16,0 87.3 | 9.5,54,20,0 86.7 | 7,93,14,9 29.8 | 6.5,71,17,1 49.4 | 6,59,17,0 67.2 |
13,52,4,0 77.7 | 15.5,40,11,0 85.4 | 23,25,9,0 91.5 | 19,46,16,0 89.9 | 18,41,20,0 89.9 | 14.5,51,16,0 88.4 |
14.5,69,11,0 85.6 | 15.5,42,8,0 87.3 | 21,37,8,0 89.3 | 23,32,16,0 90.9 | 23,32,14,0 91.2 | 27,33,12,0 91.6 |
28,17,27,0 95.1 | 23.5,54,20,0 89.7 | 16,50,22,12.2 62.2 | 11,58,20,0 76.4 | 16,54,16,0 83.3 | 21.5,37,9,0 88.6 |
14,61,22,.2 86.6 | 15,30,27,0 89.6 | 20,23,11,0 92.1 | 14,95,3,16.4 21.3 | 20,53,4,2.8 51 | 19.5,30,16,0 82.2 |
25.5,51,20,6 75.3 | 10,38,24,0 84.3 | 19,27,16,0 90.3 | 26,46,11,4.2 77.5 | 30,38,22,0 90.2 | 25.5,67,19,12.6 65.3 |
12,53,28,11.8 55.4 | 21,38,8,0 80.8 | 13,70,20,3.8 61.7 | 9,78,24,1.4 64.4 | 11,54,16,0 77.6 | 15.5,39,9,0 85.4
"""


def test_the_48_days():
    code, off = 85.0, []
    for day in SERIES.replace("\n", " ").split("|"):
        weather, expected = day.split()
        code = ffmc_daily(code, *(float(v) for v in weather.split(",")))
        off.append(abs(code - float(expected)))
    assert len(off) == 48
    assert max(off) <= 0.0501 + 0.01


def test_code_to_moisture():
    """calc: 70 35.26, 80 22.17, 85 16.31, 90 10.84, 95 5.72 %."""
    np.testing.assert_allclose(moisture_from_code([70, 80, 85, 90, 95]), [35.26, 22.17, 16.31, 10.84, 5.72], atol=0.006)
    np.testing.assert_allclose(
        code_from_moisture(moisture_from_code(np.arange(20, 100))), np.arange(20, 100), rtol=1e-4
    )


@pytest.mark.parametrize(
    ("temp", "rh", "expected"),
    [
        (20, 20, 8.24),
        (25, 30, 8.60),
        (30, 20, 6.19),
        (20, 50, 12.38),
        (20, 65, 14.45),
        (15, 80, 17.55),
        (10, 90, 19.95),
    ],
)
def test_dead_grass(temp, rh, expected):
    """calc; Miller's rule M = RH / 5 + 4 (read) lies within 3 % of moisture of it on these rows."""
    got = dead_grass_moisture(temp, rh).value
    assert got == pytest.approx(expected, abs=0.006)
    assert abs(got - (rh / 5 + 4)) < 3
