"""Copying the tally: state buttons, the grid of rows, and a line to type it in words."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QVBoxLayout

from mapper.record.states import STATES
from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.section import Section
from mapper.window.tallygrid import KEYS, TallyGrid

if TYPE_CHECKING:
    import pandas as pd

Attempt = Callable[[Callable[[], Any]], bool]


class TallyPart(Section):
    """Signal went_to(paddock, row_id). attempt(what) does what may fail and shows why where it does; at() is when."""

    went_to = Signal(str, str)

    def __init__(self, into: QVBoxLayout, book: NightBook, attempt: Attempt, at: Callable[[], datetime | None]) -> None:
        super().__init__(into)
        self._book, self._attempt, self._at = book, attempt, at
        self.row_words = Words("", "head")
        self.add(self.row_words)
        buttons = QGridLayout()
        buttons.setSpacing(4)
        self.marks: dict[str, PushButton] = {}
        for n, (key, state) in enumerate(KEYS.items()):
            button = self.marks[state] = PushButton(f"{STATES[state]}  {key}")
            button.clicked.connect(lambda _=False, s=state: self._mark(s))
            buttons.addWidget(button, n // 2, n % 2)
        self.add_layout(buttons)
        self.grid = TallyGrid()
        self.grid.marked.connect(self._write)
        self.grid.went_to.connect(self._show_row)
        self.add(self.grid)
        self.copied = Words("", "body")
        self.add(self.copied)
        self.typed = QLineEdit()
        self.typed.setPlaceholderText("1-40 done, 17 missed, 22 went out from 150 m")
        self.typed.setAccessibleName("Tally in words")
        self.typed.returnPressed.connect(self._write_words)
        self.add(self.typed)

    def refresh(self, now: datetime) -> None:
        """Show the record as it is; now tells what is alight."""
        from mapper.record.parts import alight, state_of_pieces
        from mapper.record.said import number_list

        record, parts = self._book.record, self._book.parts
        if record is None or parts is None:
            return
        states = state_of_pieces(parts)
        self.grid.show_tally(record.numbers, states, frozenset(max(n) for n in record.blocks.values()))
        todo = [n for n in record.numbers if not states.get(n)]
        words = [f"{len(record.numbers) - len(todo)} of {len(record.numbers)} copied"]
        if todo:
            words.append(f"{number_list(todo)} to go")
        burning = alight(record, now)
        if burning.last_out is not None:
            words.append(f"{len(burning.numbers)} alight, out by {self._book.clock(burning.last_out)}")
        self.copied.setText("; ".join(words))
        self._show_row(self.grid.number())

    def _show_row(self, number: int) -> None:
        parts = self._book.parts
        if not number or parts is None:
            return
        mine = parts[parts["order_no"] == number]
        said = [f"{_words(p)} {p.from_m:.0f} to {p.to_m:.0f} m" for p in _lines(mine)]
        self.row_words.setText(f"Row {number}: {', '.join(said)}")
        self.went_to.emit(str(mine["paddock"].iloc[0]), str(mine["row_id"].iloc[0]))

    def _mark(self, state: str) -> None:
        self.grid.mark(state)
        self.grid.setFocus()

    def _write(self, numbers: list[int], state: str) -> None:
        self._attempt(lambda: self._book.write("rows", [({"numbers": numbers, "state": state}, self._at())]))

    def _write_words(self) -> None:
        if self._attempt(self._write_typed):
            self.typed.clear()

    def _write_typed(self) -> None:
        from mapper.record.tally import read_tally

        record, parts = self._book.record, self._book.parts
        assert record is not None and parts is not None
        copied = tuple(parts.loc[parts["state"] != "", "order_no"])
        said = read_tally(self.typed.text(), record.numbers, record.blocks, copied)
        bodies = [{"numbers": list(s.numbers), "state": s.state, "from_m": s.from_m, "to_m": s.to_m} for s in said]
        times = [record.moment(*s.clock) if s.clock else self._at() for s in said]
        self._book.write("rows", zip(bodies, times, strict=True))


def _words(part: Any) -> str:
    return STATES.get(part.state, "not written down").lower()


def _lines(table: "pd.DataFrame") -> Any:
    """The rows of a table as tuples with names."""
    return table.itertuples()
