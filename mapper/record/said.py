"""What a record says, in sentences: for the command line, and to read out at the briefing after."""

from datetime import datetime
from zoneinfo import ZoneInfo

from mapper.farm.errors import SettingError
from mapper.record.entry import Entry
from mapper.record.escape import escapes, still_missing
from mapper.record.look import look_here
from mapper.record.merge import conflicts
from mapper.record.night import NightRecord
from mapper.record.parts import alight, row_parts, state_of_pieces
from mapper.record.progress import behind
from mapper.record.readings import readings_table
from mapper.record.states import STATES


def sentences(record: NightRecord, now: datetime) -> tuple[str, ...]:
    """Return what stands in a record: rows, what is alight at now (UTC), readings, escapes, disagreements, places."""
    zone = ZoneInfo(record.zone)

    def clock(when: datetime) -> str:
        return f"{when.astimezone(zone):%H:%M}"

    by_state: dict[str, list[int]] = {}
    for number, state in state_of_pieces(row_parts(record)).items():
        by_state.setdefault(state, []).append(number)
    said = [
        f"{STATES.get(state, 'Not all written down')}: {len(numbers)} rows: {number_list(numbers)}."
        for state, numbers in by_state.items()
    ]
    burning = alight(record, now)
    if burning.last_out is not None:
        said.append(f"Alight: {number_list(burning.numbers)}; the last should be out at {clock(burning.last_out)}.")
    readings = readings_table(record)
    for when, why, words in zip(readings["time_utc"], readings["why"], readings["words"], strict=True):
        said.append(f"{clock(when)} {why or 'Carry on.'} {words}")
    for escape in escapes(record):
        missing = ", ".join(f.label for f in still_missing(escape, record.escape_fields))
        said.append(
            f"{escape.body['name']} got away {clock(escape.happened)}. Not written yet: {missing or 'nothing'}."
        )
    said += [c.text for c in conflicts(record.entries)]
    for place in look_here(record).itertuples():
        row = f"row {place.order_no}" if place.order_no else f"windrow {place.row_id}"
        said.append(f"{place.place}: {row}, {place.from_m:.0f} to {place.to_m:.0f} m: {place.reason}.")
    return tuple(said)


def night_words(record: NightRecord, now: datetime) -> str:
    """Return how the night stands at now (UTC): the clock, what is alight until when, and how far behind the plan."""
    zone = ZoneInfo(record.zone)
    burning, late = alight(record, now), behind(record, now)
    said = [f"{now.astimezone(zone):%H:%M}."]
    if burning.last_out is None:
        said.append("Nothing is written as alight.")
    else:
        said.append(f"{len(burning.numbers)} alight, {number_list(burning.numbers)}: out by "
                    f"{burning.last_out.astimezone(zone):%H:%M}.")  # fmt: skip
    if burning.overdue:
        said.append(f"Look at {number_list(burning.overdue)}: by the plan's figures they should be out.")
    if late is not None:
        minutes = late.total_seconds() / 60
        said.append(f"{abs(minutes):.0f} min {'behind' if minutes > 0 else 'ahead of'} the plan."
                    if abs(minutes) >= 1 else "On time.")  # fmt: skip
    return " ".join(said)


def check_close(record: NightRecord, now: datetime) -> None:
    """Raise SettingError where rows are still written as alight at now (UTC): a burn with fire in it is not closed."""
    burning = alight(record, now).numbers
    if burning:
        rows = f"rows {number_list(burning)} are" if len(burning) > 1 else f"row {burning[0]} is"
        what = f"{rows} still written as alight"
        raise SettingError(what, "record", "See that they are out and write it down, then close the burn")


def number_list(numbers: list[int] | tuple[int, ...]) -> str:
    """Return row numbers as people write them: 1-40, 42, 44-46."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{r[0]}-{r[-1]}" if len(r) > 1 else str(r[0]) for r in runs)


def entry_words(entry: Entry) -> str:
    """Return what an entry says in a few words."""
    body = entry.body

    def metres() -> str:
        low, high = body.get("from_m"), body.get("to_m")
        if low is None and high is None:
            return ""
        return f", {low or 0:.0f} m to {'the far end' if high is None else f'{high:.0f} m'}"

    if entry.kind == "rows":
        numbers = number_list(list(body["numbers"]))
        return f"{numbers}: {STATES.get(str(body['state']), str(body['state'])).lower()}{metres()}"
    if entry.kind == "reading":
        return f"reading: {body['wind_km_h']:g} km/h, {body['temp_c']:g} degC, {body['rh_pct']:g} %"
    if entry.kind == "count":
        where = "burnt" if body["burnt"] else "not burnt"
        return f"count: {body['plants']} plants on {body['area_m2']:g} m2, {where}"
    if entry.kind == "heat":
        return f"probe: {len(body['temp_c'])} readings" + (f", row {body['row']}" if body.get("row") else "")
    if entry.kind == "escape":
        told = ", ".join(f"{k} {v}" for k, v in body.items() if k not in ("name", "shape") and v not in (None, ""))
        return f"{body['name']} got away" + (f": {told}" if told else "")
    words = {"hold": "held: ", "patrol": "looked at: ", "note": "", "close": "the burn was closed",
             "withdrawn": "taken back"}[entry.kind]  # fmt: skip
    return words + str(body.get("why") or body.get("seen") or body.get("text") or "")
