"""The Paddock step: begin with a boundary; name, crop and figures of the picked paddock; the drawing's fields."""

from typing import Any

from PySide6.QtWidgets import QLineEdit

from mapper.farm.errors import MapperError
from mapper.window import edits
from mapper.window.controls import Choice, PushButton, Words
from mapper.window.drawing import DrawTool
from mapper.window.drawpart import CROPS, BreakPart, DrawPart
from mapper.window.numberbox import NumberBox
from mapper.window.panel import StepPanel
from mapper.window.section import Section
from mapper.window.tables import PlainTable

# column, words, unit, low, high, decimals
NUMBERS = (
    ("yield_t_ha", "Grain yield", "t/ha", 0.0, 20.0, 2),
    ("cut_height_m", "Cut at", "m", 0.02, 1.5, 2),
    ("stubble_t_ha", "Stubble standing", "t/ha", 0.0, 30.0, 1),
    ("curing_pct", "Cured", "%", 0.0, 100.0, 0),
    ("header_width_m", "Cutting width", "m", 1.0, 60.0, 2),
    ("row_heading_deg", "Rows run (grid bearing)", "deg", 0.0, 360.0, 1),
    ("headland_laps", "Headland laps", " ", 0.0, 20.0, 0),
)


class PaddockPanel(StepPanel):
    """Fields of the first step."""

    step, title = "paddock", "Paddock"
    quiet, act = "Leave drawing", "Close paddock"

    def build(self) -> None:
        """Groups of fields, of which one is shown."""
        self._start = Section(self.body)
        self.drawing_part = DrawPart(self.body, self.window_)
        self.break_part = BreakPart(self.body, self.window_)
        self._picked = Section(self.body)
        self._list = Section(self.body)
        self._build_start()
        self._build_picked()
        self._list.add(Words("Paddocks", "head"))
        self.table = PlainTable("Paddocks", ("Paddock", "ha", "Crop", "Rows"), (0, 58, 74, 52))
        self.table.chosen.connect(lambda k: self.session.pick(str(self.session.farm.paddocks["paddock"].iloc[k])))  # type: ignore[union-attr]
        self._list.add(self.table)

    def _build_start(self) -> None:
        for words, icon, act, call in (
            ("Open a boundary file", "open", True, self.window_.files.open_boundary),
            ("Draw a paddock on the map", "draw", False, self.window_.draw_paddock),
            ("Open last season's farm", "open", False, self.window_.files.open_farm),
            ("Open the sample farm (invented)", "open", False, self.window_.files.open_sample),
        ):
            button = PushButton(words, icon, act)
            button.clicked.connect(lambda _=False, c=call: c())
            self._start.add(button)

    def _build_picked(self) -> None:
        self.picked_name = QLineEdit()
        self.picked_name.setFixedWidth(180)
        self.picked_name.editingFinished.connect(self._rename)
        self._picked.field("Name", self.picked_name)
        self.picked_crop = Choice("Crop")
        self.picked_crop.setEditable(False)
        self.picked_crop.addItems(CROPS)
        self.picked_crop.setFixedWidth(180)
        self.picked_crop.activated.connect(lambda _: self._set("crop", self.picked_crop.currentText(), "crop"))
        self._picked.field("Crop", self.picked_crop)
        self.numbers: dict[str, NumberBox] = {}
        for column, words, unit, low, high, decimals in NUMBERS:
            box = self.numbers[column] = NumberBox(words, low, high, decimals, may_be_empty=True)
            box.valueChanged.connect(lambda _v, c=column, b=box, w=words: self._set(c, b.number(), w.lower()))
            self._picked.field(words, box, unit)
        self._picked.rule()
        self.facts = {words: self._picked.fact(words) for words in ("Area", "Round the outside", "Corners")}

    def _tool(self) -> DrawTool:
        return self.window_.canvas.tools["Draw a paddock"]  # type: ignore[return-value]

    def _rename(self) -> None:
        old, new, farm = self.session.paddock, self.picked_name.text(), self.session.farm
        if farm is None or not old or new == old:
            return
        try:
            renamed = edits.rename_paddock(farm, old, new)
        except MapperError as error:
            self.session.fail("paddock", error)
            return
        self.session.clear_error("paddock")
        self.session.paddock = new.strip()
        self.session.edit(f"Call {old} {new.strip()}", renamed)

    def _set(self, column: str, value: Any, words: str) -> None:
        name, farm = self.session.paddock, self.session.farm
        if farm is not None and name:
            self.session.edit(f"Change {words} of {name}", edits.set_paddock(farm, name, column, value))

    @property
    def drawing(self) -> bool:
        """True while a paddock is being drawn."""
        return self.window_.canvas.tool is self._tool()

    def refresh(self) -> None:
        """Show the group of fields that fits."""
        from mapper.window.things import drawn_kinds

        farm, name = self.session.farm, self.session.paddock
        has = farm is not None and not farm.paddocks.empty
        groups: tuple[tuple[Section, bool], ...] = (
            (self._start, not has and not self.drawing), (self.drawing_part, self.drawing),
            (self.break_part, self.window_.canvas.tool.name == "Break inside the fence"),
            (self._picked, bool(name) and not self.drawing), (self._list, has and not name and not self.drawing),
        )  # fmt: skip
        for section, on in groups:
            section.setVisible(on)
        self.quiet_button.set_words("Leave drawing" if self.drawing else "Draw a paddock" if has else "")
        closes = "Close paddock" if self._tool().kind == "paddock" else "Finish it"
        self.act_button.set_words(closes if self.drawing else "Go to rows" if has else "")
        if self.drawing:
            self.head.setText(drawn_kinds()[self._tool().kind].words)
            line = self._tool().shape == "line"
            ends = "double-click the last point to end." if line else "click the first corner to close."
            self.lead_words.setText(f"Click each corner. Press Enter or {ends}")
            self.drawing_part.refresh()
            self.act_button.setEnabled(self.drawing_part.enough)
        elif name and farm is not None:
            self.head.setText(name)
            self.lead_words.setText("What is known of the paddock. Every change can be taken back.")
            self._show_picked(farm.paddock(name))
        elif has and farm is not None:
            self.head.setText("All paddocks")
            self.lead_words.setText("Pick a paddock on the map or here.")
            rows = self.session.layer("windrows")
            count = {} if rows is None else rows["paddock"].value_counts().to_dict()
            self.table.show_rows([
                (str(p.paddock), f"{p.geometry.area / 1e4:.1f}", str(p.crop), str(count.get(p.paddock, "")))
                for p in farm.paddocks.itertuples()
            ])  # fmt: skip
        else:
            self.head.setText("Paddock")
            self.lead_words.setText("Start with a boundary. The rest follows from it.")

    def _show_picked(self, row: Any) -> None:
        self.act_button.setEnabled(True)
        self.picked_name.setText(row["paddock"])
        at = self.picked_crop.findText(row["crop"])
        if at < 0 and row["crop"]:
            self.picked_crop.addItem(row["crop"])
            at = self.picked_crop.count() - 1
        self.picked_crop.setCurrentIndex(at)
        for column, box in self.numbers.items():
            if not box.hasFocus():
                box.set_number(float(row[column]))
        shape = row["geometry"]
        parts, holes = edits.rings_of(shape), sum(len(p) - 1 for p in edits.rings_of(shape))
        words = f"{sum(len(r) for p in parts for r in p)}"
        words += f", {len(parts)} parts" if len(parts) > 1 else ""
        words += f", {holes} left out" if holes else ""
        self.facts["Area"].setText(f"{shape.area / 1e4:.2f} ha")
        self.facts["Round the outside"].setText(f"{shape.length:,.0f} m")
        self.facts["Corners"].setText(words)

    def on_quiet(self) -> None:
        """Leave the drawing, or begin one."""
        self.window_.canvas.take_tool("Pick" if self.drawing else "Draw a paddock")

    def on_act(self) -> None:
        """Close the paddock, or go on to the rows."""
        if self.drawing:
            self._tool().close()
        else:
            self.session.go_to("rows")
