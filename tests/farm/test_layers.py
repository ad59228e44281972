import pandas as pd
import pytest
import shapely
from pyproj import CRS

from mapper.farm.errors import LayerError
from mapper.farm.layers import LAYERS, check_layer, empty_layer, make_layer, stack_layers

CRS54 = CRS.from_epsg(7854)


@pytest.mark.parametrize("name", LAYERS)
def test_empty_layers_keep_their_contract(name):
    layer = check_layer(name, empty_layer(name, CRS54))
    assert list(layer.columns) == [*LAYERS[name].columns, "geometry"]
    assert stack_layers(name, [layer, layer], CRS54).empty


def test_make_layer_fills_what_is_not_known():
    layer = make_layer("windrows", {"row_id": ["a"], "length_m": [10]}, [shapely.LineString([(0, 0), (0, 10)])], CRS54)
    assert layer["load_kg_m"].isna().all()
    assert layer["dropped_at"].isna().all()
    assert layer["machine"].iloc[0] == ""


def test_contract_breaks_are_said():
    points = make_layer("heaps", {"kg": [5.0]}, [shapely.Point(0, 0)], CRS54)
    with pytest.raises(LayerError, match="missing"):
        check_layer("heaps", points.drop(columns="kg"))
    with pytest.raises(LayerError, match="metric grid"):
        check_layer("heaps", points.to_crs("EPSG:4326"))
    with pytest.raises(LayerError, match="LineString"):
        check_layer("heaps", points.set_geometry([shapely.LineString([(0, 0), (1, 1)])], crs=CRS54))
    with pytest.raises(LayerError, match="not number"):
        check_layer("heaps", points.assign(kg=pd.Series(["x"])))
    row = {"row_id": ["a", "a"]}
    with pytest.raises(LayerError, match="twice"):
        make_layer("windrows", row, [shapely.LineString([(0, 0), (0, 1)])] * 2, CRS54)
