"""The words of the command line; mapper/commands.py does the work."""

import argparse
import os
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from mapper import __version__, ahead, commands, recording
from mapper.ahead import nights_words, told_words
from mapper.farm.errors import MapperError, Stopped
from mapper.recordwords import next_season_words, record_words, season_words

COMMANDS = ("plan", "rows", "hours", "ground", "order", "sheets", "record", "season", "next-season", "nights",
            "told", "read", "open")  # fmt: skip

_ABOUT = """Plan the burning of narrow harvest windrows and print the crew's maps.

Without a command the window opens. What this program says is advice: the permit, the local code, the fire authority
and the person in charge decide."""

_CODES = """exit codes: 0 done, 1 something to put right (one sentence says what), 2 the command's words are off,
130 stopped. Progress goes to standard error, results to files."""


_MACHINE = (
    (
        "header-width",
        "[MACHINE=]M",
        "width of the header, metres; with its name for one machine of several (so all of these)",
    ),
    ("header-ahead", "[MACHINE=]M", "antenna to cutter bar, metres, to the front"),
    ("antenna-right", "[MACHINE=]M", "antenna right of the header's centre, metres"),
    ("chute-behind", "[MACHINE=]M", "antenna to chute, metres, to the rear"),
    ("threshing-delay", "[MACHINE=]S", "from cutting to the chute, seconds"),
    ("mixing", "[MACHINE=]S", "of the delay, the seconds in which straw mixes"),
)


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
        print(
            f"mapper: {exc.filename or 'a file'}: {exc.strerror or exc}. Check the folder and the disk.",
            file=sys.stderr,
        )
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


def _of_machine(text: str) -> tuple[str, float]:
    """Part "H2=13.7" into machine and value; a bare number is every machine's."""
    name, _, value = text.rpartition("=")
    return name.strip(), float(value)


def _parser() -> argparse.ArgumentParser:
    shape = argparse.RawDescriptionHelpFormatter
    top = argparse.ArgumentParser(prog="mapper", description=_ABOUT, epilog=_CODES, formatter_class=shape)
    top.add_argument("--version", action="version", version=f"mapper {__version__}")
    named = top.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, run: Any, help_: str, more: str = "") -> argparse.ArgumentParser:
        made = named.add_parser(
            name, help=help_, description=f"{help_}\n\n{more}".strip(), epilog=_CODES, formatter_class=shape
        )
        made.set_defaults(run=run)
        return made

    p = command("open", commands.open_window, "Open the window, on a farm if one is named.")
    p.add_argument("farm", nargs="?", metavar="FARM", help="project file (.gpkg) or farm.toml")

    p = command("plan", commands.plan_night, "Do the whole job for one night and leave sheets and files in a folder.")
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    _night(p)
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the sheets and files")
    p.add_argument("--save", type=Path, metavar="FILE.gpkg", help="also keep the farm and the plan as a project file")
    _paper(p)

    p = command("sheets", commands.print_sheets, "Print the sheets of one night, without the data files.")
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    _night(p)
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the sheets")
    _paper(p)

    p = command(
        "rows",
        commands.find_rows,
        "Find the windrows in harvester logs.",
        "Layers: windrows (row_id, machine, length_m, load_kg_m, ...) and heaps (kg).",
    )
    p.add_argument(
        "logs",
        nargs="+",
        type=Path,
        metavar="LOG",
        help="CSV, TXT, NMEA 0183, GPX, points in map files, ISO 11783-10 task data; folders and zips of them",
    )
    p.add_argument("--boundary", required=True, type=Path, metavar="FILE", help="paddock boundaries")
    for word, unit, said in _MACHINE:
        name = f"--{word}"
        p.add_argument(
            name,
            required=name == "--header-width",
            type=_of_machine,
            action="append",
            default=[],
            metavar=unit,
            help=said,
        )
    p.add_argument(
        "--columns",
        type=Path,
        metavar="FILE",
        help="TOML that says what each column of the log is; kept for the next log with the same columns",
    )
    p.add_argument("--crs", type=_crs, metavar="EPSG", help="grid of files that do not say theirs: EPSG:7854")
    p.add_argument("--out", required=True, type=Path, metavar="FILE.gpkg")

    p = command(
        "hours",
        commands.judge,
        "Judge each hour of a forecast for burning rows.",
        "Columns: time_utc, time_local, the weather, the indices, and a verdict with its reasons for each\n"
        "of stay in row, heat, smoke and local rules.",
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
        "--zone",
        type=_zone,
        metavar="NAME",
        help="time zone, for example Australia/Adelaide; found from the position if left out",
    )
    p.add_argument("--columns", type=Path, metavar="FILE", help="TOML that says what each column of the forecast is")
    p.add_argument("--out", required=True, type=Path, metavar="FILE.csv")
    _ban(p)

    for name, run, help_ in (
        ("ground", commands.guard, "Work out breaks, exposed edges and care areas."),
        ("order", commands.order_rows, "Put windrows in the order to light them."),
    ):
        p = command(name, run, help_)
        if name == "order":
            p.add_argument("windrows", type=Path, metavar="WINDROWS", help="layer windrows as made by `mapper rows`")
        p.add_argument("--boundary", required=True, type=Path, metavar="FILE", help="paddock boundaries")
        p.add_argument("--forecast", required=True, type=Path, metavar="FILE", help="hourly forecast as CSV")
        p.add_argument(
            "--forecast-columns", type=Path, metavar="FILE", help="TOML that says what each column of the forecast is"
        )
        p.add_argument("--breaks", type=Path, metavar="FILE", help="breaks that are there, as lines with width_m")
        p.add_argument("--assets", type=Path, metavar="FILE", help="houses, roads, power lines, trees, water, gates")
        p.add_argument("--limits", type=Path, metavar="FILE", help="local limits as TOML")
        p.add_argument("--zone", type=_zone, metavar="NAME", help="time zone; found from the position if left out")
        p.add_argument("--crs", type=_crs, metavar="EPSG", help="grid of files that do not say theirs")
        _night(p)
        p.add_argument("--out", required=True, type=Path, metavar="FILE.gpkg")

    record_words(named.add_parser("record", help="Write down what happened on the night."), _night)
    season_words(command("season", recording.season, "Put a season's nights together."))
    next_season_words(command("next-season", recording.roll_over, "Leave the farm as the next season finds it."))

    nights_words(command("nights", ahead.show_nights, "Say which paddocks to burn on which of the coming nights."))
    told_words(command("told", ahead.note, "Note in a project who was told, or say who is and who is not yet."))

    p = command("read", commands.look, "Say what a file holds, as an import would see it, and change nothing.")
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
    p.add_argument("--crs", type=_crs, metavar="EPSG")
    p.add_argument("--at", metavar="LON,LAT", default="", help="with --as forecast: where")
    p.add_argument("--zone", type=_zone, metavar="NAME")
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
        "--number", type=_number, default=1, metavar="N", help="number of the plan, printed beside the row numbers"
    )
    _ban(p)


def _ban(p: argparse.ArgumentParser) -> None:
    p.add_argument("--ban", choices=("none", "declared"), help="whether a fire ban is declared; not said is not a go")
    p.add_argument("--ban-checked", metavar="TIME", help="when somebody looked, local time, 2026-04-18T15:00")
    p.add_argument("--ban-by", default="", metavar="NAME", help="who looked")


def _paper(p: argparse.ArgumentParser) -> None:
    formats = ("A4", "A3", "A4 portrait", "A4 landscape", "A3 portrait", "A3 landscape")
    p.add_argument("--paper", choices=formats, default="A4", help="the maps' paper; a size alone turns it as fits best")
    p.add_argument("--png", action="store_true", help="also leave each side of a sheet as a picture")


def _crs(text: str) -> str:
    return f"EPSG:{text}" if text.isdigit() else text


def _zone(text: str) -> str:
    try:
        return ZoneInfo(text).key
    except (ZoneInfoNotFoundError, ValueError, OSError) as exc:
        raise argparse.ArgumentTypeError(f"time zone {text!r} is not known; write Australia/Adelaide") from exc


def _date(text: str) -> date:
    try:
        found = date.fromisoformat(text)
    except ValueError as exc:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write 2026-04-18") from exc
    if not 1990 <= found.year <= 2100:
        raise argparse.ArgumentTypeError(f"{text!r} is no night to plan for; write 2026-04-18")
    return found


def _number(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 99_999_999:
        raise argparse.ArgumentTypeError(f"{text!r} is not a plan's number; write 1 or more")
    return int(text)
