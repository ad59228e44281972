"""What a file holds is said, and nothing is changed."""

import pandas as pd
import pytest

from mapper.farm.errors import SettingError
from mapper.files.look import look_at
from mapper.files.tracks import read_columns


def _log(tmp_path):
    path = tmp_path / "Gümüş log.csv"
    pd.DataFrame({"lat": [-36.2, -36.20001], "lon": [141.6, 141.6]}).to_csv(path, index=False)
    return path


def test_a_log_is_described_and_its_columns_written(tmp_path):
    out = tmp_path / "columns.toml"
    lines = list(look_at([_log(tmp_path)], "log", columns_out=out))
    assert lines[0].startswith("Gümüş log.csv: 2 fixes read, positions in WGS 84")
    assert read_columns(out).get("latitude").column == "lat"


def test_what_is_missing_is_asked_for(tmp_path):
    with pytest.raises(SettingError, match="--at"):
        list(look_at([_log(tmp_path)], "forecast"))
    with pytest.raises(SettingError, match="--columns-out"):
        list(look_at([_log(tmp_path)] * 2, "log", columns_out=tmp_path / "c.toml"))
