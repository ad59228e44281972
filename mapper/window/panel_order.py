"""The Order step: what stands against lighting, the blocks with their hours, how rows burn here."""

import math
from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QLineEdit

from mapper.farm.errors import MapperError
from mapper.window.controls import Words
from mapper.window.numberbox import NumberBox
from mapper.window.panel import StepPanel
from mapper.window.remarks import Cards
from mapper.window.section import Section
from mapper.window.tables import OrderTable, initials
from mapper.window.telling import Telling
from mapper.window.wishpart import WishPart

ROW_BURN = (
    ("block_min", "Time one block may take", "min", 5.0, 600.0),
    ("burnout_min", "A row is out after", "min", 1.0, 600.0),
    ("spread_m_min", "Fire runs along a row", "m/min", 0.1, 60.0),
    ("point_gap_m", "Between lighting points", "m", 5.0, 2000.0),
)

PEOPLE = {"in_charge": "In charge", "phone": "Phone", "emergency_number": "Emergency number"}


class OrderPanel(StepPanel):
    """Fields of the fifth step."""

    step, title = "order", "Burn order"
    lead = "Downwind side first, then work into the wind."
    quiet, act = "Work out again", "Go to sheets"

    def build(self) -> None:
        """Verdict, row burn, blocks."""
        self.verdict = Cards(most=3)
        self.body.addWidget(self.verdict)
        self._blocks = Section(self.body)
        self.table = OrderTable("Blocks in burning order", ("", "Rows", "Light up", "Crew"), (54, 82, 108, 0))
        self.table.chosen.connect(self._pick)
        self.table.moved.connect(self._put_before)
        self._blocks.add(self.table)
        self._left = Words("", "small")
        self._blocks.add(self._left)
        self.wishes = WishPart(self.body, self.window_)
        self.telling = Telling(self.body, self.window_)
        self._people = Section(self.body)
        self._people.rule()
        self._people.add(Words("On the sheets", "head"))
        self.people: dict[str, QLineEdit] = {}
        for key, words in PEOPLE.items():
            line = self.people[key] = QLineEdit()
            line.setFixedWidth(180)
            line.editingFinished.connect(lambda k=key: self._set_person(k))
            self._people.field(words, line)
        self.number = self._people.fact("Plan number")
        self._settings = Section(self.body)
        self._settings.rule()
        self._settings.add(Words("How rows burn here", "head"))
        self.boxes: dict[str, NumberBox] = {}
        for key, words, unit, low, high in ROW_BURN:
            box = self.boxes[key] = NumberBox(words, low, high)
            box.valueChanged.connect(lambda v, k=key, w=words: self._set(k, v, w.lower()))
            self._settings.field(words, box, unit)
        self.source = Words("", "small")
        self._settings.add(self.source)

    def _set(self, key: str, value: float, words: str) -> None:
        farm = self.session.farm
        if farm is None:
            return
        try:
            changed = replace(farm.row_burn, source="typed in by the farm", **{key: value})
        except MapperError as error:
            self.session.fail("order", error)
            return
        self.session.edit(f"Change: {words}", farm.with_(row_burn=changed))

    def _set_person(self, key: str) -> None:
        farm, text = self.session.farm, self.people[key].text().strip()
        if farm is not None and text != getattr(farm, key):
            self.session.edit(f"Change: {PEOPLE[key].lower()}", farm.with_(**{key: text}))

    def _sorted(self) -> Any:
        blocks = self.session.layer("blocks")
        return None if blocks is None else blocks.sort_values("first_no", kind="stable")

    def refresh(self) -> None:
        """Show verdict, blocks and settings."""
        farm, blocks, plan = self.session.farm, self._sorted(), self.session.plan
        self._settings.setVisible(farm is not None)
        self._blocks.setVisible(blocks is not None)
        self._people.setVisible(farm is not None)
        self.telling.refresh()
        self.wishes.refresh()
        self.number.setText("not worked out" if plan is None else str(plan.number))
        self.quiet_button.set_words("Work out again" if plan is not None else "Work out the order")
        self.act_button.setEnabled(plan is not None)
        self.quiet_button.setEnabled(farm is not None and len(farm.paddocks) > 0)
        against = [] if plan is None else [("stop", text, self._place_of(text)) for text in plan.against]
        self.verdict.show_items(
            against if plan is None or against else [("note", "Nothing you typed in stands against lighting.", None)]
        )
        if farm is not None:
            for key, box in self.boxes.items():
                if not box.hasFocus():
                    box.set_number(getattr(farm.row_burn, key))
            for key, line in self.people.items():
                if not line.hasFocus():
                    line.setText(getattr(farm, key))
            self.source.setText(f"Source: {farm.row_burn.source}")
        if blocks is None:
            return
        several = blocks["paddock"].nunique() > 1
        self.table.show_rows([self._row(b, several) for b in blocks.itertuples()])
        names = list(zip(blocks["paddock"], blocks["block"], strict=True))
        picked = (self.session.paddock, self.session.block)
        self.table.mark_row(names.index(picked) if picked in names else -1)
        pieces = self.session.layer("pieces")
        left = 0.0 if pieces is None else float(pieces.loc[pieces["left_reason"] != "", "length_m"].sum())
        self._left.setText(f"{left / 1000:.1f} km of row stays unlit; the sheets say why." if left else "")
        self._left.setVisible(left > 0)

    def _place_of(self, text: str) -> Any:
        """Return what shows the place that a sentence against lighting is about, where a warning names one."""
        assert self.session.plan is not None
        found = next((r for r in self.session.plan.remarks if r.where is not None and r.text in text), None)
        return None if found is None else lambda: self.window_.show_place(found.where)

    def hidden_remarks(self) -> frozenset[str]:
        """What stands against lighting is shown above the blocks, not a second time among the warnings."""
        plan = self.session.plan
        return (
            frozenset()
            if plan is None
            else frozenset(r.text for r in plan.remarks if any(r.text in a for a in plan.against))
        )

    def _row(self, block: Any, several: bool) -> tuple[str, str, str, str]:
        head = f"{block.block} {initials(block.paddock)}" if several else block.block
        when = "not lit"
        if block.starts_at == block.starts_at:
            assert self.session.farm is not None
            zone = self.session.farm.zone
            when = f"{block.starts_at.tz_convert(zone):%H:%M} to {block.ends_at.tz_convert(zone):%H:%M}"
        return (
            head,
            f"{block.first_no} to {block.last_no}",
            when,
            str(block.crew).replace("Crew ", "").replace(" (invented)", ""),
        )

    def _pick(self, row: int) -> None:
        block = self._sorted().iloc[row]
        self.session.pick(str(block["paddock"]), "", str(block["block"]))
        if not math.isnan(block.geometry.area):
            self.window_.show_place(block.geometry)
        if block["starts_at"] == block["starts_at"]:
            self.session.show_hour(block["starts_at"].to_pydatetime())

    def _put_before(self, row: int, before: int) -> None:
        blocks = self._sorted()
        a, b = (tuple(blocks[["paddock", "block"]].iloc[k]) for k in (row, before))
        self.wishes.light_earlier(a, b)

    def on_quiet(self) -> None:
        """Work the whole plan out."""
        self.window_.work.work_out()

    def on_act(self) -> None:
        """Go on to the sheets."""
        self.session.go_to("sheets")
