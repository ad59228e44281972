"""Who must be told before lighting: the plan's list, and a note of who was told, when and by whom."""

from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Words
from mapper.window.numberbox import MomentBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    import pandas as pd

    from mapper.window.window import MainWindow


class Telling(Section):
    """The people of the plan's list, as the farm's notes stand now; each can be noted as told on any day."""

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
        self.at = MomentBox("Told at")
        self.by = QLineEdit()
        self.by.setFixedWidth(180)
        self.field("Told at", self.at)
        self.field("Told by", self.by)
        self.note = PushButton("Note as told")
        self.forget = PushButton("Not told after all")
        self.note.clicked.connect(self._note)
        self.forget.clicked.connect(self._forget)
        self.add(self.note)
        self.add(self.forget)
        self._picked = ""

    def people(self) -> "pd.DataFrame | None":
        """Return the list by the plan's area, smoke and first light, with the notes that the farm holds now."""
        farm, plan = self.session.farm, self.session.plan
        if farm is None or plan is None:
            return None
        from mapper.plan.tell import who_to_tell

        lit = plan.pieces.loc[plan.pieces["order_no"] > 0, "lit_at"]
        burnt = plan.farm.paddocks[plan.farm.paddocks["paddock"].isin(plan.paddocks)].union_all()
        starts = lit.min().to_pydatetime() if len(lit) else None
        return who_to_tell(farm, burnt, plan.smoke, starts, self.session.now())

    def refresh(self) -> None:
        """Show the plan's list with what the farm knows now."""
        people = self.people()
        self.setVisible(people is not None and len(people) > 0)
        if people is None:
            return
        self.table.show_rows([(str(p.who), self._state(p)) for p in people.itertuples()], most=6)
        keys = list(people["key"])
        mine = keys.index(self._picked) if self._picked in keys else -1
        self.table.mark_row(mine)
        self.note.setEnabled(mine >= 0)
        self.forget.setVisible(mine >= 0 and bool(people["told_at"].iloc[max(mine, 0)]))
        if mine < 0:
            self.who.setText("Pick somebody to note when they were told.")
            return
        import pandas as pd

        person = people.iloc[mine]
        phone = f", phone {person['phone']}" if person["phone"] else ""
        by: Any = person["by"]
        latest = "" if pd.isna(by) else f" Tell by {self._clock(by)}."
        told = f" Told by {person['told_by']!s}." if person["told_at"] and person["told_by"] else ""
        self.who.setText(f"{person['who']}{phone}: {person['why']}.{latest}{told}")

    def _state(self, person: Any) -> str:
        from mapper.plan.tell import NOT_TOLD, TOLD, when_told

        if person.state == NOT_TOLD:
            return "look|not yet" if person.blocks else "todo|not yet"
        assert self.session.farm is not None
        at = when_told(str(person.told_at), self.session.farm.zone)
        if person.state == TOLD and at is not None:
            return f"ok|{self._clock(at)}"
        return f"look|{person.state.removeprefix('told ')}"

    def _clock(self, at: Any) -> str:
        import pandas as pd

        assert self.session.farm is not None
        local: Any = pd.Timestamp(at).tz_convert(self.session.farm.zone)
        return f"{local.day} {local:%b %H:%M}"

    def _pick(self, row: int) -> None:
        farm, people = self.session.farm, self.people()
        if farm is None or people is None:
            return
        self._picked = str(people["key"].iloc[row])
        self.at.show_moment(self.session.now(), farm.zone)
        if not self.by.text():
            self.by.setText(self.session.author or farm.in_charge)
        self.refresh()

    def _note(self) -> None:
        if self.session.farm is not None and self._picked:
            self._put(self.at.moment(self.session.farm.zone), self.by.text().strip(), "Note as told")

    def _forget(self) -> None:
        if self._picked:
            self._put(None, "", "Not told after all")

    def _put(self, at: datetime | None, by: str, words: str) -> None:
        from mapper.plan.tell import note_told

        farm, people = self.session.farm, self.people()
        assert farm is not None and people is not None
        try:
            changed = note_told(farm, self._picked, at, by, self.session.now())
        except MapperError as error:
            self.session.fail("order", error)
            return
        self.session.clear_error("order")
        who = str(people.loc[people["key"] == self._picked, "who"].iloc[0])
        self.session.edit(f"{words}: {who}", changed)
