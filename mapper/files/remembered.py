"""Column mappings that somebody put right, kept for the next log with the same columns."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

from mapper.farm.errors import MapperError
from mapper.files.columns import ColumnMap, read_columns, write_columns
from mapper.files.names import plain


def columns_folder() -> Path:
    """Return the folder of the user's settings in which mappings are kept."""
    from platformdirs import user_config_path

    return user_config_path("mapper") / "columns"


def _file_of(names: Sequence[str], folder: Path) -> Path:
    """Return the file of a set of columns; their order, case and marks do not matter."""
    spelled = "|".join(sorted(plain(n) for n in names if not n.startswith("(")))
    return folder / f"{hashlib.sha256(spelled.encode()).hexdigest()[:16]}.toml"


def remember(columns: ColumnMap, names: Sequence[str], folder: Path) -> Path:
    """Keep a mapping for logs that have the columns `names` (of all the file's columns). Returns the file written."""
    path = _file_of(names, folder)
    folder.mkdir(parents=True, exist_ok=True)
    write_columns(columns, path)
    return path


def recall(names: Sequence[str], folder: Path | None) -> ColumnMap | None:
    """Return the mapping kept for logs with these columns, or None; one that no longer reads is as good as none."""
    if folder is None or not (path := _file_of(names, folder)).is_file():
        return None
    try:
        columns = read_columns(path)
    except MapperError:
        return None
    return columns if {e.column for e in columns.entries} <= set(names) else None
