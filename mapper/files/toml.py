"""TOML read with sentences for errors, and the few shapes of it that the program writes."""

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from mapper.farm.errors import FileError


def read_toml(path: Path) -> dict[str, Any]:
    """Return a TOML file's tables. Raises FileError where it is missing, not UTF-8 or not TOML."""
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as exc:
        raise FileError(f"it cannot be opened ({exc.strerror})", str(path), "Check the name and folder") from exc
    except UnicodeDecodeError as exc:
        raise FileError("it is not UTF-8 text", str(path), "Save it as UTF-8") from exc
    except tomllib.TOMLDecodeError as exc:
        raise FileError(f"it is not valid TOML: {exc}", str(path), "Correct that line") from exc


def _value(value: Any) -> str:
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # A JSON string is a TOML basic string, save for DEL, which TOML wants escaped.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return repr(value)


def toml_text(tables: Mapping[str, Any]) -> str:
    """Return TOML of plain values first, then one table per mapping. Keys are bare or quoted as they need."""
    plain = [f"{_key(k)} = {_value(v)}" for k, v in tables.items() if not isinstance(v, Mapping)]
    parts = ["\n".join(plain)] if plain else []
    for name, table in tables.items():
        if isinstance(table, Mapping):
            parts.append("\n".join([f"[{_key(name)}]", *(f"{_key(k)} = {_value(v)}" for k, v in table.items())]))
    return "\n\n".join(parts) + "\n"


def _key(name: str) -> str:
    bare = name.isascii() and name.replace("_", "").replace("-", "").isalnum()
    return name if bare else _value(name)
