"""Map files into farm layers: what is read, mended, refused and said. All shapes are made up."""

import zipfile

import geopandas as gpd
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import CrsError, FileError
from mapper.farm.layers import make_layer
from mapper.files.vectors import join_layers, read_layer, read_windrows

LON, LAT = 141.6, -36.2
GRID = Grid(metric_crs(LON, LAT))
X0, Y0 = 554000.0, 5993000.0


@pytest.fixture
def folder(tmp_path):
    path = tmp_path / "Gümüş paddock"
    path.mkdir()
    return path


def _frame(shapes, crs="EPSG:7854", **columns):
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=crs)


def _square(i=0, size=400.0):
    return box(X0 + i * 1000, Y0, X0 + i * 1000 + size, Y0 + size)


@pytest.mark.parametrize("end", [".gpkg", ".shp", ".geojson", ".fgb", ".kml"])
def test_every_format_gives_the_same_paddocks(folder, end):
    hole = Polygon(_square(1).exterior, [box(X0 + 1100, Y0 + 100, X0 + 1150, Y0 + 150).exterior])
    frame = _frame([_square(), hole], Name=["Gümüş", "Zwölf"], Crop=["Wheat", "Barley"])
    path = folder / f"boundaries{end}"
    (frame.to_crs(4326) if end in (".geojson", ".kml") else frame).to_file(path)
    layer, report = read_layer(path, "paddocks", GRID)
    # FlatGeobuf puts features in its own order.
    layer = layer.sort_values("paddock").reset_index(drop=True)
    assert list(layer["paddock"]) == ["Gümüş", "Zwölf"]
    assert layer.crs == GRID.crs
    assert layer.area.to_numpy() == pytest.approx([160_000, 157_500], rel=1e-4)
    assert report.count == 2
    assert report.crs_known == "file"
    if end != ".kml":
        assert list(layer["crop"]) == ["wheat", "barley"]


def test_kmz_and_zip_with_junk(folder):
    frame = _frame([_square()], Name=["A"])
    frame.to_crs(4326).to_file(folder / "a.kml", driver="KML")
    with zipfile.ZipFile(folder / "b.kmz", "w") as packed:
        packed.write(folder / "a.kml", "doc.kml")
    frame.to_file(folder / "b.shp")
    with zipfile.ZipFile(folder / "b.zip", "w") as packed:
        for part in folder.glob("b.*"):
            if part.suffix in (".shp", ".shx", ".dbf", ".prj"):
                packed.write(part, f"inner/{part.name}")
                packed.writestr(f"__MACOSX/inner/._{part.name}", b"junk")
    for name in ("b.kmz", "b.zip"):
        layer, _ = read_layer(folder / name, "paddocks", None)
        assert layer.area.sum() == pytest.approx(160_000, rel=1e-4)
        assert layer.crs == GRID.crs


def test_degrees_get_the_grid_of_the_place(folder):
    _frame([_square()], name=["A"]).to_crs(4326).to_file(folder / "b.geojson")
    layer, report = read_layer(folder / "b.geojson", "paddocks", None)
    assert layer.crs.to_epsg() == 7854
    assert any("WGS 84 to GDA2020" in note for note in report.notes)


def test_missing_prj_is_asked_for_and_taken_when_given(folder):
    path = folder / "b.shp"
    _frame([_square()], name=["A"]).to_file(path)
    path.with_suffix(".prj").unlink()
    with pytest.raises(CrsError, match="--crs") as caught:
        read_layer(path, "paddocks", None)
    assert "metres" in str(caught.value)
    layer, report = read_layer(path, "paddocks", None, crs="EPSG:7854")
    assert report.crs_known == "given"
    assert layer.total_bounds[0] == pytest.approx(X0)
    with pytest.raises(CrsError, match="no coordinate system"):
        read_layer(path, "paddocks", None, crs="EPSG:99999999")


def test_what_the_file_says_goes_before_what_is_given(folder):
    _frame([_square()], name=["A"], crs="EPSG:28354").to_file(folder / "b.gpkg")
    layer, report = read_layer(folder / "b.gpkg", "paddocks", GRID, crs="EPSG:7854")
    # GDA94 to GDA2020 is about 1.8 m north-east in Australia (ICSM, GDA2020 technical manual).
    moved = layer.geometry.iloc[0].centroid.distance(_square().centroid)
    assert 1.4 < moved < 2.0
    assert any("was not used" in note for note in report.notes)


def test_wrong_zone_is_refused(folder):
    _frame([_square()], name=["A"], crs="EPSG:7850").to_file(folder / "b.gpkg")
    with pytest.raises(CrsError, match="outside the zone"):
        read_layer(folder / "b.gpkg", "paddocks", GRID)


def test_swapped_axes_are_turned_and_said(folder):
    swapped = [shapely.transform(s, lambda c: c[:, ::-1]) for s in _frame([_square()]).to_crs(4326).geometry]
    for grid, crs in ((GRID, "EPSG:4326"), (None, "EPSG:4326")):
        gpd.GeoDataFrame({"name": ["A"]}, geometry=swapped, crs=crs).to_file(folder / "b.gpkg")
        layer, report = read_layer(folder / "b.gpkg", "paddocks", grid)
        assert layer.area.sum() == pytest.approx(160_000, rel=1e-3)
        assert any("swapped" in text for text in report.repaired)


def test_bow_tie_is_mended_and_the_hectares_said(folder):
    tie = Polygon([(X0, Y0), (X0 + 400, Y0 + 400), (X0 + 400, Y0), (X0, Y0 + 400)])
    _frame([tie, _square(1)], name=["Tie", "B"]).to_file(folder / "b.gpkg")
    layer, report = read_layer(folder / "b.gpkg", "paddocks", GRID)
    assert layer.is_valid.all()
    assert layer.area.iloc[0] == pytest.approx(80_000, rel=1e-6)
    assert any("Tie" in t and "+8.00 ha" in t for t in report.repaired)


def test_what_is_no_area_is_refused_but_a_closed_line_is_taken(folder):
    ring = LineString([(X0, Y0), (X0 + 100, Y0), (X0 + 100, Y0 + 100), (X0, Y0 + 100), (X0, Y0)])
    _frame([ring, LineString([(X0, Y0), (X0 + 9, Y0)]), Point(X0, Y0), _square(1)], name=list("abcd")).to_file(
        folder / "b.gpkg"
    )
    layer, report = read_layer(folder / "b.gpkg", "paddocks", GRID)
    assert list(layer["paddock"]) == ["a", "d"]
    assert layer.area.iloc[0] == pytest.approx(10_000)
    assert any("closed line" in n for n in report.notes)
    assert any("2 features are not an area" in r for r in report.refused)


def test_names_that_stand_twice_are_numbered(folder):
    _frame([_square(0), _square(1), _square(2)], field=["Hill", "Hill", None]).to_file(folder / "b.gpkg")
    layer, report = read_layer(folder / "b.gpkg", "paddocks", GRID)
    assert layer["paddock"].is_unique
    assert list(layer["paddock"])[:2] == ["Hill", "Hill (2)"]
    assert any("twice" in t for t in report.repaired)


def test_a_far_feature_and_an_empty_one_are_left_out(folder):
    _frame([_square(0), box(X0 + 5e5, Y0, X0 + 5e5 + 9, Y0 + 9), None, _square(1)], name=list("abcd")).to_file(
        folder / "b.gpkg"
    )
    layer, report = read_layer(folder / "b.gpkg", "paddocks", GRID)
    assert list(layer["paddock"]) == ["a", "d"]
    assert len(report.refused) == 2


def test_empty_missing_half_written_and_rubbish(folder):
    whole = folder / "b.gpkg"
    _frame([_square(i) for i in range(50)], name=[str(i) for i in range(50)]).to_file(whole)
    half = folder / "half.gpkg"
    half.write_bytes(whole.read_bytes()[:5000])
    (folder / "empty.shp").touch()
    (folder / "text.geojson").write_text("no map here", encoding="utf-8")
    _frame([_square()], name=["A"]).iloc[:0].to_file(folder / "none.gpkg")
    for name in ("half.gpkg", "empty.shp", "text.geojson", "none.gpkg", "not there.gpkg"):
        with pytest.raises(FileError) as caught:
            read_layer(folder / name, "paddocks", GRID)
        assert name in str(caught.value)
        assert "\n" not in str(caught.value)


def test_layer_is_chosen_by_name_or_refused_with_the_names(folder):
    path = folder / "farm.gpkg"
    _frame([_square()], name=["A"]).to_file(path, layer="alpha")
    _frame([_square(1)], name=["B"]).to_file(path, layer="beta")
    with pytest.raises(FileError, match="alpha, beta"):
        read_layer(path, "paddocks", GRID)
    _frame([_square(2)], name=["C"]).to_file(path, layer="Paddocks")
    layer, report = read_layer(path, "paddocks", GRID)
    assert list(layer["paddock"]) == ["C"]
    assert sum("not used" in n for n in report.notes) == 2


def test_asset_kinds_come_from_words_layers_and_names(folder):
    path = folder / "things.gpkg"
    _frame([Point(X0, Y0), Point(X0 + 9, Y0), Point(X0 + 20, Y0)], type=["Homestead", "Hay stack", "Circus"]).to_file(
        path, layer="buildings"
    )
    _frame([LineString([(X0, Y0), (X0 + 900, Y0)])]).to_file(path, layer="Power lines")
    layer, report = read_layer(path, "assets", GRID)
    assert sorted(layer["kind"]) == ["haystack", "house", "power_line"]
    assert layer["asset"].is_unique
    assert any("Circus" in r for r in report.refused)


def test_breaks_and_neighbours(folder):
    two = shapely.multilinestrings([[(X0, Y0), (X0 + 5, Y0)], [(X0, Y0 + 9), (X0 + 5, Y0 + 9)]])
    _frame([two, LineString([(X0, Y0), (X0, Y0 + 50)])], width=[4.0, None]).to_file(folder / "breaks.gpkg")
    layer, report = read_layer(folder / "breaks.gpkg", "breaks_there", GRID)
    assert len(layer) == 3
    assert list(layer["width_m"])[:2] == [4.0, 4.0]
    assert any("no width" in n for n in report.notes)
    _frame([MultiPolygon([_square(0), _square(1)])], owner=["N1"], mobile=["0491 570 006"]).to_file(folder / "n.gpkg")
    layer, _ = read_layer(folder / "n.gpkg", "neighbours", GRID)
    assert layer.loc[0, ["neighbour", "name", "phone"]].tolist() == ["N1", "N1", "0491 570 006"]


def test_shapefile_in_an_old_code_page(folder):
    path = folder / "b.shp"
    _frame([_square()], NAME=["Mühlfeld"]).to_file(path, encoding="cp1252")
    path.with_suffix(".cpg").unlink(missing_ok=True)
    layer, _ = read_layer(path, "paddocks", GRID)
    assert layer["paddock"].iloc[0] == "Mühlfeld"


def test_windrows_written_before_come_back(folder):
    from mapper.farm.layers import make_layer
    from mapper.files.outputs import write_layers

    rows = make_layer(
        "windrows", {"row_id": ["r1"], "paddock": ["A"], "load_kg_m": [1.5]}, [LineString([(X0, Y0), (X0 + 9, Y0)])],
        GRID.crs,
    )  # fmt: skip
    write_layers({"windrows": rows}, folder / "rows.gpkg")
    back = read_windrows(folder / "rows.gpkg", GRID)
    assert back["row_id"].tolist() == ["r1"]
    assert back["pass_no"].dtype == "int64"
    with pytest.raises(FileError, match="windrows"):
        _frame([_square()], name=["A"]).to_file(folder / "b.gpkg")
        read_windrows(folder / "b.gpkg", GRID)


def test_two_files_with_a_paddock_of_one_name_are_told_apart(tmp_path):

    def paddock(x):
        return make_layer("paddocks", {"paddock": ["Home"]}, [box(x, 0, x + 100, 100)], GRID.crs)

    joined, said = join_layers("paddocks", [paddock(0), paddock(500), paddock(0.2)])
    assert joined["paddock"].tolist() == ["Home", "Home (2)"]
    assert any("kept once" in t for t in said) and any("'Home (2)'" in t for t in said)
    alone, said = join_layers("paddocks", [paddock(0)])
    assert len(alone) == 1 and said == ()
