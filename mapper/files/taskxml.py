"""The XML of ISO 11783-10 task data: folder or zip, any case of names, linked files put in; devices and geometry."""

import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path, PurePosixPath
from typing import Any

from mapper.farm.errors import FileError

_MAIN = "taskdata.xml"
_MOST_BYTES = 2_000_000_000

# Data dictionary numbers (ISO 11783-11): widths and offsets in mm.
WIDTH_NOW, WIDTH_MOST, OFFSET_AHEAD, OFFSET_RIGHT = 67, 70, 134, 135
# Kinds of device element (ISO 11783-10, attribute C of DET).
SECTION, NAVIGATION = "4", "7"
# From here on a manufacturer's own (ISO 11783-11).
_OWN_FROM = 57_344


@dataclass(frozen=True)
class Device:
    """A machine as its task data describes it. NaN where it does not say.

    header_ahead_m: header ahead of the antenna; antenna_right_m: antenna right of the header's centre.
    elements: its device elements' ids. sections: those of them that are sections, in the order of their numbers, with
    each one's width in metres (NaN where it is not said). own: what the manufacturer's own quantities (DDI 57344 to
    65534) are called, with their unit, factor and offset: value = (logged + offset) * factor.
    """

    device: str
    name: str
    header_width_m: float
    header_ahead_m: float
    antenna_right_m: float
    elements: frozenset[str]
    sections: dict[str, float]
    own: dict[int, tuple[str, str, float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class TaskData:
    """A task data set: its XML root; its other files by lower-case name, each read when it is asked for."""

    path: Path
    root: Any
    files: Mapping[str, "Packed"]

    @property
    def version(self) -> str:
        """The standard's version the file claims, for example "4.1"."""
        return f"{self.root.get('VersionMajor', '?')}.{self.root.get('VersionMinor', '?')}"


@dataclass(frozen=True)
class Packed:
    """A file of a task data set: its bytes (how many, and a function that reads them)."""

    size: int
    read: Callable[[], bytes]


def is_taskdata(path: Path | str) -> bool:
    """Return whether a path is a TASKDATA.XML, or a folder or zip that holds one; no error where it is nothing."""
    path = Path(path)
    if path.name.lower() == _MAIN:
        return path.is_file()
    if path.is_dir():
        return _home(path) is not None
    if path.suffix.lower() != ".zip" or not zipfile.is_zipfile(path):
        return False
    with zipfile.ZipFile(path) as packed:
        return any(PurePosixPath(n).name.lower() == _MAIN for n in packed.namelist())


def open_taskdata(path: Path | str) -> TaskData:
    """Return a task data set from its folder, a zip of it, or the TASKDATA.XML itself.

    Raises FileError where there is none, more than one, or it is not XML.
    """
    path = Path(path)
    if not path.exists():
        raise FileError("there is no such file", str(path), "Check the name and folder")
    files = _unzipped(path) if path.suffix.lower() == ".zip" else _from_folder(path)
    if _MAIN not in files:
        raise FileError("no TASKDATA.XML in it", str(path), "Name the folder or zip that holds TASKDATA.XML")
    root = parse_xml(files[_MAIN].read(), f"{path}, TASKDATA.XML")
    if root.tag != "ISO11783_TaskData":
        raise FileError(
            f"it begins with {root.tag!r}: no task data", str(path), "Name the folder that holds TASKDATA.XML"
        )
    for link in root.findall("XFR"):
        name = f"{link.get('A', '')}.xml".lower()
        if name not in files:
            raise FileError(f"the linked file {name.upper()} is missing", str(path), "Copy the whole TASKDATA folder")
        root.extend(parse_xml(files[name].read(), f"{path}, {name.upper()}"))
    return TaskData(path, root, files)


def parse_xml(data: bytes, where: str) -> Any:
    """Return an XML file's root element. Raises FileError where it is not XML or holds entities."""
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        return fromstring(data)
    except (ParseError, DefusedXmlException, ValueError) as exc:
        raise FileError(f"it is not valid XML ({exc})", where, "Export the task data again") from exc


def _from_folder(path: Path) -> dict[str, Packed]:
    folder = (_home(path) or path) if path.is_dir() else path.parent
    ours = [p for p in sorted(folder.iterdir()) if p.is_file() and _is_ours(p.name)]
    return {p.name.lower(): Packed(p.stat().st_size, p.read_bytes) for p in ours}


def _home(folder: Path) -> Path | None:
    """Return the folder with the TASKDATA.XML: this one, or one called TASKDATA in it; None where there is none."""
    inner = [p for p in folder.iterdir() if p.is_dir() and p.name.lower() == "taskdata"]
    return next((f for f in (folder, *inner) if any(p.name.lower() == _MAIN for p in f.iterdir())), None)


def _is_ours(name: str) -> bool:
    return name.lower().endswith((".xml", ".bin")) and not name.startswith(".")


def _unzipped(path: Path) -> dict[str, Packed]:
    try:
        with zipfile.ZipFile(path) as packed:
            members = [i for i in packed.infolist() if not i.is_dir() and "__MACOSX" not in i.filename]
            mains = [i.filename for i in members if PurePosixPath(i.filename).name.lower() == _MAIN]
            if len(mains) > 1:
                raise FileError("it holds more than one TASKDATA.XML", str(path), "Unzip it and name one folder")
            home = PurePosixPath(mains[0]).parent if mains else PurePosixPath(".")
            here = {i: PurePosixPath(i.filename) for i in members}
            ours = [i for i, p in here.items() if p.parent == home and _is_ours(p.name)]
            if sum(i.file_size for i in ours) > _MOST_BYTES:
                raise FileError("unpacked it is over 2 GB", str(path), "Unzip it and name the folder")
            return {here[i].name.lower(): Packed(i.file_size, partial(_from_zip, path, i.filename)) for i in ours}
    except (zipfile.BadZipFile, OSError, RuntimeError) as exc:
        raise FileError("it is no zip, or only half of one", str(path), "Copy it again from where it came") from exc


def _from_zip(path: Path, member: str) -> bytes:
    try:
        with zipfile.ZipFile(path) as packed:
            return packed.read(member)
    except (zipfile.BadZipFile, OSError, RuntimeError, zlib.error) as exc:
        raise FileError("its part of the zip is damaged", f"{path}, {member}", "Copy the zip again") from exc


def devices(data: TaskData) -> dict[str, Device]:
    """Return the machines by device id."""
    return {d.get("A", ""): _device(d) for d in data.root.findall("DVC")}


def _device(dvc: Any) -> Device:
    properties = {p.get("A"): (_ddi(p), _number(p.get("C"))) for p in dvc.findall("DPT")}
    held: dict[str, dict[int, float]] = {}
    kinds: dict[str, str] = {}
    for element in dvc.findall("DET"):
        name = element.get("A", "")
        kinds[name] = element.get("C", "")
        refs = [r.get("A") for r in element.findall("DOR")]
        held[name] = dict(properties[r] for r in refs if r in properties)
    antenna = next((held[n] for n, kind in kinds.items() if kind == NAVIGATION), {})
    wide = {n: max(v.get(WIDTH_NOW, 0.0), v.get(WIDTH_MOST, 0.0)) for n, v in held.items()}
    whole = max((w for n, w in wide.items() if kinds[n] != SECTION), default=0.0)
    width = whole or sum(w for n, w in wide.items() if kinds[n] == SECTION)
    header = next((held[n] for n in held if wide[n] > 0), {})
    nan = float("nan")
    return Device(
        device=dvc.get("A", ""),
        name=dvc.get("B") or dvc.get("A", ""),
        header_width_m=width / 1000 if width else nan,
        header_ahead_m=(header.get(OFFSET_AHEAD, nan) - antenna.get(OFFSET_AHEAD, nan)) / 1000,
        antenna_right_m=(antenna.get(OFFSET_RIGHT, nan) - header.get(OFFSET_RIGHT, nan)) / 1000,
        elements=frozenset(kinds),
        sections={n: wide[n] / 1000 or nan for n in sorted((n for n in kinds if kinds[n] == SECTION), key=_order(dvc))},
        own=_own(dvc),
    )


def _order(dvc: Any) -> Callable[[str], float]:
    numbers = {e.get("A", ""): _number(e.get("B")) for e in dvc.findall("DET")}
    return lambda name: numbers[name]


def _own(dvc: Any) -> dict[int, tuple[str, str, float, float]]:
    """Return name, unit, factor and offset of the manufacturer's own quantities, by DDI."""
    shown = {v.get("A"): v for v in dvc.findall("DVP")}
    out = {}
    for described in dvc.findall("DPD"):
        view, ddi = shown.get(described.get("F")), _ddi(described)
        if view is not None and ddi >= _OWN_FROM:
            factor, offset = _number(view.get("C")), _number(view.get("B") or "0")
            out[ddi] = (described.get("E", ""), (view.get("E") or "").strip(), factor, offset)
    return out


def _ddi(element: Any) -> int:
    try:
        return int(element.get("B", ""), 16)
    except ValueError:
        return -1


def _number(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return float("nan")
