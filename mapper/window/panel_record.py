"""The Record step: the tally copied or kept as it goes, readings, escapes, patrols, and the close of the burn."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QFileDialog, QLineEdit

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Tick, Words
from mapper.window.happenedpart import HappenedPart
from mapper.window.panel import StepPanel
from mapper.window.readingpart import ReadingPart
from mapper.window.remarks import Cards
from mapper.window.section import Section
from mapper.window.tallypart import TallyPart


class RecordPanel(StepPanel):
    """Fields of the last step. Every entry is on the disk before it is shown."""

    step, title = "record", "Record"
    lead = "Copy the paper tally, or keep it as you go. Each key marks the row and goes to the next."
    quiet, act = "Print record", "Close the burn"

    def build(self) -> None:
        """Which record, who writes, then its parts."""
        self.book = self.session.book
        self._none = Section(self.body)
        self._none.add(Words("No record is open. It keeps the rows of the plan as they were printed.", "soft"))
        self.begin = PushButton("Open the record of this plan", act=True)
        self.begin.clicked.connect(self._begin)
        self.older = PushButton("Open another record")
        self.older.clicked.connect(self._open)
        self._none.add(self.begin)
        self._none.add(self.older)
        self._who = Section(self.body)
        self.by = QLineEdit()
        self.by.setFixedWidth(180)
        self.by.textChanged.connect(self._name)
        self._who.field("Written by", self.by)
        self.live = Tick("On the night: keep the time of each entry")
        self._who.add(self.live)
        self.disagree = Cards(most=3)
        self._who.add(self.disagree)
        now = self.session.now
        self.tally = TallyPart(self.body, self.book, self._attempt, lambda: now() if self.live.isChecked() else None)
        self.tally.went_to.connect(self.session.pick)
        self.reading = ReadingPart(self.body, self.book, self._attempt, now)
        self.reading.outside.connect(self._outside)
        self.happened = HappenedPart(self.body, self.book, self._attempt, now, self._folder)
        self.book.changed.connect(self.update_all)

    def refresh(self) -> None:
        """Show the record as it is now."""
        record = self.book.record
        for section in (self._who, self.tally, self.reading, self.happened):
            section.setVisible(record is not None)
        self._none.setVisible(record is None)
        self.begin.setEnabled(self.session.plan is not None)
        self.quiet_button.setEnabled(record is not None)
        self.act_button.setEnabled(record is not None and not record.closed)
        self.act_button.set_words("The burn is closed" if record is not None and record.closed else "Close the burn")
        if record is None:
            return
        from mapper.record.merge import conflicts

        items: list[Any] = [("look", c.text, None) for c in conflicts(record.entries)]
        self.disagree.show_items(items + [("look", note, None) for note in self.book.notes])
        self.tally.refresh(self.session.now())
        self.reading.refresh()
        self.happened.refresh()

    def _attempt(self, what: Callable[[], Any]) -> bool:
        try:
            what()
        except MapperError as error:
            self.session.fail("record", error)
            return False
        self.session.clear_error("record")
        return True

    def _name(self, text: str) -> None:
        self.book.by = text

    def _outside(self, why: str) -> None:
        self.session.fail("record", MapperError(why.rstrip("."), "Reading"))

    def _begin(self) -> None:
        plan = self.session.plan
        if plan is not None:
            self._attempt(lambda: self.book.begin(plan, self.session.path))

    def _open(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "Open a record", self._folder(), "Records (*.record.jsonl)")
        if path:
            self._attempt(lambda: self.book.open(Path(path)))

    def _folder(self) -> str:
        return str(Path(self.session.path).parent) if self.session.path else ""

    def on_quiet(self) -> None:
        """Print the record's pages."""
        self.window_.paper.print_record()

    def on_act(self) -> None:
        """Close the burn."""
        closed_at: datetime = self.session.now()
        self._attempt(lambda: self.book.write("close", [({}, closed_at)]))
