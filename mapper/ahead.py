"""The commands that look ahead: the nights to come, and a note of who was told."""

import argparse
import sys
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from mapper.farm.errors import FileError, SettingError

if TYPE_CHECKING:
    import pandas as pd

    from mapper.plan.nights import NightsPlan


def nights_words(p: argparse.ArgumentParser) -> None:
    """Add the words of `mapper nights`."""
    p.add_argument("farm", metavar="FARM", help="project file (.gpkg) or a farm.toml that names the files")
    p.add_argument(
        "--from", dest="first", type=date.fromisoformat, metavar="DATE", help="first night; today if left out"
    )
    p.add_argument("--nights", type=int, default=7, metavar="N", help="how many nights to look at")
    p.add_argument("--paddock", action="append", default=[], metavar="NAME", help="only this one (may be repeated)")
    p.add_argument(
        "--matters", action="append", default=[], metavar="NAME=X",
        help="how much a paddock counts against others, 1 if not said (may be repeated)",
    )  # fmt: skip
    p.add_argument("--out", type=Path, metavar="FILE.csv", help="also keep the table")


def told_words(p: argparse.ArgumentParser) -> None:
    """Add the words of `mapper told`."""
    p.add_argument("project", type=Path, metavar="FARM.gpkg", help="project file; the note is kept in it")
    p.add_argument("who", nargs="*", metavar="WHO", help="name as the list of who must be told gives it")
    p.add_argument("--at", metavar="TIME", help="when, local time, 2026-04-17T16:30; now if left out")
    p.add_argument("--by", default="", metavar="NAME", help="who told them")
    p.add_argument("--not-after-all", action="store_true", help="take the note away")


def show_nights(options: argparse.Namespace) -> int:
    """Print the week of evenings, what to burn when, and why not the rest."""
    from mapper.files.farmtoml import read_farm
    from mapper.plan.nights import NightsRequest, plan_nights

    farm, _ = read_farm(options.farm)
    if not 1 <= options.nights <= 60:
        raise SettingError(f"{options.nights} nights cannot be looked at", "--nights", "Write 1 to 60")
    now = datetime.now(UTC)
    first = options.first or now.astimezone(ZoneInfo(farm.zone)).date()
    noon = datetime.combine(first, time(12), ZoneInfo(farm.zone))
    if noon < now.astimezone(ZoneInfo(farm.zone)) and first != now.astimezone(ZoneInfo(farm.zone)).date():
        print(f"These nights are past: seen from noon of {first:%a} {first.day} {first:%b %Y}.")
        now = noon.astimezone(UTC)
    request = NightsRequest(
        first, now, options.nights, _weights(options.matters, set(farm.paddocks["paddock"])), tuple(options.paddock)
    )
    for name in request.paddocks:
        farm.paddock(name)

    def tell(_: str, done: int, total: int) -> None:
        if sys.stderr.isatty():
            print(f"\rNights: {100 * done // total:3d} %   ", end="", file=sys.stderr)

    plan, _ = plan_nights(farm, request, progress=tell)
    for line in week_lines(plan, farm.zone):
        print(line)
    for remark in plan.remarks:
        print(f"  look at: {remark.text}")
    if options.out is not None:
        plan.table.to_csv(options.out, index=False)
        print(options.out)
    return 0


def _weights(texts: list[str], names: set[str]) -> dict[str, float]:
    weights = {}
    for text in texts:
        name, _, value = text.rpartition("=")
        try:
            weights[name] = float(value)
        except ValueError as exc:
            raise SettingError(f"{text!r} says no weight", "--matters", 'Write --matters "Creek Flat=2"') from exc
        if name not in names or not 0 <= weights[name] <= 100:
            known = ", ".join(sorted(names))
            raise SettingError(f"{text!r} is no paddock and weight from 0 to 100", "--matters", f"There are: {known}")
    return weights


def week_lines(plan: "NightsPlan", zone: str) -> list[str]:
    """Return the week as text: a table of paddocks by nights, a line a night with what to burn, then the reasons."""
    table = plan.table
    if table.empty:
        return ["No night to come can be looked at."]
    table = table.assign(row=(table["paddock"] + " " + table["part"]).str.strip())
    days = [n.night for n in plan.nights]
    wide = max(16, *(len(r) for r in table["row"]))
    lines = [" " * wide + "".join(f"  {d:%a} {d.day:<9}"[:15].ljust(15) for d in days)]
    there = table.groupby("night")["there_h"].first()
    lines.append("Hours to light".ljust(wide) + "".join(f"  {there[d]:.1f} h".ljust(15) for d in days))
    for row, group in table.groupby("row", sort=False):
        states = dict(zip(group["night"], zip(group["chosen"], group["state"], strict=True), strict=True))
        cells = [f"{'* ' if states[d][0] else '  '}{states[d][1]}".ljust(15) for d in days]
        lines.append(str(row).ljust(wide) + "".join(cells))
    lines += ["", "* chosen. A night's plan decides: order, smoke and bans are not looked at here.", ""]
    for night in plan.nights:
        chosen = table[(table["night"] == night.night) & table["chosen"]]
        head = night.words.rstrip(".")
        if chosen.empty:
            lines.append(f"{head}. Nothing.")
            continue
        what = ", ".join(f"{r.row} ({r.need_h:.1f} h)" for r in chosen.itertuples())
        lines.append(f"{head}. Burn {what}: {chosen['need_h'].sum():.1f} of {chosen['there_h'].iloc[0]:.1f} h.")
        lines += [f"    {r.row}: {r.why}." for r in chosen.itertuples() if r.state == "tell first"]
    lines += _never(table, {n.night for n in plan.nights if n.windows})
    if plan.bound > plan.worth * 1.03 + 1e-9:
        lines.append("The time ran out: another choice may be better.")
    return lines


def _never(table: "pd.DataFrame", open_nights: set[date]) -> list[str]:
    """Why a paddock is on no night, for the nights that have hours."""
    left = table[table["night"].isin(open_nights)]
    taken = left[left["chosen"]].groupby("night")["need_h"].sum()
    lines = []
    for paddock, group in left.groupby("paddock", sort=False):
        if group["chosen"].any():
            continue
        whys: dict[str, list[str]] = {}
        for line in group.drop_duplicates("night").to_dict("records"):
            why = str(line["why"]).rstrip(".").removeprefix("not: ")
            if line["state"] in ("suited", "tell first"):
                free = line["there_h"] - taken.get(line["night"], 0.0)
                why = f"suited, but others take the hours (it needs {line['need_h']:.1f} h, {free:.1f} h are left)"
            whys.setdefault(why, []).append(f"{line['night']:%a} {line['night'].day}")
        said = "; ".join(f"{', '.join(days)}: {why}" for why, days in whys.items())
        lines.append(f"{paddock}: {said}.")
    return lines


def note(options: argparse.Namespace) -> int:
    """Note in a project who was told, or say who is and who is not yet."""
    from mapper.farm.layers import empty_layer
    from mapper.files.project import is_project, open_project, save_project
    from mapper.plan.tell import keys_by_name, note_told, who_to_tell

    if options.project.suffix.lower() != ".gpkg" or not is_project(options.project):
        raise FileError("it is no project of this program", str(options.project), "Save one with mapper plan --save")
    farm, _ = open_project(options.project)
    now, known = datetime.now(UTC), keys_by_name(farm)
    at = None if options.not_after_all else _moment(options.at, farm.zone, now)
    for name in options.who:
        key = known.get(name.casefold())
        if key is None:
            raise SettingError(f"nobody is called {name!r}", "told", f"There are: {', '.join(known)}")
        farm = note_told(farm, key, at, options.by or farm.in_charge, now)
    if options.who:
        save_project(farm, options.project)
    burnt = farm.paddocks.union_all()
    for person in who_to_tell(farm, burnt, empty_layer("smoke", farm.grid.crs), None, now).to_dict("records"):
        by = f", by {person['told_by']}" if person["told_by"] else ""
        print(f"{person['state'].capitalize()}: {person['who']} ({person['why']}){by}")
    return 0


def _moment(text: str | None, zone: str, now: datetime) -> datetime:
    if text is None:
        return now
    try:
        at = datetime.fromisoformat(text)
    except ValueError as exc:
        raise SettingError(f"{text!r} is not a time", "--at", "Write 2026-04-17T16:30") from exc
    return (at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(zone))).astimezone(UTC)
