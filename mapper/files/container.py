"""Vector files opened: folders, zips with junk in them, several layers; and in which grid they say they are."""

import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from mapper.farm.errors import CrsError, FileError
from mapper.files.report import CrsKnown

_VECTOR_ENDS = (".shp", ".gpkg", ".geojson", ".json", ".kml", ".fgb", ".gml", ".tab", ".gpx")
_ZIPS = (".zip", ".kmz", ".shz")


@dataclass(frozen=True)
class VectorSource:
    """One layer to read. opened: what GDAL is asked to open; layer: its name; crs_text: what the file says or ""."""

    path: Path
    opened: str
    layer: str
    geometry_type: str
    fields: tuple[str, ...]
    features: int
    crs_text: str
    encoding: str | None = None

    @property
    def degrees_by_rule(self) -> bool:
        """Whether the format itself fixes WGS 84 longitude and latitude (RFC 7946, KML, GPX)."""
        return PurePosixPath(self.opened).suffix.lower() in (".geojson", ".json", ".kml", ".gpx")


def _inside_zip(path: Path) -> list[str]:
    """Return the members of a zip that hold vectors, junk left out."""
    try:
        with zipfile.ZipFile(path) as packed:
            names = [i.filename for i in packed.infolist() if not i.is_dir()]
    except (zipfile.BadZipFile, OSError) as exc:
        raise FileError("it is no zip, or only half of one", str(path), "Copy it again from where it came") from exc
    names = [n for n in names if "__MACOSX" not in n and not PurePosixPath(n).name.startswith(".")]
    found = [n for n in names if n.lower().endswith(_VECTOR_ENDS)]
    if not found:
        held = ", ".join(PurePosixPath(n).name for n in names[:4]) or "nothing"
        raise FileError(f"the zip holds no map file, only {held}", str(path), "Zip the .shp with its .dbf and .prj")
    return [f"/vsizip/{{{path.resolve()}}}/{n}" for n in sorted(found)]


def _opened_names(path: Path) -> list[str]:
    if not path.exists():
        raise FileError("there is no such file", str(path), "Check the name and folder")
    if path.is_dir():
        found = sorted(p for p in path.iterdir() if p.suffix.lower() in _VECTOR_ENDS)
        if not found:
            raise FileError("the folder holds no map file", str(path), "Name the file itself")
        return [str(p) for p in found]
    if path.stat().st_size == 0:
        raise FileError("the file is empty", str(path), "Copy it again from where it came")
    return _inside_zip(path) if path.suffix.lower() in _ZIPS else [str(path)]


def list_sources(path: Path | str) -> list[VectorSource]:
    """Return every layer with shapes in a file, folder or zip.

    Raises FileError where it cannot be opened or holds none.
    """
    import pyogrio
    from pyogrio.errors import DataSourceError

    path = Path(path)
    out: list[VectorSource] = []
    for opened in _opened_names(path):
        try:
            layers = pyogrio.list_layers(opened)
            for layer, shape in layers:
                if shape is None or str(layer).startswith("mapper_"):
                    continue
                about = _about(opened, str(layer))
                out.append(
                    VectorSource(
                        path,
                        opened,
                        str(layer),
                        str(about["geometry_type"] or shape),
                        tuple(str(f) for f in about["fields"]),
                        int(about["features"]),
                        str(about["crs"] or ""),
                        about["asked_encoding"],
                    )
                )
        except DataSourceError as exc:
            raise FileError(
                "it cannot be read as a map file",
                str(path),
                "See that it is whole; a Shapefile needs .shp, .shx, .dbf",
            ) from exc
    if not out:
        raise FileError("it holds no shapes", str(path), "Name a file with paddocks, lines or points in it")
    return out


def _about(opened: str, layer: str) -> dict[str, Any]:
    """Return GDAL's account of a layer; a .dbf without a code page that is not UTF-8 is taken as Windows-1252."""
    import pyogrio

    shapefile = opened.lower().endswith(".shp")
    try:
        about = pyogrio.read_info(opened, layer=layer, force_feature_count=True)
        if shapefile and str(about.get("encoding", "")).upper() in ("UTF-8", ""):
            pyogrio.read_dataframe(opened, layer=layer, read_geometry=False, max_features=200)
        return {**about, "asked_encoding": None}
    except UnicodeDecodeError:
        about = pyogrio.read_info(opened, layer=layer, force_feature_count=True, encoding="cp1252")
        return {**about, "asked_encoding": "cp1252"}


def given_crs(crs: Any) -> CRS | None:
    """Return the CRS a user gave ("EPSG:7854", 7854, a CRS), or None. Raises CrsError where it is none."""
    if crs in (None, ""):
        return None
    try:
        if isinstance(crs, str) and crs.strip().isdigit():
            crs = int(crs)
        return CRS.from_user_input(crs)
    except ProjError as exc:
        raise CrsError(f"{crs!r} is no coordinate system", "--crs", "Give one such as EPSG:7854") from exc


def crs_note(found: CRS, known: CrsKnown, crs: Any) -> tuple[str, ...]:
    """Return a note where a grid was given and the file says another."""
    told = given_crs(crs)
    if known != "file" or told is None or told == found or told.equals(found, ignore_axis_order=True):
        return ()
    return (f"the file says {found.name}; {told.name}, as given, was not used for it.",)


def source_crs(source: VectorSource, crs: Any, bounds: Callable[[], tuple[float, ...]]) -> tuple[CRS, CrsKnown]:
    """Return the grid a layer is in and how that is known. bounds() gives (x0, y0, x1, y1) in the file's numbers.

    What the file says goes before what the user gives; crs_note() says so.
    Raises CrsError where neither the file nor the user says it.
    """
    told = given_crs(crs)
    if source.crs_text:
        found = CRS.from_user_input(source.crs_text)
        # GDAL calls a local grid without a place an engineering CRS: that is no grid of the Earth.
        if found.is_geographic or found.is_projected or found.is_compound or found.is_bound:
            return found, "file"
    if told is not None:
        return told, "given"
    if source.degrees_by_rule:
        return CRS.from_epsg(4326), "file"
    x0, y0, x1, y1 = bounds()
    degrees = max(abs(x0), abs(x1)) <= 180 and max(abs(y0), abs(y1)) <= 180
    looks = (
        "the numbers look like degrees: EPSG:4326, or EPSG:7844 for GDA2020"
        if degrees
        else "the numbers look like metres: EPSG:7854 is GDA2020 / MGA zone 54"
    )
    missing = "its .prj is missing" if source.opened.lower().endswith(".shp") else "it names no coordinate system"
    raise CrsError(missing, str(source.path), f"Say which grid it is in with --crs ({looks})")
