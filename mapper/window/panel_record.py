"""The Record step: the tally copied or kept as it goes, readings, escapes, what else happened, and the next crop."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from PySide6.QtCore import QSettings, QTimer
from PySide6.QtWidgets import QFileDialog, QLineEdit

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Tick, Words
from mapper.window.croppart import CropPart
from mapper.window.entriespart import EntriesPart
from mapper.window.escapepart import EscapePart
from mapper.window.happenedpart import HappenedPart
from mapper.window.heatpart import HeatPart
from mapper.window.panel import StepPanel
from mapper.window.partswitch import PartSwitch
from mapper.window.readingpart import ReadingPart
from mapper.window.remarks import Cards
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import TallyPart

PARTS = {
    "tally": "Rows", "reading": "Readings", "escape": "Escapes", "happened": "Events", "heat": "Heat",
    "crop": "Next crop", "entries": "Entries",
}  # fmt: skip
# On the night what is alight and how far behind the plan is looked at anew this often.
LIVE_MS = 15_000


class RecordPanel(StepPanel):
    """Fields of the last step. Every entry is on the disk before it is shown."""

    step, title = "record", "Record"
    lead = "Copy the paper tally, or keep it as you go."
    quiet, act = "Print record", "Close the burn"

    def build(self) -> None:
        """Which record, who writes, then its parts, one shown at a time."""
        self.book = self.session.book
        self._choose_record()
        self._who = Section(self.body)
        self.open_words = Words("", "soft")
        self._who.add(self.open_words)
        self.by = QLineEdit()
        self.by.setFixedWidth(180)
        self.by.setText(str(QSettings("mapper", "mapper").value("written_by", "")))
        self.book.by = self.by.text()
        self.by.textChanged.connect(self._name)
        self._who.field("Written by", self.by)
        self.live = Tick("On the night: keep the time of each entry")
        self.live.toggled.connect(self._live)
        self._who.add(self.live)
        self.night = Words("", "body")
        self._who.add(self.night)
        self.disagree = Cards(most=3)
        self._who.add(self.disagree)
        self.switch = PartSwitch(PARTS)
        self.switch.chosen.connect(lambda _: self.update_all())
        self._who.add(self.switch)
        now, window = self._now, self.window_
        self.tally = TallyPart(self.body, self.book, self._attempt, lambda: now() if self.live.isChecked() else None)
        self.tally.went_to.connect(self._to_row)
        self.reading = ReadingPart(self.body, self.book, self._attempt, now)
        self.reading.outside.connect(self._outside)
        self.escaped = EscapePart(self.body, window, self._attempt)
        self.happened = HappenedPart(self.body, self.book, self._attempt, now, self._folder)
        self.heat = HeatPart(self.body, window, self._attempt)
        self.crop = CropPart(self.body, window, self._attempt)
        self.entries = EntriesPart(self.body, self.book, self._attempt)
        self.parts: dict[str, Any] = dict(zip(PARTS, (
            self.tally, self.reading, self.escaped, self.happened, self.heat, self.crop, self.entries), strict=True,
        ))  # fmt: skip
        self.session.picked.connect(self._picked)
        self._clock = QTimer(self)
        self._clock.setInterval(LIVE_MS)
        self._clock.timeout.connect(self._show_night)

    def _now(self) -> datetime:
        return self.session.now()

    def _choose_record(self) -> None:
        self._none = Section(self.body)
        self._none.add(Words("No record is open. It keeps the rows of the plan as they were printed.", "soft"))
        self.begin = PushButton("Open the record of this plan", act=True)
        self.begin.clicked.connect(self._begin)
        self._none.add(self.begin)
        self.kept_words = Words("Nights kept beside this farm", "head")
        self.kept = PlainTable("Nights kept beside this farm", ("Night and plan",))
        self.kept.chosen.connect(lambda row: self._attempt(lambda: self.book.open(self._beside()[row])))
        self.older = PushButton("Open a record from elsewhere")
        self.older.clicked.connect(self._open)
        for widget in (self.kept_words, self.kept, self.older):
            self._none.add(widget)

    def refresh(self) -> None:
        """Show the record as it is now: of its parts only the one shown."""
        record = self.book.record
        self._none.setVisible(record is None)
        self._who.setVisible(record is not None)
        for name, part in self.parts.items():
            part.setVisible(record is not None and name == self.switch.shown)
        self.begin.setEnabled(self.session.plan is not None)
        self.quiet_button.set_words("Print record" if record is not None else "")
        words = "The burn is closed" if record is not None and record.closed else "Close the burn"
        self.act_button.set_words(words if record is not None else "")
        self.act_button.setEnabled(record is not None and not record.closed)
        if record is None:
            beside = self._beside()
            for widget in (self.kept_words, self.kept):
                widget.setVisible(bool(beside))
            self.kept.show_rows([(p.name.removesuffix(".record.jsonl"),) for p in beside], most=6)
            return
        paddocks = ", ".join(map(str, record.land["paddock"]))
        night = f"{record.night:%a} {record.night.day} {record.night:%b %Y}"
        self.open_words.setText(f"{night}, plan {record.plan_number}: {paddocks}")
        items: list[Any] = [
            ("look", c.text, lambda e=c.entry_ids[-1]: self._show_entry(e)) for c in self.book.conflicts
        ]
        self.disagree.show_items(items + [("look", note, None) for note in self.book.notes])
        self._show_night()
        self.parts[self.switch.shown].refresh()

    def _show_night(self) -> None:
        """On the night: what is alight, and how far behind the plan lighting runs."""
        record = self.book.record
        self.night.setVisible(record is not None and self.live.isChecked())
        if record is None or not self.live.isChecked():
            return
        from mapper.record.said import night_words

        self.night.setText(night_words(record, self.session.now()))

    def _show_entry(self, entry_id: str) -> None:
        """Go to an entry, to correct it or take it back."""
        self.entries.pick(entry_id)
        self.switch.show_part("entries")

    def _live(self, on: bool) -> None:
        if on:
            self._clock.start()
        else:
            self._clock.stop()
        self._show_night()

    def _to_row(self, paddock: str, row_id: str, block: str) -> None:
        """Ring a row on the map; its paddock may have been renamed or taken away since that night."""
        farm = self.session.farm
        known = farm is not None and paddock in set(farm.paddocks["paddock"])
        self.session.pick(paddock if known else "", row_id, block)

    def _picked(self) -> None:
        if self.session.step == self.step:
            self.tally.show_picked(self.session.row_id, self.session.block)

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
        QSettings("mapper", "mapper").setValue("written_by", text)

    def _outside(self, why: str) -> None:
        self.session.fail("record", MapperError(why.rstrip("."), "Reading"))

    def _begin(self) -> None:
        plan = self.session.plan
        if plan is not None and self._attempt(lambda: self.book.begin(plan, self.session.path)):
            (self.by if not self.by.text() else self.tally.grid).setFocus()

    def _beside(self) -> tuple[Path, ...]:
        return self.book.beside(self.session.path)

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
        from mapper.record.said import check_close

        def close() -> None:
            if self.book.record is not None:
                check_close(self.book.record, self.session.now())
                self.book.write("close", [({}, self.session.now())])

        self._attempt(close)
