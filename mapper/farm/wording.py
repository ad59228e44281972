"""Texts that paper says and a farm may put in its own words, each with who set it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Wording:
    """One text. lines: its lines, with names in braces that the plan fills in. source and date: who set it, when."""

    key: str
    lines: tuple[str, ...]
    source: str
    date: str

    @property
    def words(self) -> str:
        """All lines as one text."""
        return " ".join(self.lines)
