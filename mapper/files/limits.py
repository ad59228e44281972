"""Local limits as TOML: each limit a table with value, unit, source, date; wind with height, index with its name."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from mapper.carried import carried
from mapper.farm.errors import SettingError
from mapper.farm.limits import LIMIT_KINDS, Limit, LocalLimits, Permit
from mapper.files.atomic import written_whole
from mapper.files.toml import read_toml, toml_text

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_KEYS = {"value", "unit", "height_m", "averaging_min", "index", "source", "date", "starting"}
# Factor to the unit in which a limit is kept (farm/limits.py); kn is 1.852 km/h by definition, ft 0.3048 m.
_FACTORS: dict[str, dict[str, float]] = {
    "km/h": {"km/h": 1, "kmh": 1, "kph": 1, "m/s": 3.6, "kn": 1.852, "knots": 1.852, "mph": 1.609344},
    "m": {"m": 1, "km": 1000, "ft": 0.3048, "cm": 0.01},
    "min": {"min": 1, "h": 60, "s": 1 / 60},
    "h": {"h": 1, "min": 1 / 60, "d": 24, "days": 24},
    "d": {"d": 1, "days": 1, "h": 1 / 24},
    "mm": {"mm": 1, "cm": 10, "in": 25.4},
    "%": {"%": 1, "pct": 1},
    "L": {"L": 1, "l": 1, "litres": 1, "kL": 1000, "m3": 1000},
    "ug/m3": {"ug/m3": 1, "µg/m3": 1, "µg/m³": 1, "mg/m3": 1000},
    "t/ha": {"t/ha": 1, "kg/ha": 0.001, "kg/m2": 10},
    "degC": {"degC": 1, "C": 1, "°C": 1},
    "": {"": 1, "1": 1},
}

# What a limits file holds beside limits.
_NO_LIMITS = ("days_off", "dates_off", "permit")


def _fahrenheit(unit: str) -> bool:
    return unit in ("degF", "F", "°F")


def _to_unit(key: str, value: float, unit: str) -> float:
    wanted = LIMIT_KINDS[key].unit
    if wanted == "degC" and _fahrenheit(unit):
        return (value - 32) / 1.8
    if key == "breach_chance" and unit == "%":
        return value / 100
    factor = _FACTORS[wanted].get(unit)
    if factor is None:
        raise SettingError(
            f"unit {unit!r} does not fit",
            f"limit {key}",
            f"Write unit = one of {', '.join(map(repr, _FACTORS[wanted]))}",
        )
    return value * factor


def _hour(value: Any) -> Any:
    """Return "18:30" as 18.5; anything else as it is."""
    if isinstance(value, str) and value.count(":") == 1:
        hours, minutes = value.split(":")
        if hours.isdigit() and minutes.isdigit() and int(minutes) < 60:
            return int(hours) + int(minutes) / 60
    return value


def _limit(key: str, table: Any) -> Limit:
    where = f"limit {key}"
    if key not in LIMIT_KINDS:
        raise SettingError(f"no local limit is called {key!r}", where, f"The names are: {', '.join(LIMIT_KINDS)}")
    if not isinstance(table, Mapping):
        raise SettingError("it is not a table with value, unit, source and date", where, f"Write it as [{key}]")
    unknown = set(table) - _KEYS
    if unknown:
        raise SettingError(f"{sorted(unknown)[0]!r} says nothing here", where, f"Use {', '.join(sorted(_KEYS))}")
    value = _hour(table.get("value")) if LIMIT_KINDS[key].unit == "h" else table.get("value")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SettingError(f"value {table.get('value')!r} is not a number", where, "Write value = a number")
    numbers = {}
    for name in ("height_m", "averaging_min"):
        if name in table:
            if isinstance(table[name], bool) or not isinstance(table[name], int | float):
                raise SettingError(f"{name} {table[name]!r} is not a number", where, f"Write {name} = a number")
            numbers[name] = float(table[name])
    unit = str(table.get("unit", LIMIT_KINDS[key].unit)).strip()
    limit = Limit(
        key,
        _to_unit(key, float(value), unit),
        str(table.get("source", "")).strip(),
        str(table.get("date", "")).strip(),
        index=str(table.get("index", "")),
        starting=bool(table.get("starting", False)),
        **numbers,
    )
    if not limit.date:
        raise SettingError("the limit has no date", where, "Write when it was set, for example date = 2026-03-01")
    return limit


def _days_off(values: Any) -> tuple[int, ...]:
    if not isinstance(values, list):
        raise SettingError("it is not a list of weekdays", "days_off", 'Write for example days_off = ["Sunday"]')
    found = []
    for value in values:
        day = str(value).strip().lower()
        matches = [i for i, name in enumerate(_DAYS) if len(day) >= 3 and name.startswith(day)]
        if len(matches) != 1:
            raise SettingError(f"{value!r} is not a weekday", "days_off", "Write Monday to Sunday")
        found.append(matches[0])
    return tuple(sorted(set(found)))


def _dates_off(values: Any) -> tuple[date, ...]:
    if not isinstance(values, list):
        raise SettingError("it is not a list of days", "dates_off", "Write for example dates_off = [2026-04-25]")
    return tuple(sorted({_day(v, "dates_off") for v in values}))


def _day(value: Any, where: str) -> date:
    try:
        return value if isinstance(value, date) else date.fromisoformat(str(value).strip())
    except ValueError as exc:
        raise SettingError(f"{value!r} is no day", where, "Write it as 2026-04-25") from exc


def _permit(table: Any) -> Permit:
    if not isinstance(table, Mapping):
        raise SettingError("it is no table", "permit", 'Write [permit] with state = "held" or "not needed"')
    unknown = sorted(set(table) - {"state", "source", "number", "first", "last"})
    if unknown:
        todo = "It can hold state, source, number, first and last"
        raise SettingError(f"{unknown[0]!r} says nothing here", "permit", todo)
    first, last = (_day(table[k], "permit") if k in table else None for k in ("first", "last"))
    return Permit(table.get("state", ""), str(table.get("source", "")), str(table.get("number", "")), first, last)


def permit_plain(permit: Permit) -> dict[str, Any]:
    """Return a permit as texts; _permit() reads it back."""
    days = {k: d.isoformat() for k in ("first", "last") if (d := getattr(permit, k)) is not None}
    return {"state": permit.state, "source": permit.source, "number": permit.number, **days}


def days_plain(limits: LocalLimits) -> dict[str, Any]:
    """Return the days on which nothing is lit and the permit as texts and numbers; local_limits() reads them back."""
    return {
        "days_off": list(limits.days_off),
        "dates_off": [d.isoformat() for d in limits.dates_off],
        "permit": None if limits.permit is None else permit_plain(limits.permit),
    }


def local_limits(limits: list[dict[str, Any]], plain: Mapping[str, Any]) -> LocalLimits:
    """Return local limits kept as plain values: each limit's fields, and what days_plain wrote."""
    permit = plain.get("permit")
    return LocalLimits(
        {v["key"]: Limit(**v) for v in limits}, tuple(plain["days_off"]), _dates_off(plain.get("dates_off", [])),
        None if permit is None else _permit(permit),
    )  # fmt: skip


def _check_pairs(limits: LocalLimits) -> None:
    for low, high in (("wind_min", "wind_max"), ("index_min", "index_max"), ("humidity_min", "humidity_max")):
        if limits.value(low) > limits.value(high):
            raise SettingError(
                f"{low} {limits.value(low):g} is above {high} {limits.value(high):g}", "limits", "Correct one of them"
            )


def read_limits(path: Path | str) -> LocalLimits:
    """Return the local limits of a TOML file, values in the units of farm/limits.py.

    Raises FileError where the file cannot be read, SettingError with file and limit where one makes no sense.
    """
    path = Path(path)
    try:
        return limits_from(read_toml(path))
    except SettingError as exc:
        raise SettingError(exc.what, f"{path}, {exc.where}" if exc.where else str(path), exc.todo) from exc


def limits_from(tables: Mapping[str, Any]) -> LocalLimits:
    """Return local limits from parsed TOML tables. Raises SettingError naming the limit."""
    limits = {key: _limit(key, table) for key, table in tables.items() if key not in _NO_LIMITS}
    found = LocalLimits(
        limits, _days_off(tables.get("days_off", [])), _dates_off(tables.get("dates_off", [])),
        None if "permit" not in tables else _permit(tables["permit"]),
    )  # fmt: skip
    _check_pairs(found)
    return found


def limits_tables(limits: LocalLimits) -> dict[str, Any]:
    """Return local limits as TOML (or JSON) tables; limits_from() reads them back."""
    tables: dict[str, Any] = {"days_off": [_DAYS[d].capitalize() for d in limits.days_off]}
    if limits.dates_off:
        tables["dates_off"] = [d.isoformat() for d in limits.dates_off]
    if limits.permit is not None:
        tables["permit"] = permit_plain(limits.permit)
    for key, limit in limits.limits.items():
        table: dict[str, Any] = {"value": float(limit.value), "unit": limit.unit}
        if key.startswith(("wind_", "gust_")):
            table |= {"height_m": float(limit.height_m), "averaging_min": float(limit.averaging_min)}
        if limit.index:
            table["index"] = limit.index
        table |= {"source": limit.source, "date": limit.date}
        if limit.starting:
            table["starting"] = True
        tables[key] = table
    return tables


def write_limits(limits: LocalLimits, path: Path | str) -> None:
    """Write local limits as TOML; read_limits() gives the same back."""
    with written_whole(Path(path)) as half:
        half.write_text(toml_text(limits_tables(limits)), encoding="utf-8")


def starting_limits() -> LocalLimits:
    """Return the program's starting limits (resources/limits.toml), each marked as not yet set by anybody."""
    read = read_limits(carried("resources", "limits.toml"))
    return replace(read, limits={k: replace(v, starting=True) for k, v in read.limits.items()})
