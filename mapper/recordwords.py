"""The words of `mapper record` and `mapper season`; mapper/recording.py does the work."""

import argparse
from pathlib import Path
from typing import Any

from mapper import recording


def record_words(p: argparse.ArgumentParser, night: Any) -> None:
    """Add the commands of a night's record to a parser. night adds the words that say which night is planned."""
    named = p.add_subparsers(title="what to write down", metavar="WHAT", required=True)

    def command(name: str, run: Any, help_: str, written: bool = True) -> argparse.ArgumentParser:
        made = named.add_parser(name, help=help_, description=help_)
        made.set_defaults(run=run, kind=name)
        if name != "start":
            made.add_argument("record", type=Path, metavar="RECORD", help="the night's record")
        if written:
            made.add_argument("--by", required=True, metavar="NAME", help="who writes this down")
            made.add_argument("--at", default="", metavar="TIME", help="when it happened, 20:41; left out: not known")
        return made

    p = command("start", recording.start, "Work out the plan and open the record of its night.", written=False)
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    night(p)
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder of the records")

    p = command("rows", recording.write_tally, "Copy a tally: what became of the rows.")
    p.add_argument("tally", metavar="TALLY", help='"1-40 done, 17 missed, 22 went out from 150 m, 31 left the row"')

    p = command("track", recording.match_lighter, "Take the rows lit, and when, from the lighter's GPX track.")
    p.add_argument("track", type=Path, metavar="GPX")

    p = command("reading", recording.write_reading, "Write down a meter's reading; says stop where a limit is passed.")
    for name, help_ in (("temp", "air, degC"), ("humidity", "%%"), ("wind", "10-minute mean, km/h")):
        p.add_argument(f"--{name}", required=True, type=float, metavar="N", help=help_)
    p.add_argument("--gust", type=float, metavar="N", help="km/h")
    p.add_argument("--wind-from", type=float, metavar="DEG", help="where it blows from, grid degrees")
    p.add_argument("--height", type=float, metavar="M", help="height of the meter; 2 m where it is not said")

    p = command("meter", recording.write_meter, "Take the readings of a meter's own log.")
    p.add_argument("log", type=Path, metavar="CSV")

    for name, text, help_ in (
        ("escape", "NAME", "Write down a fire that left the rows: cause=, area_ha=, out_at=, loss=, people=, ..."),
        ("hold", "WHY", "Write down that lighting was held or stopped."),
        ("patrol", "SEEN", "Write down what a patrol saw."),
        ("note", "TEXT", "Write down anything else."),
    ):
        p = command(name, recording.write_words, help_)
        p.add_argument("text", metavar=text)
        p.add_argument("fields", nargs="*", metavar="FIELD=VALUE")

    p = command("heat", recording.write_heat, "Keep a probe's trace of a row.")
    p.add_argument("trace", type=Path, metavar="CSV", help="degC, one number a line, seconds or times before it")
    p.add_argument("--step", type=float, metavar="S", help="seconds between readings, where the file does not say")
    p.add_argument("--row", type=int, metavar="N")
    p.add_argument("--ambient", type=float, metavar="DEGC")

    p = command("count", recording.write_count, "Write down weeds counted in the next crop.")
    side = p.add_mutually_exclusive_group(required=True)
    side.add_argument("--burnt", action="store_true", help="on a row that burnt")
    side.add_argument("--not-burnt", dest="burnt", action="store_false", help="on a row that did not")
    p.add_argument("--plants", required=True, type=int, metavar="N")
    p.add_argument("--area", required=True, type=float, metavar="M2")
    p.add_argument("--row", type=int, metavar="N")
    p.add_argument("--species", default="", metavar="NAME")

    p = command("counts", recording.write_counts, "Write down a table of counts: burnt, plants, area_m2, row, species.")
    p.add_argument("table", type=Path, metavar="CSV")

    p = command("correct", recording.correct, "Correct an entry, or withdraw it; what stood before is kept.")
    p.add_argument("entry", metavar="ENTRY")
    p.add_argument("tally", nargs="?", default="", metavar="TALLY", help="left out: the entry is withdrawn")

    p = command("pages", recording.write_pages, "Write the record's pages as PDF, its layers, and places to look for a"
                " phone.", written=False)  # fmt: skip
    p.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder")

    command("close", recording.close, "Close the burn.")
    command("show", recording.show, "Print what the record says.", written=False)
    p = command("merge", recording.merge, "Add another person's record of the same night.", written=False)
    p.add_argument("other", type=Path, metavar="OTHER")


def season_words(p: argparse.ArgumentParser) -> None:
    """Add the words of `mapper season`."""
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    p.add_argument("records", type=Path, metavar="DIR", help="folder of the season's records")
    p.add_argument("--cost-hour", type=float, default=float("nan"), metavar="MONEY", help="of a person, an hour")
    p.add_argument("--cost-km", type=float, default=0.0, metavar="MONEY", help="of fuel, a kilometre of row")
    p.add_argument("--last-season", type=Path, metavar="DIR", help="folder of last season's records: what burnt twice")
    p.add_argument("--report", type=Path, metavar="FILE.pdf", help="the season on paper too")
    p.add_argument("--out", required=True, type=Path, metavar="FILE.xlsx")


def next_season_words(p: argparse.ArgumentParser) -> None:
    """Add the words of `mapper next-season`."""
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    p.add_argument("--season", required=True, metavar="NAME", help="the season that is over, 2025/26")
    p.add_argument("--out", required=True, type=Path, metavar="NEW.gpkg", help="the next season's project file")
