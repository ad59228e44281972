"""Every entry of the record: who wrote it and when, what it replaced, and how it is corrected or taken back."""

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

if TYPE_CHECKING:
    from mapper.record.entry import Entry


class EntriesPart(Section):
    """Entries, the latest first; those that no longer hold are marked, never gone."""

    def __init__(self, into: QVBoxLayout, book: NightBook, attempt: Attempt) -> None:
        super().__init__(into)
        self._book, self._attempt = book, attempt
        self._picked = ""
        self.add(Words("Every entry", "head"))
        self.table = PlainTable("Every entry", ("Written", "By", "What"), (66, 66, 0))
        self.table.chosen.connect(self._pick)
        self.add(self.table)
        self.history = Words("", "small")
        self.add(self.history)
        self.again = QLineEdit()
        self.again.setPlaceholderText("17 burnt")
        self.again.setAccessibleName("Correct it in words")
        self.again.returnPressed.connect(self._correct)
        self.add(self.again)
        self.withdraw = PushButton("Take it back")
        self.withdraw.clicked.connect(self._withdraw)
        self.add(self.withdraw)

    def _entries(self) -> "tuple[Entry, ...]":
        return () if self._book.record is None else self._book.record.entries[::-1]

    def refresh(self) -> None:
        """Show all entries, and the story of the picked one."""
        from mapper.record.entry import standing
        from mapper.record.said import entry_words

        record = self._book.record
        if record is None:
            return
        entries, holds = self._entries(), {e.entry_id for e in standing(record.entries)}
        self.table.show_rows([
            (self._book.clock(e.entered_at), e.by,
             entry_words(e) if e.entry_id in holds or e.kind == "withdrawn" else f"stale|{entry_words(e)}")
            for e in entries
        ], most=8)  # fmt: skip
        names = [e.entry_id for e in entries]
        one = names.index(self._picked) if self._picked in names else -1
        self.table.mark_row(one)
        can = one >= 0 and self._picked in holds
        self.withdraw.setVisible(can)
        self.again.setVisible(can and entries[max(one, 0)].kind == "rows")
        self.history.setText(self._story() if one >= 0 else "Pick an entry to see what it replaced or to correct it.")

    def _story(self) -> str:
        from mapper.record.entry import history
        from mapper.record.said import entry_words

        assert self._book.record is not None
        entries = self._book.record.entries
        lines = []
        later = [e for e in entries if e.replaces == self._picked]
        for e in later:
            what = "taken back" if e.kind == "withdrawn" else f"corrected to: {entry_words(e)}"
            lines.append(f"{self._when(e)} {e.by}: {what}")
        for e in history(entries, self._picked):
            lines.append(f"{self._when(e)} {e.by}: {entry_words(e)}")
        return "\n".join(lines)

    def _when(self, entry: Any) -> str:
        return self._book.clock(entry.entered_at)

    def pick(self, entry_id: str) -> None:
        """Take an entry in hand."""
        self._picked = entry_id

    def _pick(self, row: int) -> None:
        self.pick(self._entries()[row].entry_id)
        self.refresh()

    def _withdraw(self) -> None:
        self._attempt(lambda: self._book.write("withdrawn", [({}, None)], self._picked))

    def _correct(self) -> None:
        from mapper.record.tally import read_tally

        def correct() -> None:
            record = self._book.record
            assert record is not None
            said = read_tally(self.again.text(), record.numbers, record.blocks)
            if len(said) != 1:
                raise MapperError("one entry is corrected by one", "Correction", "Write for example 17 burnt")
            old = next(e for e in record.entries if e.entry_id == self._picked)
            at = record.moment(*said[0].clock) if said[0].clock else old.at
            self._picked = self._book.write("rows", [(said[0].body, at)], self._picked)[0].entry_id

        if self._attempt(correct):
            self.again.clear()
