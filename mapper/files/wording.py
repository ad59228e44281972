"""Texts for paper as TOML: the program's own in resources/wording.toml, a farm's beside its farm.toml."""

import string
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from mapper.carried import carried
from mapper.farm.errors import SettingError
from mapper.farm.wording import Wording
from mapper.files.atomic import written_whole
from mapper.files.toml import read_toml, toml_text

# Names that a text may have filled in.
FILLED = frozenset({"farm", "in_charge", "phone", "emergency", "place", "road", "smoke_to", "smoke_after", "neighbours",
                    "wind_max", "paddocks", "night", "hours", "to"})  # fmt: skip
FILE_NAME = "wording.toml"


@lru_cache(maxsize=1)
def starting_wording() -> Mapping[str, Wording]:
    """Return the program's texts by name; nobody on the farm has set them."""
    return {k: _wording(k, t) for k, t in read_toml(carried("resources", FILE_NAME)).items()}


def read_wording(path: Path | str) -> dict[str, Wording]:
    """Return a farm's own texts by name. Raises FileError, or SettingError naming file, text and what is wrong."""
    try:
        return wording_from(read_toml(Path(path)))
    except SettingError as exc:
        raise SettingError(exc.what, f"{path}, {exc.where}", exc.todo) from exc


def wording_from(tables: Mapping[str, Any]) -> dict[str, Wording]:
    """Return texts from parsed TOML (or JSON) tables. Raises SettingError naming the text."""
    known = starting_wording()
    for key in tables:
        if key not in known:
            raise SettingError(f"no text is called {key!r}", f"text {key}", f"The names are: {', '.join(known)}")
    return {key: _wording(key, table) for key, table in tables.items()}


def wording_tables(wording: Mapping[str, Wording]) -> dict[str, Any]:
    """Return texts as TOML (or JSON) tables; wording_from() reads them back."""
    return {k: {"words": list(w.lines), "source": w.source, "date": w.date} for k, w in wording.items()}


def write_wording(wording: Mapping[str, Wording], path: Path | str) -> None:
    """Write texts as TOML; read_wording() gives the same back."""
    with written_whole(Path(path)) as half:
        half.write_text(toml_text(wording_tables(wording)), encoding="utf-8")


def _wording(key: str, table: Any) -> Wording:
    where = f"text {key}"
    if not isinstance(table, Mapping) or set(table) - {"words", "source", "date"}:
        raise SettingError("it is not a table with words, source and date", where, f"Write it as [{key}]")
    words = table.get("words")
    lines = (words,) if isinstance(words, str) else tuple(words) if isinstance(words, list) else ()
    if not lines or not all(isinstance(line, str) and line.strip() for line in lines):
        raise SettingError("its words are not a text or a list of texts", where, 'Write words = "..."')
    for line in lines:
        try:
            names = {name for _, name, _, _ in string.Formatter().parse(line) if name is not None}
        except ValueError as exc:
            raise SettingError(f"a brace is left open in {line!r}", where, "Close it, or write it twice") from exc
        if names - FILLED:
            raise SettingError(f"nothing is called {sorted(names - FILLED)[0]!r} in the plan", where,
                               f"Names in braces are {', '.join(sorted(FILLED))}")  # fmt: skip
    source, date = (str(table.get(k, "")).strip() for k in ("source", "date"))
    if not source or not date:
        raise SettingError("it does not say who set it and when", where, "Write source and date")
    return Wording(key, lines, source, date)
