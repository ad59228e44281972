"""What a record says, in sentences: for the command line, and to read out at the briefing after."""

from datetime import datetime
from zoneinfo import ZoneInfo

from mapper.record.escape import escapes, still_missing
from mapper.record.look import look_here
from mapper.record.merge import conflicts
from mapper.record.night import NightRecord
from mapper.record.parts import alight, row_parts, state_of_pieces
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
        missing = ", ".join(f.label for f in still_missing(escape))
        said.append(
            f"{escape.body['name']} got away {clock(escape.happened)}. Not written yet: {missing or 'nothing'}."
        )
    said += [c.text for c in conflicts(record.entries)]
    for place in look_here(record).itertuples():
        row = f"row {place.order_no}" if place.order_no else f"windrow {place.row_id}"
        said.append(f"{place.place}: {row}, {place.from_m:.0f} to {place.to_m:.0f} m: {place.reason}.")
    return tuple(said)


def number_list(numbers: list[int] | tuple[int, ...]) -> str:
    """Return row numbers as people write them: 1-40, 42, 44-46."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{r[0]}-{r[-1]}" if len(r) > 1 else str(r[0]) for r in runs)
