"""The list of local limits: every one can be set, each with its source; nothing is law."""

import math
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QWidget

from mapper.farm.errors import MapperError
from mapper.farm.limits import INDICES, LIMIT_KINDS, Limit, LimitKind
from mapper.window import looks
from mapper.window.controls import Choice, Words
from mapper.window.dialog import Dialog
from mapper.window.numberbox import NumberBox

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

GROUPS = {
    "weather": "Weather", "hours": "Hours", "breaks": "Breaks", "care": "Care distances", "crew": "Crew and water",
    "notice": "Telling people", "smoke": "Smoke", "rows": "Rows",
}  # fmt: skip

WHAT = (
    "What the permit, the local code and the people in charge allow. An empty field is not known, and what is not "
    "known is never a go. Write beside each who set it."
)


class LimitsDialog(Dialog):
    """Values and sources of all local limits; `key` is the one to begin at."""

    def __init__(self, window: "MainWindow", key: str = "") -> None:
        super().__init__(window, "Local limits", WHAT, "Leave them", "Use these limits")
        self._window = window
        assert window.session.farm is not None
        self._limits = window.session.farm.limits
        self.resize(940, 680)
        inside = QWidget()
        self._grid = QGridLayout(inside)
        self._grid.setHorizontalSpacing(looks.GAP_M)
        self._grid.setColumnStretch(3, 1)
        self.values: dict[str, NumberBox] = {}
        self.sources: dict[str, QLineEdit] = {}
        self.indices: dict[str, Choice] = {}
        row = 0
        for group, words in GROUPS.items():
            self._grid.addWidget(Words(words, "head"), row, 0, 1, 4)
            row += 1
            for kind in (k for k in LIMIT_KINDS.values() if k.group == group):
                self._add(row, kind)
                row += 1
        scroll = self.scrolled(inside)
        self.add_buttons()
        if key:
            self.values[key].setFocus()
            self.values[key].selectAll()
            scroll.ensureWidgetVisible(self.values[key])

    def _add(self, row: int, kind: LimitKind) -> None:
        limit = self._limits.get(kind.key)
        box = self.values[kind.key] = NumberBox(
            kind.label, kind.low, kind.high, 4 if kind.high < 1 else 1, may_be_empty=True
        )
        box.set_number(float("nan") if limit is None else limit.value)
        source = self.sources[kind.key] = QLineEdit("" if limit is None else limit.source)
        source.setCursorPosition(0)
        source.setPlaceholderText("who set it, where it stands")
        source.setAccessibleName(f"Source of: {kind.label}")
        words = Words(kind.label, wrap=False)
        words.setBuddy(box)
        self._grid.addWidget(words, row, 0)
        self._grid.addWidget(box, row, 1)
        self._grid.addWidget(Words(kind.unit.replace("degC", "°C"), "soft", wrap=False), row, 2)
        beside = QHBoxLayout()
        beside.addWidget(source, 1)
        if kind.key.startswith("index_"):
            choice = self.indices[kind.key] = Choice(f"Index meant by: {kind.label}")
            for name, text in INDICES.items():
                choice.addItem(text.split(",")[1].strip() if "," in text else text, name)
            choice.setCurrentIndex(max(0, choice.findData("" if limit is None else limit.index)))
            choice.setFixedWidth(200)
            beside.addWidget(choice)
        self._grid.addLayout(beside, row, 3)

    def take(self) -> None:
        """Check every field and make the edit; a field that is wrong is named and the dialog stays."""
        from dataclasses import replace

        session, found = self._window.session, {}
        today = f"{session.now():%Y-%m-%d}"
        for key, box in self.values.items():
            value, source, old = box.number(), self.sources[key].text().strip(), self._limits.get(key)
            if math.isnan(value):
                continue
            index = self.indices[key].currentData() if key in self.indices else ""
            if old is not None and (old.value, old.source, old.index) == (value, source, index):
                found[key] = old
                continue
            try:
                made = old or Limit(key, value, source, today, index=index)
                found[key] = replace(made, value=value, source=source, index=index, date=today, starting=False)
            except MapperError as error:
                self.fail(error)
                self.sources[key].setFocus()
                return
        if found != dict(self._limits.limits):
            changed = [k for k in self.values if found.get(k) != self._limits.get(k)]
            words = LIMIT_KINDS[changed[0]].label.lower() if len(changed) == 1 else f"{len(changed)} limits"
            assert session.farm is not None
            session.edit(f"Change {words}", session.farm.with_(limits=replace(self._limits, limits=found)))
        self.accept()
