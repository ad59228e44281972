"""Who must be told before lighting: the plan's list, and a note of who was told, when and by whom."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from PySide6.QtWidgets import QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window import edits
from mapper.window.controls import PushButton, Words
from mapper.window.numberbox import ClockBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


class Telling(Section):
    """The people of the plan's list; those who are neighbours of the farm can be noted as told."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.add(Words("People to tell", "head"))
        self.table = PlainTable("People to tell", ("Who", "Told"), (176, 0))
        self.table.chosen.connect(self._pick)
        self.add(self.table)
        self.who = Words("", "small")
        self.add(self.who)
        self.at = ClockBox("Told at")
        self.by = QLineEdit()
        self.by.setFixedWidth(180)
        self.field("Told at, today", self.at)
        self.field("Told by", self.by)
        self.note = PushButton("Note as told")
        self.forget = PushButton("Not told after all")
        self.note.clicked.connect(self._note)
        self.forget.clicked.connect(self._forget)
        self.add(self.note)
        self.add(self.forget)
        self._ids: list[str] = []
        self._picked = ""

    def refresh(self) -> None:
        """Show the plan's list with what the farm knows now."""
        farm, plan = self.session.farm, self.session.plan
        self.setVisible(farm is not None and plan is not None and len(plan.tell) > 0)
        if farm is None or plan is None:
            return
        known = farm.neighbours.set_index("neighbour")
        self._ids, rows = [str(n) for n in plan.tell["neighbour"]], []
        for person in plan.tell.itertuples():
            told = known.loc[str(person.neighbour)] if person.neighbour in known.index else None
            if told is None:
                state = "todo|not kept here"
            elif told["told_at"]:
                state = f"ok|{self._clock(str(told['told_at']))}"
            else:
                state = "look|not yet"
            rows.append((str(person.who), state))
        self.table.show_rows(rows, most=6)
        if self._picked not in known.index:
            self._picked = ""
        mine = self._ids.index(self._picked) if self._picked and self._picked in self._ids else -1
        self.table.mark_row(mine)
        told_at = "" if mine < 0 else str(known.loc[self._picked, "told_at"])
        self.note.setEnabled(mine >= 0)
        self.forget.setVisible(bool(told_at))
        if mine < 0:
            self.who.setText("Pick a neighbour to note when they were told.")
        else:
            picked, by = plan.tell.iloc[mine], str(known.loc[self._picked, "told_by"])
            phone = f", phone {picked['phone']}" if picked["phone"] else ""
            self.who.setText(
                f"{picked['who']}{phone}: {picked['why']}." + (f" Told by {by}." if told_at and by else "")
            )

    def _clock(self, told_at: str) -> str:
        """Write a told_at as local day and time; one that came from a file in other words stays as it is."""
        assert self.session.farm is not None
        try:
            at = datetime.fromisoformat(told_at)
        except ValueError:
            return told_at
        if at.tzinfo is not None:
            at = at.astimezone(ZoneInfo(self.session.farm.zone))
        return f"{at.day} {at:%b %H:%M}"

    def _pick(self, row: int) -> None:
        from PySide6.QtCore import QTime

        farm, self._picked = self.session.farm, self._ids[row]
        if farm is not None:
            now = self.session.now().astimezone(ZoneInfo(farm.zone))
            self.at.setTime(QTime(now.hour, now.minute))
        if not self.by.text():
            self.by.setText(self.session.author or (farm.in_charge if farm is not None else ""))
        self.refresh()

    def _note(self) -> None:
        farm = self.session.farm
        if farm is None or not self._picked:
            return
        zone, typed = ZoneInfo(farm.zone), self.at.time()
        today = self.session.now().astimezone(zone)
        at = today.replace(hour=typed.hour(), minute=typed.minute(), second=0, microsecond=0).astimezone(UTC)
        self._put(at, self.by.text().strip(), "Note as told")

    def _forget(self) -> None:
        if self._picked:
            self._put(None, "", "Not told after all")

    def _put(self, at: datetime | None, by: str, words: str) -> None:
        farm = self.session.farm
        assert farm is not None
        try:
            changed = edits.tell_neighbour(farm, self._picked, at, by, self.session.now())
        except MapperError as error:
            self.session.fail("order", error)
            return
        self.session.edit(f"{words}: {farm.neighbours.set_index('neighbour').loc[self._picked, 'name']}", changed)
