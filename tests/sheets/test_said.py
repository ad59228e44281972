import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.sheets.said import figure_words, for_the_crew, hour_words, metres_words, printed, told_words
from tests.demo import demo_plan


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [(1750.4, "kW/m", "1,750 kW/m"), (67_312.0, "degC s", "67,300 °C s"), (0.000325, "", "0.000325"),
     (0.5, "h", "0.5 h"), (3e-9, "", "under 0.000001"), (0.0, "m", "0 m"), (float("nan"), "m", "not known"),
     (999.6, "m", "1,000 m"), (-12.34, "degC", "-12.3 °C")],
)  # fmt: skip
def test_figures_have_no_powers_of_ten(value, unit, said):
    assert figure_words(value, unit) == said


@given(st.floats(-1e9, 1e9, allow_nan=False))
def test_any_figure_is_said_in_digits(value):
    said = figure_words(value)
    assert "e" not in said.replace("under", "")
    if abs(value) > 1e-4:
        assert float(said.replace(",", "")) == pytest.approx(value, rel=6e-3, abs=6e-7)


def test_hours_lengths_units_and_notes():
    assert (hour_words(17), hour_words(24), hour_words(25.5)) == ("17:00", "00:00", "01:30 next day")
    assert (metres_words(57_507), metres_words(840)) == ("57.5 km", "840 m")
    smoke = "House: thick smoke may come (150 to 3000 ug/m3). At 30 degC."
    assert for_the_crew(smoke) == "House: thick smoke may come. At 30 °C."
    assert printed(smoke) == "House: thick smoke may come (150 to 3000 µg/m³). At 30 °C."
    plan = demo_plan()
    assert told_words(plan, "2026-04-16 17:30") == "Thu 16 Apr 17:30"
    assert told_words(plan, "2026-04-16T07:30+00:00") == "Thu 16 Apr 17:30"
    assert told_words(plan, "rang, no answer") == "rang, no answer"
