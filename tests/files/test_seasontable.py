import pandas as pd
import pytest

from mapper.files.seasontable import write_season
from mapper.record.season import season_of
from tests.demo import demo_farm
from tests.record.nights import night, rows


def test_a_season_comes_back_from_the_spreadsheet(tmp_path):
    record = night(rows("a", [1, 2], "burnt"), rows("b", [2], "went out", 5, from_m=100))
    season = season_of(demo_farm(), [record])
    path = tmp_path / "Gümüş.xlsx"
    write_season(season, [record], path)
    read = pd.read_excel(path, sheet_name=None)
    assert read["nights"]["km_burnt"].tolist() == pytest.approx(season.nights["km_burnt"].tolist())
    assert read["cover"]["paddock"].tolist() == ["Bottom Dam"]
    assert read["burnt twice"].empty
    rows_read = read["rows"]
    went_out = rows_read[rows_read["state"] == "Went out"]
    assert went_out["order_no"].tolist() == [2]
    assert went_out["from_m"].tolist() == [100.0]
    # The farm's own clock: 08:35 UTC is 18:35 in the paddock.
    assert went_out["at"].dt.strftime("%H:%M").tolist() == ["18:35"]
