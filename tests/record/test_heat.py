"""Probe traces: definitions of Spoth et al. 2022, thresholds of Walsh & Newman 2007 and Norsworthy et al. 2020."""

import numpy as np
import pytest

from mapper.farm.farm import RowBurn
from mapper.record.entry import Entry
from mapper.record.heat import adjust_row_burn, heat_table
from mapper.record.look import look_here
from tests.record.nights import at, night, rows


def probe(name: str, trace, row: int | None = 3, **body) -> Entry:
    read = {"points": 1, "step_s": 1.0, "temp_c": list(trace), "ambient_c": 25.0, "row": row, **body}
    return Entry(name, "heat", "Crew 1", at(40), at(40), read)


# A row at 450 degC for a minute: the working threshold of the South Australian project (SAGIT S416, read); its heat
# index is (450 - 25) * 60 = 25,500.
MINUTE_AT_450 = [25.0] * 5 + [450.0] * 60 + [25.0] * 5


def test_index_and_burn_time_of_a_trace():
    line = heat_table(night(probe("h", MINUTE_AT_450))).iloc[0]
    assert line["heat_index"] == pytest.approx(25_500)
    assert line["burn_time_s"] == 60
    assert line["peak_c"] == 450
    assert line["ryegrass"]
    assert line["all_seed"]
    assert not line["radish"]


def test_a_gap_in_a_trace_is_said():
    trace = np.array(MINUTE_AT_450)
    trace[20:40] = np.nan
    line = heat_table(night(probe("h", trace))).iloc[0]
    assert line["heat_index"] == pytest.approx(40 * 425)
    assert "at least" in line["why_not"]


def test_a_cool_row_is_looked_at_whatever_the_tally_says():
    record = night(rows("a", list(night().numbers), "burnt"), probe("h", [25.0] * 5 + [180.0] * 100))
    places = look_here(record)
    (cool,) = places[places["order_no"] == 3].itertuples()
    assert cool.reason == "A probe in it did not reach the heat that kills seed"


def test_three_traces_move_the_farms_burn_out_time_to_the_longest():
    traces = [probe(f"h{k}", [25.0] + [300.0] * 60 * minutes + [25.0]) for k, minutes in enumerate((12, 18, 25))]
    assert adjust_row_burn(RowBurn(), heat_table(night(*traces[:2]))) is None
    adjusted = adjust_row_burn(RowBurn(), heat_table(night(*traces)))
    assert adjusted.row_burn.burnout_min == pytest.approx(25)
    assert "longest of 3 probe traces" in adjusted.row_burn.source
    assert adjusted.row_burn.spread_m_min == RowBurn().spread_m_min
