"""Copying the tally: state buttons, the grid of rows, a part of a row in metres, and a line to type it in words."""

import math
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QVBoxLayout

from mapper.record.states import STATES
from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.numberbox import NumberBox
from mapper.window.section import Section
from mapper.window.tallygrid import KEYS, TallyGrid

if TYPE_CHECKING:
    import pandas as pd

Attempt = Callable[[Callable[[], Any]], bool]


class TallyPart(Section):
    """Signal went_to(paddock, row_id, block). attempt(what) does what may fail and shows why where it does.

    at() is when it happened, None where nobody knows.
    """

    went_to = Signal(str, str, str)

    def __init__(self, into: QVBoxLayout, book: NightBook, attempt: Attempt, at: Callable[[], datetime | None]) -> None:
        super().__init__(into)
        self._book, self._attempt, self._at = book, attempt, at
        self.row_words = Words("", "head")
        self.add(self.row_words)
        buttons = QGridLayout()
        buttons.setSpacing(4)
        self.marks: dict[str, PushButton] = {}
        for n, (key, state) in enumerate(KEYS.items()):
            short = STATES[state].removeprefix("Burnt ").removesuffix(" on purpose").capitalize()
            button = self.marks[state] = PushButton(f"{short} {key}")
            button.setToolTip(f"{STATES[state]}  ({key})")
            button.setAccessibleName(STATES[state])
            button.setMinimumWidth(1)
            button.clicked.connect(lambda _=False, s=state: self._mark(s))
            buttons.addWidget(button, n // 4, n % 4)
        self.add_layout(buttons)
        self.from_m, self.to_m = (self._metres(words) for words in ("Part from", "Part to"))
        self._part_fields()
        self.grid = TallyGrid()
        self.grid.marked.connect(self._write)
        self.grid.went_to.connect(self._show_row)
        self.grid.part_wanted.connect(lambda: _take(self.from_m))
        self.add(self.grid)
        self.copied = Words("", "body")
        self.add(self.copied)
        self.typed = QLineEdit()
        self.typed.setPlaceholderText("1-40 done, 17 missed, 22 went out from 150 m")
        self.typed.setAccessibleName("Tally in words")
        self.typed.returnPressed.connect(self._write_words)
        self.add(self.typed)

    def _metres(self, words: str) -> NumberBox:
        box = NumberBox(f"{words}, m from the end lit first", 0.0, 20_000.0, may_be_empty=True)
        box.setSpecialValueText("end")
        box.setFixedWidth(72)
        return box

    def _part_fields(self) -> None:
        """Metres of a part of the row; both left alone mean the whole row."""
        row = QHBoxLayout()
        row.addWidget(Words("Only a part (P), m", "soft", wrap=False))
        row.addStretch(1)
        row.addWidget(self.from_m)
        row.addWidget(Words("to", "soft", wrap=False))
        row.addWidget(self.to_m)
        self.add_layout(row)
        self.from_m.lineEdit().returnPressed.connect(lambda: _take(self.to_m))
        self.to_m.lineEdit().returnPressed.connect(self._to_grid)

    def _to_grid(self) -> None:
        self.grid.setFocus()

    def refresh(self) -> None:
        """Show the record as it is."""
        from mapper.record.said import number_list

        record, states = self._book.record, self._book.states
        if record is None:
            return
        self.grid.show_tally(record.numbers, states, frozenset(max(n) for n in record.blocks.values()))
        todo = [n for n in record.numbers if not states.get(n)]
        words = f"{len(record.numbers) - len(todo)} of {len(record.numbers)} copied"
        self.copied.setText(f"{words}; {number_list(todo)} to go" if todo else words)
        self._show_row(self.grid.number())

    def show_picked(self, row_id: str, block: str) -> None:
        """Take the cell of the row picked on the map; stay where the cell in hand is of that row already."""
        parts = self._book.parts
        if parts is None or not row_id:
            return
        mine = parts[(parts["row_id"] == row_id) & ((parts["block"] == block) | (block == ""))]
        numbers = sorted(n for n in set(mine["order_no"]) if n > 0)
        if numbers and self.grid.number() not in numbers:
            self.grid.go_to(int(numbers[0]))

    def _show_row(self, number: int) -> None:
        parts = self._book.parts
        if not number or parts is None:
            return
        mine = parts[parts["order_no"] == number]
        if mine.empty:
            return
        said = [f"{_words(p)} {p.from_m:.0f} to {p.to_m:.0f} m" for p in _lines(mine)]
        self.row_words.setText(f"Row {number}: {', '.join(said)}")
        if self.isVisible():
            self.went_to.emit(*(str(mine[c].iloc[0]) for c in ("paddock", "row_id", "block")))

    def _mark(self, state: str) -> None:
        self.grid.mark(state)
        self.grid.setFocus()

    def _write(self, numbers: list[int], state: str) -> None:
        body: dict[str, Any] = {"numbers": numbers, "state": state}
        low, high = (None if math.isnan(box.number()) else box.number() for box in (self.from_m, self.to_m))
        if low is not None or high is not None:
            body |= {"from_m": low, "to_m": high}
        if self._attempt(lambda: self._book.write("rows", [(body, self._at())])):
            for box in (self.from_m, self.to_m):
                box.set_number(math.nan)

    def _write_words(self) -> None:
        if self._attempt(self._write_typed):
            self.typed.clear()

    def _write_typed(self) -> None:
        from mapper.record.tally import read_tally

        record = self._book.record
        assert record is not None
        copied = [n for n, state in self._book.states.items() if state not in ("", "lit")]
        said = read_tally(self.typed.text(), record.numbers, record.blocks, copied)
        times = [record.moment(*s.clock) if s.clock else self._at() for s in said]
        self._book.write("rows", zip((s.body for s in said), times, strict=True))


def _take(box: NumberBox) -> None:
    box.setFocus()
    box.selectAll()


def _words(part: Any) -> str:
    return STATES.get(part.state, "not written down").lower()


def _lines(table: "pd.DataFrame") -> Any:
    """The rows of a table as tuples with names."""
    return table.itertuples()
