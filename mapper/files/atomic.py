"""Files written whole or not at all: a temporary file beside the target, then one rename."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from mapper.farm.errors import FileError

# Another program (a virus scanner, a cloud folder) may hold a file for a moment on Windows.
_TRIES, _WAIT_S = 5, 0.2


def unfinished(path: Path) -> Path:
    """Return where a file stands while it is being written."""
    return path.with_name(f".{path.stem}.unfinished{path.suffix}")


def flush(path: Path) -> None:
    """Make the disk keep what was written to a file."""
    with path.open("rb+") as handle:
        os.fsync(handle.fileno())


def put_in_place(written: Path, path: Path) -> None:
    """Rename a finished file over its target. Raises FileError where another program holds the target."""
    for attempt in range(_TRIES):
        try:
            os.replace(written, path)
            break
        except PermissionError as exc:
            if attempt == _TRIES - 1:
                raise FileError(
                    "the file cannot be replaced", str(path), "Close other programs that hold it and save again"
                ) from exc
            time.sleep(_WAIT_S)
    if sys.platform != "win32":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """Give a path to write to; what stands there afterwards replaces `path` in one step.

    On an error the target keeps its old content and the half-written file is removed.
    """
    half = unfinished(path)
    half.unlink(missing_ok=True)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half.touch()  # libraries that write maps say a folder they may not write to in words of their own
        half.unlink()
        yield half
        flush(half)
        put_in_place(half, path)
    except OSError as exc:
        raise FileError(
            f"it cannot be written ({exc.strerror or exc})", str(path), "Check the folder and disk"
        ) from exc
    finally:
        half.unlink(missing_ok=True)
