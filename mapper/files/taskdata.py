"""ISO 11783-10 task data (version 3 and 4): partfields as paddocks, time logs as a harvester's track.

Left out: prescription grids, tramlines, products, and yield by volume (a litre's weight is not in the file).
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import FileError, Stopped
from mapper.farm.tracks import TRACK_COLUMNS, check_track
from mapper.files.report import ImportReport
from mapper.files.taskxml import WIDTH_NOW, Device, TaskData, devices, open_taskdata, parse_xml
from mapper.files.timelog import Column, TimeLog, decode, gps_utc_s, read_header, seconds_since_1970

# Data dictionary numbers (ISO 11783-11), each with the factor to the track's unit. Wet mass before dry mass.
_YIELD_T_HA = ((84, 1e-5), (181, 1e-5))  # mg/m2
_FLOW_KG_S = ((87, 1e-6), (182, 1e-6))  # mg/s
_BY_VOLUME = (83, 86)
_WORK_STATE, _WORK_STATE_OF_16 = 141, 161
_SPEED = 397  # mm/s; number from memory
_DAY_S = 86_400.0
_JUMP_S = 3600.0


@dataclass
class _Account:
    """What was left out and why, over all logs."""

    no_fix: int = 0
    bad_time: int = 0
    backward: int = 0
    unreadable: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_taskdata(
    path: Path | str,
    grid: Grid | None = None,
    zone: str | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[pd.DataFrame, ImportReport]:
    """Return the track of every time log in a task data set (columns of farm/tracks.py), and the account of it.

    grid: the farm's; None picks the grid of the place (it stands in track.attrs["crs"]). zone: the time zone of the
    machine's clock, which the standard does not store; None takes UTC and says so. The receiver's own UTC wins where
    it is logged. Heading is not logged: NaN. Raises FileError where no log can be read, Stopped on cancel.
    """
    data = open_taskdata(path)
    machines = devices(data)
    account = _Account()
    parts: list[dict[str, Any]] = []
    logs = [(task, log.get("A", "")) for task in data.root.findall("TSK") for log in task.findall("TLG")]
    for done, (task, name) in enumerate(logs):
        if cancelled is not None and cancelled():
            raise Stopped
        try:
            part = _read_log(data, task, name, machines, account)
        except FileError as exc:
            account.unreadable.append(f"{name}: {exc.what}.")
        else:
            if len(part["lon"]):
                parts.append(part)
        if progress is not None:
            progress(done + 1, len(logs))
    if not parts:
        why = account.unreadable[0] if account.unreadable else "no log holds a fix."
        raise FileError(f"no time log could be read: {why}", str(path), "Export the task data with its time logs")
    columns = {c: np.concatenate([p[c] for p in parts]) for c in parts[0]}
    if grid is None:
        grid = Grid(metric_crs(float(np.median(columns["lon"])), float(np.median(columns["lat"]))))
    columns["x"], columns["y"] = grid.from_lonlat(columns.pop("lon"), columns.pop("lat"))
    utc = columns.pop("is_utc")
    columns["t_s"] = np.where(utc, columns["t_s"], _to_utc(columns["t_s"], zone))
    columns["heading_deg"] = np.full(len(utc), np.nan)
    track = pd.DataFrame({c: pd.Series(columns[c], dtype=t) for c, t in TRACK_COLUMNS.items()})
    track.attrs["crs"] = grid.crs.to_wkt()
    return check_track(track), _track_report(data, track, machines, account, zone, bool(utc.all()))


def _read_log(
    data: TaskData, task: Any, name: str, machines: dict[str, Device], account: _Account
) -> dict[str, NDArray[Any]]:
    """Return one log's columns, positions still in degrees and times as the machine's clock has them."""
    files = {end: data.files.get(f"{name}.{end}".lower()) for end in ("xml", "bin")}
    missing = next((end for end, content in files.items() if content is None), None)
    if missing:
        raise FileError(f"its .{missing} file is missing", name)
    top = parse_xml(files["xml"] or b"", name)
    header = read_header(top if top.tag == "TIM" else top.find("TIM"), name)
    machine = _machine_of(task, header.columns, machines)
    kept = [i for i, c in enumerate(header.columns) if c.ddi in _WANTED]
    log = decode(files["bin"] or b"", header, tuple(kept), name)
    if log.cut_short:
        account.notes.append(f"{name}: the last record is cut short; {log.cut_short} bytes left out.")
    if log.unknown:
        account.notes.append(f"{name}: {log.unknown} values that its header does not describe were left out.")
    found = {c.ddi for c in header.columns}
    if found & set(_BY_VOLUME) and not found & {d for d, _ in (*_YIELD_T_HA, *_FLOW_KG_S)}:
        account.notes.append(f"{name}: yield is logged by volume only; not used, a litre's weight is not in the file.")
    return _columns(log, [header.columns[i] for i in kept], machine, account)


_WANTED = {WIDTH_NOW, _WORK_STATE, *range(_WORK_STATE_OF_16, _WORK_STATE_OF_16 + 16), _SPEED,
           *(d for d, _ in (*_YIELD_T_HA, *_FLOW_KG_S))}  # fmt: skip


def _machine_of(task: Any, columns: tuple[Column, ...], machines: dict[str, Device]) -> Device:
    """Return the machine whose elements the log names, else the one the task was given to."""
    named = {c.element for c in columns}
    found = max(machines.values(), key=lambda m: len(m.elements & named), default=None)
    if found is not None and found.elements & named:
        return found
    given = [machines[a.get("C")] for a in task.findall("DAN") if a.get("C") in machines]
    nan = float("nan")
    return given[0] if given else Device("", "machine", nan, nan, nan, frozenset(), frozenset())


def _columns(log: TimeLog, columns: list[Column], machine: Device, account: _Account) -> dict[str, NDArray[Any]]:
    lat, lon = log.head["A"] * 1e-7, log.head["B"] * 1e-7
    utc = gps_utc_s(log.head)
    t_s = seconds_since_1970(log.head["ms"], log.head["day"]) if utc is None else utc
    fix = ((lat != 0) | (lon != 0)) & (np.abs(lat) < 90) & (np.abs(lon) <= 180)
    ok_time = (log.head["ms"] <= _DAY_S * 1000) & ~_spikes(t_s)
    account.no_fix += int((~fix).sum())
    account.bad_time += int((fix & ~ok_time).sum())
    keep = fix & ok_time
    account.backward += int((np.diff(t_s[keep]) < 0).sum())
    width_m = _widths(log, columns, machine)
    out = {
        "t_s": t_s,
        "is_utc": np.full(len(t_s), utc is not None),
        "lon": lon,
        "lat": lat,
        "speed_m_s": _first(log, columns, ((_SPEED, 1e-3),)),
        "header_down": _header_down(log, columns),
        "width_m": width_m,
        "flow_kg_s": _first(log, columns, _FLOW_KG_S),
        "yield_t_ha": _first(log, columns, _YIELD_T_HA),
        "machine": np.full(len(t_s), machine.name, dtype=object),
    }
    return {c: v[keep] for c, v in out.items()}


def _spikes(t_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which single records carry a time that neither the one before nor the one after bears out."""
    spike = np.zeros(len(t_s), dtype=bool)
    if len(t_s) > 2:
        before, after = t_s[:-2], t_s[2:]
        agree = np.abs(after - before) < _JUMP_S
        spike[1:-1] = agree & (np.minimum(np.abs(t_s[1:-1] - before), np.abs(t_s[1:-1] - after)) > _JUMP_S)
    return spike


def _of(log: TimeLog, columns: list[Column], ddis: Any) -> NDArray[np.float64]:
    return log.values[:, [i for i, c in enumerate(columns) if c.ddi in ddis]]


def _most(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the greatest known value of each record, NaN where none is known."""
    return np.fmax.reduce(values, axis=1, initial=np.nan) if values.shape[1] else np.full(len(values), np.nan)


def _first(log: TimeLog, columns: list[Column], choices: tuple[tuple[int, float], ...]) -> NDArray[np.float64]:
    """Return the first of some quantities that the log holds, in the track's unit."""
    for ddi, factor in choices:
        values = _most(_of(log, columns, {ddi}))
        if np.isfinite(values).any():
            return values * factor
    return np.full(len(log.head), np.nan)


def _widths(log: TimeLog, columns: list[Column], machine: Device) -> NDArray[np.float64]:
    """Return the cutting width of each record: as logged, of the whole or summed over sections, else the machine's."""
    section = np.array([c.ddi == WIDTH_NOW and c.element in machine.sections for c in columns], dtype=bool)
    whole = np.array([c.ddi == WIDTH_NOW for c in columns], dtype=bool) & ~section
    if whole.any() or not section.any():
        width = _most(log.values[:, whole]) / 1000
    else:
        width = np.nansum(log.values[:, section], axis=1) / 1000
    return np.where(np.isfinite(width), width, machine.header_width_m)


def _header_down(log: TimeLog, columns: list[Column]) -> NDArray[np.int8]:
    """Return 1 down, 0 up, -1 unknown. Work state of the whole, or any of up to 256 sections working."""
    state = _most(_of(log, columns, {_WORK_STATE}))
    # 0 off, 1 on; 2 (error) and 3 (not known) say nothing.
    state = np.where(state <= 1, state, np.nan)
    condensed = _of(log, columns, set(range(_WORK_STATE_OF_16, _WORK_STATE_OF_16 + 16)))
    if condensed.shape[1] and not np.isfinite(state).any():
        bits = np.nan_to_num(condensed, nan=-1.0).astype(np.int64)[..., None] >> np.arange(0, 32, 2) & 3
        known = bits < 2
        state = np.where(known.any(axis=(1, 2)), (bits == 1).any(axis=(1, 2)), np.nan)
    return np.where(np.isfinite(state), state, -1).astype(np.int8)


def _to_utc(t_s: NDArray[np.float64], zone: str | None) -> NDArray[np.float64]:
    """Return UTC seconds for seconds of a clock in a zone; an hour that the clock repeats is taken as the first."""
    if zone is None:
        return t_s
    clock = pd.DatetimeIndex(pd.to_datetime(np.round(t_s * 1000), unit="ms"))
    local = clock.tz_localize(ZoneInfo(zone), ambiguous=np.ones(len(clock), dtype=bool), nonexistent="shift_forward")
    utc_ms = local.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[ms]").astype(np.int64)
    return utc_ms / 1000.0


def _track_report(
    data: TaskData, track: pd.DataFrame, machines: dict[str, Device], account: _Account, zone: str | None, all_utc: bool
) -> ImportReport:
    refused = list(account.unreadable)
    if account.no_fix:
        refused.append(f"{account.no_fix} records without a fix (latitude and longitude 0, or not on Earth).")
    if account.bad_time:
        refused.append(f"{account.bad_time} records whose time jumps and comes back.")
    notes = [f"task data version {data.version}.", *account.notes]
    for machine in machines.values():
        if machine.name in set(track["machine"]):
            notes.extend(_about(machine))
    if not all_utc:
        notes.append(f"the machine's clock was taken as {zone or 'UTC'}: task data does not store a time zone.")
    if account.backward:
        notes.append(f"the clock steps back {account.backward} times within a log; left as logged.")
    if (track["header_down"] < 0).all():
        notes.append("no work state is logged: cutting must be told from flow and ground.")
    repaired = ("values given only when they change were carried forward.",)
    return ImportReport(
        str(data.path), "fixes", len(track), "WGS 84", "file", repaired, tuple(refused), (), tuple(notes)
    )


def _about(machine: Device) -> list[str]:
    said = (
        (machine.header_width_m, "header {:g} m wide"),
        (machine.header_ahead_m, "header {:g} m ahead of the antenna"),
        (machine.antenna_right_m, "antenna {:g} m right of the header's centre"),
    )
    known = [text.format(value) for value, text in said if np.isfinite(value)]
    return [f"{machine.name}: {', '.join(known)}, as the machine says."] if known else []


def read_partfields(path: Path | str, grid: Grid | None = None) -> tuple[Any, ImportReport]:
    """Return the partfields of a task data set as layer paddocks, and the account of it.

    Raises FileError where there is none with a boundary.
    """
    import shapely

    from mapper.farm.layers import make_layer
    from mapper.files.shapes import Mended, drop_empty, make_valid, to_grid

    data = open_taskdata(path)
    names, shapes, bare = [], [], []
    for partfield in data.root.findall("PFD"):
        name = partfield.get("C") or partfield.get("B") or partfield.get("A", "")
        shape = _boundary(partfield)
        if shape is None:
            bare.append(name)
        else:
            names.append(f"{name} ({partfield.get('A')})" if name in names else name)
            shapes.append(shape)
    if not shapes:
        raise FileError("it holds no partfield with a boundary", str(path), "Open a boundary file instead")
    mended = Mended(np.array(shapes, dtype=object), np.arange(len(shapes)))
    drop_empty(mended)
    grid = to_grid(mended, _wgs84(), grid, str(path))
    make_valid(mended, [names[i] for i in mended.row])
    refused = [*mended.refused, *(f"{n}: a partfield without a boundary." for n in bare)]
    layer = make_layer("paddocks", {"paddock": [names[i] for i in mended.row]}, list(mended.shapes), grid.crs)
    area = float(shapely.area(mended.shapes).sum()) / 10_000
    notes = (f"task data version {data.version}; {area:.0f} ha together.", *mended.notes)
    return layer, ImportReport(
        str(data.path), "paddocks", len(layer), "WGS 84", "file", tuple(mended.repaired), tuple(refused), (), notes
    )


def _wgs84() -> Any:
    from pyproj import CRS

    return CRS.from_epsg(4326)


def _boundary(partfield: Any) -> Any:
    """Return a partfield's boundary in degrees: outer rings less inner rings; None where it has no outer ring."""
    import shapely

    outer: list[Any] = []
    inner: list[Any] = []
    for polygon in partfield.findall("PLN"):
        # Type 1 is the partfield's boundary; 2 and up are zones, buildings, obstacles.
        if polygon.get("A") != "1":
            continue
        for ring in polygon.findall("LSG"):
            corners = [(float(p.get("D", "nan")), float(p.get("C", "nan"))) for p in ring.findall("PNT")]
            if len(corners) >= 3 and ring.get("A") in ("1", "2"):
                (outer if ring.get("A") == "1" else inner).append(shapely.make_valid(shapely.Polygon(corners)))
    if not outer:
        return None
    whole = shapely.union_all(outer)
    return shapely.difference(whole, shapely.union_all(inner)) if inner else whole
