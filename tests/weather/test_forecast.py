import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import LayerError
from mapper.weather.forecast import check_forecast
from tests.weather.hourly import forecast


def test_a_good_table_passes_as_it_is():
    table = forecast(cloud_pct=np.nan)
    assert check_forecast(table) is table


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda t: t.drop(columns="rain_mm"), "rain_mm"),
        (lambda t: t.assign(temp_c=t["temp_c"].astype("float32")), "temp_c"),
        (lambda t: t.assign(time_utc=t["time_utc"].dt.tz_localize(None)), "UTC"),
        (lambda t: t.assign(time_utc=t["time_utc"].dt.tz_convert("Australia/Perth")), "UTC"),
        (lambda t: t.iloc[::-1], "forward"),
        (lambda t: pd.concat([t, t.tail(1)]), "forward"),
        (lambda t: t.iloc[:0], "no hours"),
        (lambda t: t.assign(rh_pct=130.0), "cannot be"),
        (lambda t: t.assign(wind_km_h=-1.0), "cannot be"),
        (lambda t: t.assign(wind_from_deg=400.0), "cannot be"),
    ],
)
def test_a_spoilt_table_is_refused_with_a_sentence(spoil, says):
    with pytest.raises(LayerError, match=says):
        check_forecast(spoil(forecast()))
