"""Which column of somebody's file holds what the program wants: names compared without case, marks and units."""

import re
import unicodedata
from collections.abc import Iterable, Sequence

_SHAPEFILE_WIDTH = 10


def plain(name: str) -> str:
    """Return a name in lower case without accents and marks, words parted by one space: "Kerb-ID" is "kerb id"."""
    name = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z]{3})(?=[A-Z][a-z])", " ", str(name))
    text = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return " ".join(re.findall(r"[a-z]+|\d+", text))


def find_column(columns: Iterable[str], wanted: str, synonyms: Sequence[str] = ()) -> str | None:
    """Return the column that holds `wanted`: by its own name, a Shapefile's cut of it, then by synonyms in order."""
    columns = list(columns)
    by_name: dict[str, str] = {}
    for column in columns:
        by_name.setdefault(plain(column), column)
    for name in (wanted, wanted[:_SHAPEFILE_WIDTH], *synonyms):
        if plain(name) in by_name:
            return by_name[plain(name)]
    return None
