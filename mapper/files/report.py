"""What an import says about itself: what it read, in which grid, what it repaired and what it refused."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    from mapper.farm.farm import Harvester

CrsKnown = Literal["file", "guessed", "given", ""]


@dataclass(frozen=True)
class ImportReport:
    """The account of one file read.

    what: trade word for the things read. crs: name of the grid the file is in. crs_known: "file" where the file says
    so, "guessed" from the numbers, "given" by the user, "" where a file has no positions. repaired, refused, ignored
    (column names) and notes are tuples of text, one sentence or name each. issued_at: of a forecast, UTC, where its
    file says. unsaid: what of a forecast its file leaves open, in a sentence. machines: those that a log describes
    itself, with their header's width and the antenna's place.
    """

    file: str
    what: str
    count: int
    crs: str = ""
    crs_known: CrsKnown = ""
    repaired: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    ignored: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    issued_at: datetime | None = None
    machines: "tuple[Harvester, ...]" = ()
    unsaid: str = ""

    def with_(self, **changes: Any) -> "ImportReport":
        """Return a copy with some fields changed."""
        return replace(self, **changes)

    def lines(self) -> list[str]:
        """Return the report as sentences, the summary first."""
        known = {"file": "as the file says", "guessed": "guessed from the numbers", "given": "as given", "": ""}
        head = f"{self.file}: {self.count} {self.what} read"
        if self.crs:
            head += f", positions in {self.crs} ({known[self.crs_known]})"
        out = [head + "."]
        out += [f"Repaired: {text}" for text in self.repaired]
        out += [f"Refused: {text}" for text in self.refused]
        out += [f"Note: {text}" for text in self.notes]
        if self.ignored:
            out.append(f"Columns not used: {', '.join(self.ignored)}.")
        return out


def summed(texts: Iterable[str]) -> tuple[str, ...]:
    """Return sentences once each, those that begin with a count as one with the counts added up."""
    counts: dict[str, int] = {}
    for text in texts:
        found = re.match(r"(\d+) (.*)", text, re.DOTALL)
        key, count = (f" {found[2]}", int(found[1])) if found else (text, 0)
        counts[key] = counts.get(key, 0) + count
    return tuple(f"{n}{text}" if text.startswith(" ") else text for text, n in counts.items())


class ImportResult(NamedTuple):
    """What was read (a layer or table on the farm's grid) and the account of it."""

    layer: Any
    report: ImportReport
