"""The same job without a window: files in, files out. Heavy libraries are loaded by the command that needs them."""

import argparse
import os
import sys
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mapper import __version__
from mapper.farm.errors import MapperError, SettingError, Stopped

if TYPE_CHECKING:
    from mapper.farm.farm import Farm
    from mapper.files.report import ImportReport
    from mapper.plan.burnplan import BurnPlan
    from mapper.plan.request import NightRequest

COMMANDS = ("plan", "rows", "hours", "ground", "order", "sheets", "read", "open")

_ABOUT = """Plan the burning of narrow harvest windrows and print the crew's maps.

Without a command the window opens. What this program says is advice: the permit, the local code, the fire authority
and the person in charge decide."""

_CODES = """exit codes: 0 done, 1 something to put right (one sentence says what), 2 the command's words are off,
130 stopped. Progress goes to standard error, results to files."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code; errors of the user's making end in one sentence, never a traceback."""
    for name in ("PROJ_LIB", "PROJ_DATA", "GDAL_DATA"):
        os.environ.pop(name, None)  # another program's data would be read by three different PROJ copies
    words = _joined(sys.argv[1:] if argv is None else list(argv))
    if not words or (words[0] not in COMMANDS and not words[0].startswith("-")):
        words.insert(0, "open")
    options = _parser().parse_args(words)
    try:
        code: int = options.run(options)
    except MapperError as exc:
        print(f"mapper: {exc}", file=sys.stderr)
        return 1
    except (Stopped, KeyboardInterrupt):
        print("mapper: stopped; nothing was changed.", file=sys.stderr)
        return 130
    except OSError as exc:
        print(f"mapper: {exc.filename or 'a file'}: {exc.strerror or exc}.", file=sys.stderr)
        return 1
    return code


def _joined(words: list[str]) -> list[str]:
    """Let `--at -101.5,40` through: a western longitude is no option."""
    out: list[str] = []
    for word in words:
        if out and out[-1] == "--at":
            out[-1] = f"--at={word}"
        else:
            out.append(word)
    return out


def _parser() -> argparse.ArgumentParser:
    shape = argparse.RawDescriptionHelpFormatter
    top = argparse.ArgumentParser(prog="mapper", description=_ABOUT, epilog=_CODES, formatter_class=shape)
    top.add_argument("--version", action="version", version=f"mapper {__version__}")
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, run: Any, help_: str, more: str = "") -> argparse.ArgumentParser:
        made = commands.add_parser(
            name, help=help_, description=f"{help_}\n\n{more}".strip(), epilog=_CODES, formatter_class=shape
        )
        made.set_defaults(run=run)
        return made

    p = command("open", _open, "Open the window, on a farm if one is named.")
    p.add_argument("farm", nargs="?", metavar="FARM", help="project file (.gpkg) or farm.toml")

    p = command("plan", _plan, "Do the whole job for one night and leave sheets and files in a folder.")
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    _night(p)
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the sheets and files")
    p.add_argument("--save", type=Path, metavar="FILE.gpkg", help="also keep the farm and the plan as a project file")
    _paper(p)

    p = command("sheets", _sheets, "Print the sheets of one night, without the data files.")
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    _night(p)
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the sheets")
    _paper(p)

    p = command(
        "rows",
        _rows,
        "Find the windrows in harvester logs.",
        "Layers: windrows (row_id, machine, length_m, load_kg_m, ...) and heaps (kg).",
    )
    p.add_argument(
        "logs",
        nargs="+",
        type=Path,
        metavar="LOG",
        help="CSV, TXT, points as Shapefile/GeoPackage/GeoJSON, ISO 11783-10 task data; zipped too",
    )
    p.add_argument("--boundary", required=True, type=Path, metavar="FILE", help="paddock boundaries")
    p.add_argument("--header-width", required=True, type=float, metavar="M", help="width of the header, metres")
    p.add_argument("--chute-behind", type=float, metavar="M", help="antenna to chute, metres, to the rear")
    p.add_argument("--threshing-delay", type=float, metavar="S", help="from cutting to the chute, seconds")
    p.add_argument("--columns", type=Path, metavar="FILE", help="TOML that says what each column of the log is")
    p.add_argument("--crs", metavar="EPSG", help="grid of files that do not say theirs, for example EPSG:7854")
    p.add_argument("--out", required=True, type=Path, metavar="FILE.gpkg")

    p = command(
        "hours",
        _hours,
        "Judge each hour of a forecast for burning rows.",
        "Columns: time_utc, time_local, the weather, the indices, and a verdict with its reasons for each of\nstay in row, heat, smoke and local rules.",
    )
    p.add_argument("forecast", type=Path, metavar="FORECAST", help="hourly forecast as CSV")
    p.add_argument("--at", required=True, metavar="LON,LAT", help="where, degrees, longitude first")
    p.add_argument(
        "--limits",
        type=Path,
        metavar="FILE",
        help="local limits as TOML; without it the starting values are used, and nothing is a go",
    )
    p.add_argument(
        "--zone", metavar="NAME", help="time zone, for example Australia/Adelaide; found from the position if left out"
    )
    p.add_argument("--out", required=True, type=Path, metavar="FILE.csv")
    _ban(p)

    for name, run, help_ in (
        ("ground", _ground, "Work out breaks, exposed edges and care areas."),
        ("order", _order, "Put windrows in the order to light them."),
    ):
        p = command(name, run, help_)
        if name == "order":
            p.add_argument("windrows", type=Path, metavar="WINDROWS", help="layer windrows as made by `mapper rows`")
        p.add_argument("--boundary", required=True, type=Path, metavar="FILE", help="paddock boundaries")
        p.add_argument("--forecast", required=True, type=Path, metavar="FILE", help="hourly forecast as CSV")
        p.add_argument("--breaks", type=Path, metavar="FILE", help="breaks that are there, as lines with width_m")
        p.add_argument("--assets", type=Path, metavar="FILE", help="houses, roads, power lines, trees, water, gates")
        p.add_argument("--limits", type=Path, metavar="FILE", help="local limits as TOML")
        p.add_argument("--zone", metavar="NAME", help="time zone; found from the position if left out")
        p.add_argument("--crs", metavar="EPSG", help="grid of files that do not say theirs")
        _night(p)
        p.add_argument("--out", required=True, type=Path, metavar="FILE.gpkg")

    p = command("read", _read, "Say what a file holds, as an import would see it, and change nothing.")
    p.add_argument("files", nargs="+", type=Path, metavar="FILE")
    p.add_argument(
        "--as",
        dest="kind",
        choices=("paddocks", "assets", "neighbours", "breaks_there", "log", "forecast", "raster"),
        default="paddocks",
    )
    p.add_argument(
        "--columns-out",
        type=Path,
        metavar="FILE",
        help="with --as log: write the guessed columns as TOML, to correct and give to `mapper rows --columns`",
    )
    p.add_argument("--crs", metavar="EPSG")
    p.add_argument("--at", metavar="LON,LAT", default="", help="with --as forecast: where")
    p.add_argument("--zone", metavar="NAME")
    return top


def _night(p: argparse.ArgumentParser) -> None:
    p.add_argument(
        "--night", required=True, type=_date, metavar="DATE", help="evening on which burning begins, 2026-04-18"
    )
    p.add_argument(
        "--paddock", action="append", default=[], metavar="NAME", help="burn only this paddock (may be repeated)"
    )
    p.add_argument("--author", default="", metavar="NAME", help="who makes the plan, printed on every sheet")
    p.add_argument(
        "--number", type=int, default=1, metavar="N", help="number of the plan, printed beside the row numbers"
    )
    _ban(p)


def _ban(p: argparse.ArgumentParser) -> None:
    p.add_argument("--ban", choices=("none", "declared"), help="whether a fire ban is declared; not said is not a go")
    p.add_argument("--ban-checked", metavar="TIME", help="when somebody looked, local time, 2026-04-18T15:00")
    p.add_argument("--ban-by", default="", metavar="NAME", help="who looked")


def _paper(p: argparse.ArgumentParser) -> None:
    p.add_argument("--paper", choices=("A4", "A3"), default="A4", help="size of the burn-order map")


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as exc:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write 2026-04-18") from exc


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


def _say(reports: "Sequence[ImportReport]") -> None:
    for report in reports:
        for line in report.lines():
            print(line, file=sys.stderr)


class _Progress:
    """Progress on standard error: one line that is written over on a screen, one line a stage in a log."""

    words = {"rows": "Rows", "hours": "Hours", "ground": "Breaks and edges", "order": "Order", "smoke": "Smoke"}

    def __init__(self) -> None:
        self.screen = sys.stderr.isatty()

    def __call__(self, stage: str, done: int, total: int) -> None:
        word = self.words.get(stage, stage)
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


def _worked_out(options: argparse.Namespace) -> "BurnPlan":
    from mapper.files.farmtoml import read_farm
    from mapper.plan.job import run

    farm, reports = read_farm(options.farm)
    _say(reports)
    plan, _ = run(farm, _request(options, farm.zone), progress=_Progress())
    return plan


def _plan(options: argparse.Namespace) -> int:
    from mapper.files.outputs import write_plan
    from mapper.qtlibraries import need_qt

    need_qt()
    plan = _worked_out(options)
    paths = write_plan(plan, options.out)
    paths += _print(plan, options)
    if options.save is not None:
        from mapper.files.project import save_project

        save_project(plan.farm, options.save, plan=plan)
        paths.append(options.save)
    _sum_up(plan, paths)
    return 0


def _sheets(options: argparse.Namespace) -> int:
    from mapper.qtlibraries import need_qt

    need_qt()
    plan = _worked_out(options)
    _sum_up(plan, _print(plan, options))
    return 0


def _print(plan: "BurnPlan", options: argparse.Namespace) -> list[Path]:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from mapper.sheets.book import print_plan

    return list(print_plan(plan, options.out, paper=options.paper))


def _sum_up(plan: "BurnPlan", paths: Sequence[Path]) -> None:
    lit = plan.pieces[plan.pieces["order_no"] > 0]
    print(
        f"{len(lit)} of {len(plan.pieces)} pieces of row to light in {', '.join(dict.fromkeys(lit['paddock'])) or 'no paddock'}."
    )
    if plan.go:
        print("Nothing that was checked stands against lighting. The permit and the person in charge decide.")
    else:
        print("NOT A GO:")
        for text in plan.against:
            print(f"  - {text}")
    for remark in plan.remarks:
        if remark.level == "look":
            print(f"  look at: {remark.text}")
    for path in paths:
        print(path)


def _rows(options: argparse.Namespace) -> int:
    from mapper.farm.farm import Farm, Harvester
    from mapper.farm.layers import empty_layer
    from mapper.files.outputs import write_rows
    from mapper.files.tracks import read_columns, read_tracks
    from mapper.files.vectors import read_layer
    from mapper.plan.rows import rows_of_farm, track_in
    from mapper.rows.result import RowsResult

    paddocks, report = read_layer(options.boundary, "paddocks", None, crs=options.crs)
    _say([report])
    from mapper.farm.crs import Grid

    grid = Grid(paddocks.crs)
    columns = read_columns(options.columns) if options.columns else None
    track, log_report = read_tracks(options.logs, grid, columns=columns, crs=options.crs)
    _say([log_report])
    given = {"chute_behind_m": options.chute_behind, "threshing_delay_s": options.threshing_delay}
    settings = {k: v for k, v in given.items() if v is not None}
    harvesters = tuple(Harvester(str(m), options.header_width, **settings) for m in dict.fromkeys(track["machine"]))
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
    for remark in result.remarks:
        print(f"  look at: {remark.text}")
    return 0


def _hours(options: argparse.Namespace) -> int:
    from mapper.farm.crs import Grid, metric_crs
    from mapper.files.forecast import read_forecast
    from mapper.files.limits import read_limits, starting_limits
    from mapper.files.outputs import write_hours
    from mapper.files.zone import zone_at
    from mapper.hours.judge import judge_hours

    lon, lat = _lonlat(options.at)
    zone = options.zone or zone_at(lon, lat)
    grid = Grid(metric_crs(lon, lat))
    forecast, report = read_forecast(options.forecast, grid, (lon, lat), zone)
    _say([report])
    limits = read_limits(options.limits) if options.limits else starting_limits()
    hours = judge_hours(forecast, lon, lat, zone, limits, _ban_check(options, zone))
    write_hours(hours, options.out)
    counts = hours["verdict"].value_counts()
    print(
        f"{len(hours)} hours in {zone}: {', '.join(f'{counts.get(v, 0)} {v}' for v in ('go', 'caution', 'no-go'))}: {options.out}"
    )
    return 0


def _site(options: argparse.Namespace) -> "Farm":
    """Return a farm made of the files named on the command line."""
    from mapper.farm.crs import Grid
    from mapper.farm.farm import Farm
    from mapper.farm.layers import empty_layer
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
    forecast, report = read_forecast(options.forecast, grid, (lon, lat), zone)
    _say([*reports, report])
    limits = read_limits(options.limits) if options.limits else starting_limits()
    return Farm(options.boundary.stem, grid, zone, paddocks, limits=limits, forecast=forecast, **layers)


def _ground(options: argparse.Namespace) -> int:
    from mapper.files.outputs import write_layers
    from mapper.plan.job import run

    farm = _site(options)
    plan, _ = run(farm, _request(options, farm.zone), progress=_Progress())
    write_layers({"edges": plan.edges, "breaks": plan.breaks, "buffers": plan.buffers}, options.out)
    print(f"{len(plan.edges)} edges, {len(plan.breaks)} breaks, {len(plan.buffers)} care areas: {options.out}")
    for remark in plan.remarks:
        if remark.step == "breaks":
            print(f"  look at: {remark.text}")
    return 0


def _order(options: argparse.Namespace) -> int:
    from mapper.files.outputs import write_layers
    from mapper.files.vectors import read_windrows
    from mapper.plan.job import run
    from mapper.plan.workings import Worked, Workings, stage_inputs

    farm = _site(options)
    windrows = read_windrows(options.windrows, farm.grid)
    request = _request(options, farm.zone)
    from mapper.farm.layers import empty_layer

    rows = (windrows, empty_layer("heaps", farm.grid.crs), (), ())
    workings = Workings({"rows": Worked(stage_inputs("rows", farm, request), rows)})
    plan, _ = run(farm, request, workings, progress=_Progress())
    layers = ("pieces", "lighting_points", "blocks", "ways_out")
    write_layers({name: getattr(plan, name) for name in layers}, options.out)
    _sum_up(plan, [options.out])
    return 0


def _read(options: argparse.Namespace) -> int:
    from mapper.files.look import look_at

    for line in look_at(
        options.files,
        options.kind,
        crs=options.crs,
        at=_lonlat(options.at) if options.at else None,
        zone=options.zone,
        columns_out=options.columns_out,
    ):
        print(line)
    return 0


def _open(options: argparse.Namespace) -> int:
    from mapper.qtlibraries import need_qt

    if options.farm is not None and not Path(options.farm).exists():
        raise MapperError("there is no such file or command", options.farm, f"Commands: {', '.join(COMMANDS)}")
    need_qt(window=True)
    from mapper.window.app import run

    return run(options.farm)
