"""ISO 11783-10 task data (version 3 and 4): partfields as paddocks, time logs as a harvester's track.

Left out: prescription grids, tramlines, products, and yield by volume (a litre's weight is not in the file).
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import FileError, SettingError, Stopped
from mapper.farm.farm import Harvester
from mapper.farm.tracks import check_track, make_track
from mapper.files.position import FAR_M
from mapper.files.report import ImportReport
from mapper.files.spikes import spikes
from mapper.files.taskvalues import (
    BY_VOLUME,
    FLOW_KG_S,
    WANTED,
    YIELD_T_HA,
    first_of,
    header_down,
    own_speed,
    speed,
    widths,
)
from mapper.files.taskxml import Device, TaskData, devices, open_taskdata, parse_xml
from mapper.files.timelog import Column, TimeLog, decode, gps_utc_s, read_header, seconds_since_1970

_DAY_S = 86_400.0
_JUMP_S = 3600.0


@dataclass
class _Account:
    """What was left out and why, over all logs."""

    no_fix: int = 0
    bad_time: int = 0
    backward: int = 0
    far: int = 0
    damaged: list[str] = field(default_factory=list)
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
    total = max(sum(p.size for p in data.files.values()), 1)
    behind = 0
    parts: list[dict[str, Any]] = []
    logs = [(task, log.get("A", "")) for task in data.root.findall("TSK") for log in task.findall("TLG")]
    for task, name in logs:
        if cancelled is not None and cancelled():
            raise Stopped
        try:
            part = _read_log(data, task, name, machines, account)
        except FileError as exc:
            account.unreadable.append(f"{name}: {exc.what}.")
        else:
            if len(part["lon"]):
                parts.append(part)
        behind += sum(p.size for n, p in data.files.items() if n.startswith(f"{name}.".lower()))
        if progress is not None:
            progress(min(behind, total), total)
    if not parts:
        why = account.unreadable[0] if account.unreadable else "no log holds a fix."
        raise FileError(f"no time log could be read: {why}", str(path), "Export the task data with its time logs")
    columns = {c: np.concatenate([p.pop(c) for p in parts]) for c in list(parts[0])}
    if grid is None:
        grid = Grid(metric_crs(float(np.median(columns["lon"])), float(np.median(columns["lat"]))))
    columns["x"], columns["y"] = grid.from_lonlat(columns.pop("lon"), columns.pop("lat"))
    utc = columns.pop("is_utc")
    columns["t_s"] = np.where(utc, columns["t_s"], _to_utc(columns["t_s"], zone))
    columns["heading_deg"] = np.full(len(utc), np.nan)
    track = make_track(columns)
    track = _in_place(track, account)
    track.attrs["crs"] = grid.crs.to_wkt()
    return check_track(track), _track_report(data, track, machines, account, zone, bool(utc.all()))


def _read_log(
    data: TaskData, task: Any, name: str, machines: dict[str, Device], account: _Account
) -> dict[str, NDArray[Any]]:
    """Return one log's columns, positions still in degrees and times as the machine's clock has them."""
    files = {end: data.files.get(f"{name}.{end}".lower()) for end in ("xml", "bin")}
    missing = next((end for end, content in files.items() if content is None), None)
    if missing or files["xml"] is None or files["bin"] is None:
        raise FileError(f"its .{missing} file is missing", name)
    top = parse_xml(files["xml"].read(), name)
    header = read_header(top if top.tag == "TIM" else top.find("TIM"), name)
    machine = _machine_of(task, header.columns, machines)
    own = own_speed(machine)
    kept = [i for i, c in enumerate(header.columns) if c.ddi in WANTED or c.ddi == own]
    log = decode(files["bin"].read(), header, tuple(kept), name)
    if log.cut_short:
        account.notes.append(f"{name}: the last record is cut short; {log.cut_short} bytes left out.")
    if log.damaged[0]:
        n_bytes, places = log.damaged
        account.damaged.append(
            f"{name}: {n_bytes} bytes in {places} places make no record and were left out: the file is damaged."
        )
    if log.unknown:
        account.notes.append(f"{name}: {log.unknown} values that its header does not describe were left out.")
    found = {c.ddi for c in header.columns}
    if found & set(BY_VOLUME) and not found & {d for d, _ in (*YIELD_T_HA, *FLOW_KG_S)}:
        account.notes.append(f"{name}: yield is logged by volume only; not used, a litre's weight is not in the file.")
    return _columns(log, [header.columns[i] for i in kept], machine, account)


def _machine_of(task: Any, columns: tuple[Column, ...], machines: dict[str, Device]) -> Device:
    """Return the machine whose elements the log names, else the one the task was given to."""
    named = {c.element for c in columns}
    found = max(machines.values(), key=lambda m: len(m.elements & named), default=None)
    if found is not None and found.elements & named:
        return found
    given = [machines[a.get("C")] for a in task.findall("DAN") if a.get("C") in machines]
    nan = float("nan")
    return given[0] if given else Device("", "machine", nan, nan, nan, frozenset(), {})


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
    width_m = widths(log, columns, machine)
    out = {
        "t_s": t_s,
        "is_utc": np.full(len(t_s), utc is not None),
        "lon": lon,
        "lat": lat,
        "speed_m_s": speed(log, columns, machine),
        "header_down": header_down(log, columns),
        "width_m": width_m,
        "flow_kg_s": first_of(log, columns, FLOW_KG_S),
        "yield_t_ha": first_of(log, columns, YIELD_T_HA),
        "machine": np.full(len(t_s), machine.name, dtype=object),
    }
    return {c: v[keep] for c, v in out.items()}


def _in_place(track: pd.DataFrame, account: _Account) -> pd.DataFrame:
    """Return the track without fixes that cannot be where they say: off the grid, far from all, or jumping away."""
    x, y = track["x"].to_numpy(), track["y"].to_numpy()
    good = np.isfinite(x) & np.isfinite(y)
    good &= np.hypot(x - np.median(x[good]), y - np.median(y[good])) < FAR_M
    track = track[good].reset_index(drop=True) if not good.all() else track
    off = spikes(track)
    account.far += int((~good).sum() + off.sum())
    return track[~off].reset_index(drop=True) if off.any() else track


def _spikes(t_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which single records carry a time that neither the one before nor the one after bears out."""
    spike = np.zeros(len(t_s), dtype=bool)
    if len(t_s) > 2:
        before, after = t_s[:-2], t_s[2:]
        agree = np.abs(after - before) < _JUMP_S
        spike[1:-1] = agree & (np.minimum(np.abs(t_s[1:-1] - before), np.abs(t_s[1:-1] - after)) > _JUMP_S)
    return spike


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
    refused = [*account.unreadable, *account.damaged]
    if account.far:
        refused.append(f"{account.far} records that jump away from those before and after, or lie far from all others.")
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
    logged = set(track["machine"])
    repaired = ("values given only when they change were carried forward.",)
    return ImportReport(
        str(data.path), "fixes", len(track), "WGS 84", "file", repaired, tuple(refused), (), tuple(notes),
        machines=tuple(h for m in machines.values() if m.name in logged and (h := _harvester(m)) is not None),
    )  # fmt: skip


def _harvester(machine: Device) -> Harvester | None:
    """Return the settings that a machine's description gives, the rest as usual; None where it tells no width."""
    if not 1 <= machine.header_width_m <= 60:
        return None
    told = {"header_ahead_m": machine.header_ahead_m, "antenna_right_m": machine.antenna_right_m}
    known: dict[str, Any] = {k: round(v, 3) for k, v in told.items() if np.isfinite(v)}
    plain = Harvester(machine.name, round(machine.header_width_m, 3))
    try:
        return replace(plain, **known)
    except SettingError:
        return plain


def _about(machine: Device) -> list[str]:
    said = (
        (machine.header_width_m, "header {:g} m wide"),
        (machine.header_ahead_m, "header {:g} m ahead of the antenna"),
        (machine.antenna_right_m, "antenna {:g} m right of the header's centre"),
    )
    known = [text.format(value) for value, text in said if np.isfinite(value)]
    return [f"{machine.name}: {', '.join(known)}, as the machine says."] if known else []
