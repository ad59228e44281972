"""Which files a user means by a log: files, folders of them, zips of text logs unpacked beside."""

import gzip
import shutil
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from types import TracebackType

from mapper.farm.errors import FileError
from mapper.files.container import list_sources
from mapper.files.logtable import TEXT_ENDS
from mapper.files.taskxml import is_taskdata

_MOST_BYTES = 4_000_000_000


class Logs:
    """The single logs behind some paths. Used in a with statement: what was unpacked is removed at its end.

    files: to read; shown: what each is called in messages; sizes: bytes of each, total: of all.
    """

    def __init__(self, paths: Sequence[Path]) -> None:
        self._temporary: str | None = None
        self.files: list[Path] = []
        self.shown: list[str] = []
        for path in paths:
            self._add(path)
        self.sizes = [_bytes_of(p) for p in self.files]
        self.total = sum(self.sizes)

    def __enter__(self) -> "Logs":
        return self

    def __exit__(self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None) -> None:
        if self._temporary is not None:
            shutil.rmtree(self._temporary, ignore_errors=True)

    def _add(self, path: Path) -> None:
        if is_taskdata(path) or not path.exists():
            self._take(path, str(path))
        elif path.is_dir():
            self._folder(path)
        elif path.suffix.lower() == ".zip" and zipfile.is_zipfile(path):
            self._zip(path)
        elif path.suffix.lower() == ".gz":
            self._gz(path)
        else:
            self._take(path, str(path))

    def _take(self, path: Path, shown: str) -> None:
        self.files.append(path)
        self.shown.append(shown)

    def _folder(self, path: Path) -> None:
        texts = sorted(p for p in path.iterdir() if p.suffix.lower() in (*TEXT_ENDS, ".gpx") and p.is_file())
        texts = [p for p in texts if not p.name.startswith(".")]
        maps = sorted(p for p in path.iterdir() if p.suffix.lower() in (".shp", ".gpkg", ".geojson", ".fgb"))
        sets = sorted(p for p in path.iterdir() if p.is_dir() and is_taskdata(p))
        # Beside a Shapefile text is its account, not a log.
        found = [*(maps or texts), *sets]
        if not found:
            raise FileError("the folder holds no log", str(path), "Name the log itself")
        for file in found:
            self._take(file, str(file))

    def _unpacked(self) -> Path:
        if self._temporary is None:
            self._temporary = tempfile.mkdtemp(prefix="mapper-log-")
        return Path(tempfile.mkdtemp(dir=self._temporary))

    def _zip(self, path: Path) -> None:
        with zipfile.ZipFile(path) as packed:
            members = [i for i in packed.infolist() if not i.is_dir() and "__MACOSX" not in i.filename]
            names = [PurePosixPath(i.filename) for i in members]
            texts = [
                i for i, n in zip(members, names, strict=True)
                if n.suffix.lower() in TEXT_ENDS and not n.name.startswith(".")
            ]  # fmt: skip
            maps = [n for n in names if n.suffix.lower() in (".shp", ".gpkg", ".geojson", ".json", ".fgb", ".kml")]
            if maps or not texts:
                list_sources(path)
                self._take(path, str(path))
                return
            if sum(i.file_size for i in texts) > _MOST_BYTES:
                raise FileError("unpacked it is over 4 GB", str(path), "Unzip it and name the files")
            for item in texts:
                target = self._unpacked() / PurePosixPath(item.filename).name
                try:
                    with packed.open(item) as source, target.open("wb") as out:
                        shutil.copyfileobj(source, out)
                except (zipfile.BadZipFile, OSError, RuntimeError, EOFError) as exc:
                    raise FileError("the zip is damaged or locked", str(path), "Unzip it and name the files") from exc
                self._take(target, f"{path}, {item.filename}")

    def _gz(self, path: Path) -> None:
        target = self._unpacked() / path.stem
        try:
            with gzip.open(path) as source, target.open("wb") as out:
                shutil.copyfileobj(source, out)
        except (OSError, EOFError) as exc:
            raise FileError("it cannot be unpacked", str(path), "Unpack it and name the file") from exc
        self._take(target, str(path))


def _bytes_of(path: Path) -> int:
    if path.is_dir():
        return max(1, sum(p.stat().st_size for p in path.iterdir() if p.is_file()))
    return max(1, path.stat().st_size) if path.exists() else 1
