"""The values of a binary time log in the track's units: yield, flow, speed, header, and the width that works."""

import re
from collections.abc import Container

import numpy as np
from numpy.typing import NDArray

from mapper.files.logwords import COLUMN_WORDS
from mapper.files.names import plain
from mapper.files.taskxml import WIDTH_NOW, Device
from mapper.files.timelog import Column, TimeLog
from mapper.files.units import FACTORS, read_unit

# Data dictionary numbers (ISO 11783-11), each with the factor to the track's unit. Wet mass before dry mass.
YIELD_T_HA = ((84, 1e-5), (181, 1e-5))  # mg/m2
FLOW_KG_S = ((87, 1e-6), (182, 1e-6))  # mg/s
BY_VOLUME = (83, 86)
_WORK_STATE, _WORK_STATE_OF_16 = 141, 161
_SPEED = 397  # mm/s; number from memory
WANTED = {WIDTH_NOW, _WORK_STATE, *range(_WORK_STATE_OF_16, _WORK_STATE_OF_16 + 16), _SPEED,
           *(d for d, _ in (*YIELD_T_HA, *FLOW_KG_S))}  # fmt: skip


def _of(log: TimeLog, columns: list[Column], ddis: Container[int]) -> NDArray[np.float64]:
    return log.values[:, [i for i, c in enumerate(columns) if c.ddi in ddis]]


def _most(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the greatest known value of each record, NaN where none is known."""
    return np.fmax.reduce(values, axis=1, initial=np.nan) if values.shape[1] else np.full(len(values), np.nan)


def first_of(log: TimeLog, columns: list[Column], choices: tuple[tuple[int, float], ...]) -> NDArray[np.float64]:
    """Return the first of some quantities that the log holds, in the track's unit."""
    for ddi, factor in choices:
        values = _most(_of(log, columns, {ddi}))
        if np.isfinite(values).any():
            return values * factor
    return np.full(len(log.head), np.nan)


def own_speed(machine: Device) -> int:
    """Return the DDI under which a manufacturer logs the ground speed as a quantity of its own, or -1."""
    for ddi, (name, unit, factor, _) in machine.own.items():
        words = [(p, but) for meaning, p, but in COLUMN_WORDS if meaning == "speed"]
        named = any(re.search(p, plain(name)) and not (but and re.search(but, plain(name))) for p, but in words)
        if named and read_unit(unit) in FACTORS["speed"] and np.isfinite(factor):
            return ddi
    return -1


def speed(log: TimeLog, columns: list[Column], machine: Device) -> NDArray[np.float64]:
    """Return ground speed in m/s: the dictionary's, else the manufacturer's own as its device description scales it."""
    speed = first_of(log, columns, ((_SPEED, 1e-3),))
    own = own_speed(machine)
    if np.isfinite(speed).any() or own < 0:
        return speed
    _, unit, factor, offset = machine.own[own]
    return (_most(_of(log, columns, {own})) + offset) * factor * FACTORS["speed"][read_unit(unit)]


def widths(log: TimeLog, columns: list[Column], machine: Device) -> NDArray[np.float64]:
    """Return the cutting width of each record.

    As logged for the whole header, else the widths of the sections that work, logged or from the device description;
    else the machine's.
    """
    section = np.array([c.ddi == WIDTH_NOW and c.element in machine.sections for c in columns], dtype=bool)
    whole = np.array([c.ddi == WIDTH_NOW for c in columns], dtype=bool) & ~section
    working = _sections_working(log, columns, machine)
    wide = np.array(list(machine.sections.values()))
    if whole.any():
        width = _most(log.values[:, whole]) / 1000
    elif section.any():
        width = np.nansum(log.values[:, section], axis=1) / 1000
    elif working is not None and np.isfinite(wide).all():
        width = np.where(working.any(axis=1), working @ wide, np.nan)
    else:
        width = np.full(len(log.head), np.nan)
    return np.where(np.isfinite(width), width, machine.header_width_m)


def _sections_working(log: TimeLog, columns: list[Column], machine: Device) -> NDArray[np.bool_] | None:
    """Return which of the machine's sections work in each record, or None where the log does not say.

    A work state of each section's own element (DDI 141), or condensed work states, 16 sections each (DDI 161 to 176):
    two bits a section, 1 on.
    """
    if not machine.sections:
        return None
    own = {c.element: i for i, c in enumerate(columns) if c.ddi == _WORK_STATE and c.element in machine.sections}
    if own:
        states = [log.values[:, own[e]] if e in own else np.zeros(len(log.head)) for e in machine.sections]
        return np.asarray(np.column_stack(states) == 1)
    condensed = [_of(log, columns, {_WORK_STATE_OF_16 + k}) for k in range(16)]
    if not any(c.shape[1] for c in condensed):
        return None
    bits = [_bits(_most(c)) if c.shape[1] else np.full((len(log.head), 16), 3) for c in condensed]
    return np.asarray(np.hstack(bits)[:, : len(machine.sections)] == 1)


def _bits(values: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the 16 states of two bits in each value; 3 (not there) where the value is not known."""
    found: NDArray[np.int64] = np.nan_to_num(values, nan=-1.0).astype(np.int64)[:, None] >> np.arange(0, 32, 2) & 3
    return found


def header_down(log: TimeLog, columns: list[Column]) -> NDArray[np.int8]:
    """Return 1 down, 0 up, -1 unknown. Work state of the whole, or any of up to 256 sections working."""
    state = _most(_of(log, columns, {_WORK_STATE}))
    # 0 off, 1 on; 2 (error) and 3 (not known) say nothing.
    state = np.where(state <= 1, state, np.nan)
    condensed = _of(log, columns, set(range(_WORK_STATE_OF_16, _WORK_STATE_OF_16 + 16)))
    if condensed.shape[1] and not np.isfinite(state).any():
        bits = np.hstack([_bits(c) for c in condensed.T])
        state = np.where((bits < 2).any(axis=1), (bits == 1).any(axis=1), np.nan)
    return np.where(np.isfinite(state), state, -1).astype(np.int8)
