"""What each command does: files in, files out. Heavy libraries are loaded by the command that needs them."""

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mapper.farm.errors import FileError, MapperError, SettingError

if TYPE_CHECKING:
    from mapper.farm.farm import Farm, Harvester
    from mapper.farm.notes import Remark
    from mapper.files.report import ImportReport
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.request import NightRequest


def _lonlat(text: str) -> tuple[float, float]:
    try:
        lon, lat = (float(t) for t in text.split(","))
    except ValueError as exc:
        raise SettingError(
            f"{text!r} is not a position", "--at", "Write longitude,latitude in degrees: 141.6,-36.2"
        ) from exc
    if not (-180 <= lon <= 180 and -90 <= lat <= 90):
        raise SettingError(f"longitude {lon:g}, latitude {lat:g} is no place on Earth", "--at", "Longitude comes first")
    return lon, lat


def say(reports: "Sequence[ImportReport]") -> None:
    """Print what reading files said, to standard error."""
    for report in reports:
        for line in report.lines():
            print(line, file=sys.stderr)


_STAGE_WORDS = {
    "rows": "Rows", "hours": "Hours", "ground": "Breaks and edges", "order": "Order", "smoke": "Smoke",
    "escapes": "Escapes",
}  # fmt: skip


class _Progress:
    """Progress on standard error: one line that is written over on a screen, one line a stage in a log."""

    def __init__(self) -> None:
        self.screen = sys.stderr.isatty()

    def __call__(self, stage: str, done: int, total: int) -> None:
        word = _STAGE_WORDS[stage]
        if self.screen:
            print(
                f"\r{word}: {100 * done // max(total, 1):3d} %   ", end="\n" if done >= total else "", file=sys.stderr
            )
        elif done >= total:
            print(f"{word}: done", file=sys.stderr)


def _request(options: argparse.Namespace, zone: str) -> "NightRequest":
    from mapper.plan.request import NightRequest

    return NightRequest(
        night=options.night,
        made_at=datetime.now(UTC),
        author=options.author,
        number=options.number,
        paddocks=tuple(options.paddock),
        ban=_ban_check(options, zone),
    )


def _ban_check(options: argparse.Namespace, zone: str) -> Any:
    from zoneinfo import ZoneInfo

    from mapper.hours.verdict import BanCheck

    if options.ban is None:
        return BanCheck()
    if options.ban_checked is None:
        raise SettingError("a ban check needs the time it was made", "--ban", "Give --ban-checked TIME")
    try:
        checked = datetime.fromisoformat(options.ban_checked)
    except ValueError as exc:
        raise SettingError(f"{options.ban_checked!r} is not a time", "--ban-checked", "Write 2026-04-18T15:00") from exc
    if checked.tzinfo is None:
        checked = checked.replace(tzinfo=ZoneInfo(zone))
    return BanCheck(options.ban, checked.astimezone(UTC), options.ban_by)


def _can_write(folder: Path) -> None:
    """Refuse a folder that cannot be written to before the work, not after it; nothing is made yet."""
    there = next(p for p in (folder, *folder.absolute().parents) if p.exists())
    if not there.is_dir() or not os.access(there, os.W_OK | os.X_OK):
        raise FileError("nothing can be written there", str(folder), "Name a folder that you may write to")


def worked_out(options: argparse.Namespace) -> "BurnPlan":
    """Read the farm that a command names and plan the night it asks for."""
    from mapper.files.farmtoml import read_farm
    from mapper.plan.job import run

    farm, reports = read_farm(options.farm)
    say(reports)
    if farm.paddocks.empty:
        raise SettingError("the farm has no paddocks, so there is nothing to plan", options.farm, "Give it boundaries")
    plan, _ = run(farm, _request(options, farm.zone), progress=_Progress())
    return plan


def plan_night(options: argparse.Namespace) -> int:
    """Plan one night and leave sheets and files."""
    from mapper.files.outputs import write_plan
    from mapper.qtlibraries import need_qt

    need_qt()
    _can_write(options.out)
    if options.save is not None:
        if options.save.suffix.lower() != ".gpkg" or options.save.is_dir():
            raise FileError(
                "a project is kept in a file that ends in .gpkg", str(options.save), "Write --save FARM.gpkg"
            )
        _can_write(options.save.parent)
    plan = worked_out(options)
    paths = write_plan(plan, options.out)
    paths += _print(plan, options)
    if options.save is not None:
        from mapper.files.project import save_project

        save_project(plan.farm, options.save, plan=plan)
        paths.append(options.save)
    _sum_up(plan, paths)
    return 0


def print_sheets(options: argparse.Namespace) -> int:
    """Print the sheets of one night."""
    from mapper.qtlibraries import need_qt

    need_qt()
    _can_write(options.out)
    plan = worked_out(options)
    _sum_up(plan, _print(plan, options))
    return 0


def _print(plan: "BurnPlan", options: argparse.Namespace) -> list[Path]:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from mapper.sheets.book import print_plan, write_pictures

    paths = list(print_plan(plan, options.out, paper=options.paper))
    return [*paths, *write_pictures(plan, options.out, options.paper)] if options.png else paths


def _sum_up(plan: "BurnPlan", paths: Sequence[Path]) -> None:
    lit = plan.pieces[plan.pieces["order_no"] > 0]
    where = ", ".join(dict.fromkeys(lit["paddock"])) or "no paddock"
    print(f"{len(lit)} of {len(plan.pieces)} pieces of row to light in {where}.")
    if plan.go:
        print("Nothing that was checked stands against lighting. The permit and the person in charge decide.")
    else:
        print("NOT A GO:")
        for text in plan.against:
            print(f"  - {text}")
    tonight = set(plan.paddocks)
    said = {r for r in plan.remarks if r.level == "stop" and (not r.paddock or r.paddock in tonight)}
    _look_at([r for r in plan.remarks if r not in said])
    _look_at(_from_before(paths))
    for path in paths:
        print(path)


def _from_before(paths: Sequence[Path]) -> list["Remark"]:
    """Say which sheets in the folder are of an earlier plan: a crew must not take the wrong map along."""
    from mapper.farm.notes import Remark

    sheets = {p for p in paths if p.suffix == ".pdf"}
    old = sorted(p.name for folder in {p.parent for p in sheets} for p in folder.glob("*.pdf") if p not in sheets)
    return [Remark("sheets", "look", f"Not of this plan, left in the folder: {', '.join(old)}.")] if old else []


def _look_at(remarks: "Sequence[Remark]") -> None:
    """Print what wants eyes, once a text, with the paddocks it concerns."""
    places: dict[str, list[str]] = {}
    for remark in remarks:
        if remark.level != "note":
            places.setdefault(remark.text, []).append(remark.paddock)
    for text, paddocks in places.items():
        named = [p for p in dict.fromkeys(paddocks) if p and p not in text]
        where = f"{', '.join(named)}: " if 0 < len(named) <= 3 else f"{len(named)} paddocks: " if named else ""
        print(f"  look at: {where}{text}")


_MACHINE_SETTINGS = {
    "header_width": "header_width_m", "header_ahead": "header_ahead_m", "antenna_right": "antenna_right_m",
    "chute_behind": "chute_behind_m", "threshing_delay": "threshing_delay_s", "mixing": "mixing_s",
}  # fmt: skip


def _harvester(options: argparse.Namespace, name: str, names: Sequence[str], told: "Harvester | None") -> "Harvester":
    """Return a machine of the log with what was given for it, or for every machine, over what its log tells."""
    from mapper.farm.farm import Harvester

    settings: dict[str, Any] = {}
    for word, field in _MACHINE_SETTINGS.items():
        given = dict(getattr(options, word))
        strange = sorted(set(given) - {"", *names})
        if strange:
            raise SettingError(
                f"the logs know no machine {', '.join(strange)} (they hold {', '.join(names)})",
                f"--{word.replace('_', '-')}",
                "Write the machine's name as the log does",
            )
        if name in given or "" in given:
            settings[field] = given[name if name in given else ""]
    if told is not None:
        return replace(told, **settings)
    if "header_width_m" not in settings:
        raise SettingError(f"the header of {name or 'the log'} is not given", "--header-width", f"Add {name}=M")
    return Harvester(name, **settings)


def find_rows(options: argparse.Namespace) -> int:
    """Find windrows in logs."""
    from mapper.farm.crs import Grid
    from mapper.farm.farm import Farm
    from mapper.farm.layers import empty_layer
    from mapper.files.outputs import write_rows
    from mapper.files.preview import keep_columns
    from mapper.files.remembered import columns_folder
    from mapper.files.tracks import read_columns, read_tracks
    from mapper.files.vectors import read_layer
    from mapper.plan.rows import rows_of_farm, track_in
    from mapper.rows.result import RowsResult

    _can_write(options.out.parent)
    paddocks, report = read_layer(options.boundary, "paddocks", None, crs=options.crs)
    say([report])
    grid = Grid(paddocks.crs)
    columns = read_columns(options.columns) if options.columns else None
    kept = columns_folder()
    track, log_report = read_tracks(options.logs, grid, columns=columns, crs=options.crs, remembered=kept)
    say([log_report])
    if columns is not None:
        for log in options.logs:
            keep_columns(columns, log, kept)
    names = tuple(dict.fromkeys(str(m) for m in track["machine"]))
    told = {m.machine: m for m in log_report.machines}  # task data says where the antenna is
    harvesters = tuple(_harvester(options, name, names, told.get(name)) for name in names)
    none = {n: empty_layer(n, grid.crs) for n in ("assets", "neighbours", "breaks_there")}
    farm = Farm("rows", grid, "UTC", paddocks, harvesters=harvesters, tracks={"log": track}, **none)
    harvested = [p["paddock"] for _, p in paddocks.iterrows() if track_in(farm.tracks, p) is not None]
    if not harvested:
        raise SettingError(
            "no paddock holds fixes of these logs",
            str(options.boundary),
            "Give the boundary of the paddock that was harvested, and check the grid of both files",
        )
    farm = farm.with_(paddocks=paddocks[paddocks["paddock"].isin(harvested)].reset_index(drop=True))
    progress = _Progress()
    result = RowsResult(*rows_of_farm(farm, {}, lambda n, total: progress("rows", n, total), lambda: False))
    progress("rows", 1, 1)
    write_rows(result, options.out)
    km = result.windrows["length_m"].sum() / 1000.0
    print(f"{len(result.windrows)} windrows, {km:.2f} km, {len(result.heaps)} heaps: {options.out}")
    _look_at(result.remarks)
    return 0


def judge(options: argparse.Namespace) -> int:
    """Judge each hour of a forecast."""
    from mapper.farm.crs import Grid, metric_crs
    from mapper.files.columns import read_columns
    from mapper.files.forecast import read_forecast
    from mapper.files.limits import read_limits, starting_limits
    from mapper.files.outputs import write_hours
    from mapper.files.zone import zone_at
    from mapper.hours.judge import judge_hours

    lon, lat = _lonlat(options.at)
    zone = options.zone or zone_at(lon, lat)
    grid = Grid(metric_crs(lon, lat))
    columns = read_columns(options.columns) if options.columns else None
    forecast, report = read_forecast(options.forecast, grid, (lon, lat), zone, columns)
    say([report])
    limits = read_limits(options.limits) if options.limits else starting_limits()
    hours = judge_hours(forecast, lon, lat, zone, limits, _ban_check(options, zone))
    if report.unsaid:
        hours = hours.assign(verdict="no-go", lighting="no-go", why=report.unsaid, lighting_why=report.unsaid)
    write_hours(hours, options.out)
    counts = hours["verdict"].value_counts()
    said = ", ".join(f"{counts.get(v, 0)} {v}" for v in ("go", "caution", "no-go"))
    print(f"{len(hours)} hours in {zone}: {said}: {options.out}")
    if report.unsaid:
        print(f"NOT A GO: {report.unsaid}")
    return 0


def _site(options: argparse.Namespace) -> "Farm":
    """Return a farm made of the files named on the command line."""
    from mapper.farm.crs import Grid
    from mapper.farm.farm import Farm
    from mapper.farm.layers import empty_layer
    from mapper.files.columns import read_columns
    from mapper.files.forecast import read_forecast
    from mapper.files.limits import read_limits, starting_limits
    from mapper.files.vectors import read_layer
    from mapper.files.zone import zone_at

    paddocks, report = read_layer(options.boundary, "paddocks", None, crs=options.crs)
    grid = Grid(paddocks.crs)
    layers = {"neighbours": empty_layer("neighbours", grid.crs)}
    reports = [report]
    for name, path in (("assets", options.assets), ("breaks_there", options.breaks)):
        if path is None:
            layers[name] = empty_layer(name, grid.crs)
        else:
            layers[name], report = read_layer(path, name, grid, crs=options.crs)
            reports.append(report)
    x0, y0, x1, y1 = paddocks.total_bounds
    lon, lat = (float(v) for v in grid.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2))
    zone = options.zone or zone_at(lon, lat)
    columns = read_columns(options.forecast_columns) if options.forecast_columns else None
    forecast, report = read_forecast(options.forecast, grid, (lon, lat), zone, columns)
    say([*reports, report])
    limits = read_limits(options.limits) if options.limits else starting_limits()
    return Farm(options.boundary.stem, grid, zone, paddocks, limits=limits, forecast=forecast, **layers)


def guard(options: argparse.Namespace) -> int:
    """Work out breaks, edges and care areas."""
    from mapper.files.outputs import write_layers
    from mapper.plan.job import work

    farm = _site(options)
    workings = work(farm, _request(options, farm.zone), stages=("hours", "ground"), progress=_Progress())
    found, buffers = workings.done["ground"].output
    layers = {"edges": found.edges, "breaks": found.breaks, "buffers": buffers}
    write_layers(layers, options.out)
    said = ", ".join(f"{len(layer)} {name}" for name, layer in layers.items())
    print(f"{said}: {options.out}")
    _look_at(found.remarks)
    return 0


def order_rows(options: argparse.Namespace) -> int:
    """Put windrows in order."""
    from mapper.farm.layers import empty_layer
    from mapper.files.outputs import write_layers
    from mapper.files.vectors import read_windrows
    from mapper.plan.job import run
    from mapper.plan.workings import Worked, Workings, stage_inputs

    _can_write(options.out.parent)
    farm = _site(options)
    windrows = read_windrows(options.windrows, farm.grid)
    strange = sorted(set(windrows["paddock"]) - set(farm.paddocks["paddock"]))
    if strange:
        known = ", ".join(farm.paddocks["paddock"])
        raise SettingError(
            f"rows lie in {', '.join(strange)}, of which the boundaries know nothing (they hold {known})",
            str(options.windrows),
            "Give the boundaries that the rows were found with",
        )
    request = _request(options, farm.zone)
    rows = (windrows, empty_layer("heaps", farm.grid.crs), (), ())
    workings = Workings({"rows": Worked(stage_inputs("rows", farm, request), rows)})
    plan, _ = run(farm, request, workings, progress=_Progress())
    layers = ("pieces", "lighting_points", "blocks", "ways_out")
    write_layers({name: getattr(plan, name) for name in layers}, options.out)
    _sum_up(plan, [options.out])
    return 0


def look(options: argparse.Namespace) -> int:
    """Say what files hold."""
    from mapper.files.look import look_at
    from mapper.files.remembered import columns_folder

    for line in look_at(
        options.files,
        options.kind,
        crs=options.crs,
        at=_lonlat(options.at) if options.at else None,
        zone=options.zone,
        columns_out=options.columns_out,
        remembered=columns_folder(),
    ):
        print(line)
    return 0


def open_window(options: argparse.Namespace) -> int:
    """Open the window."""
    from mapper.qtlibraries import need_qt

    if options.farm is not None and not Path(options.farm).exists():
        raise MapperError("there is no such file or command", options.farm, "See mapper --help")
    need_qt(window=True)
    from mapper.window.app import run

    return run(options.farm)
