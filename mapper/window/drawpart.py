"""Fields of a drawing: what is drawn, its name, the next corner typed, snapping, and its figures so far."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from mapper.farm.errors import MapperError
from mapper.window.controls import Choice, PushButton, Tick, Words
from mapper.window.numberbox import NumberBox
from mapper.window.section import Section

if TYPE_CHECKING:
    from mapper.window.drawing import DrawTool
    from mapper.window.fencetools import BreakTool
    from mapper.window.window import MainWindow

CROPS = ("wheat", "barley", "canola", "oats", "lupins", "faba beans", "lentils", "chickpeas", "triticale")
HOW = "250 90 is length and bearing; easting northing or -36.2 141.6 a place"


class DrawPart(Section):
    """The drawing tool's fields."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window = window
        self._tool: DrawTool = window.canvas.tools["Draw a paddock"]  # type: ignore[assignment]
        tool = self._tool
        self.what = Choice("What is drawn")
        self.name, self.next = QLineEdit(), QLineEdit()
        self.crop = Choice("Crop burnt")
        self.crop.addItems(CROPS)
        self.break_width = NumberBox("Width of the break", 0.5, 100, may_be_empty=True)
        self.snap = NumberBox("Snap within", 0.5, 200)
        self.snap_on, self.square = Tick("Snap to fences and corners"), Tick("Square corners")
        for wide in (self.what, self.name, self.crop, self.next):
            wide.setFixedWidth(180)
        self.what.activated.connect(lambda _: tool.draw_what(str(self.what.currentData())))
        self.name.textEdited.connect(lambda text: setattr(tool, "paddock_name", text))
        self.crop.currentTextChanged.connect(lambda text: setattr(tool, "crop", text))
        self.break_width.valueChanged.connect(lambda _: setattr(tool, "width_m", self._width()))
        self.snap.valueChanged.connect(lambda v: setattr(tool, "snap_within_m", v))
        self.snap_on.toggled.connect(lambda on: setattr(tool, "snap_on", on))
        self.square.toggled.connect(lambda on: setattr(tool, "square", on))
        self.next.returnPressed.connect(self._set_next)
        self.next.textEdited.connect(lambda _: self._understand())
        window.canvas.typing_wanted.connect(self._begin_typing)
        self.field("Draw", self.what)
        self._named = self.field("Name", self.name)
        self._cropped = self.field("Crop burnt", self.crop)
        self._wide = Section(self._column)
        self._wide.field("Width of the break", self.break_width, "m")
        self.field("Next corner", self.next)
        self.understood = Words(HOW, "small")
        self.add(self.understood)
        self.field("Snap within", self.snap, "m")
        self.add(self.snap_on)
        self.add(self.square)
        self.rule()
        self.area, self.around, self.corners = (
            self.fact(words) for words in ("Area so far", "Round the outside", "Corners")
        )
        self.add(Words("Backspace takes back a corner. Arrow keys nudge it 1 m. Hold Alt for no snapping. Esc leaves "
                       "the drawing.", "small"))  # fmt: skip

    def _width(self) -> float:
        width = self.break_width.number()
        return width if width > 0 else 0.0

    def _begin_typing(self, text: str) -> None:
        self.next.setFocus()
        self.next.setText(text)
        self._understand()

    def _understand(self) -> None:
        """Say how the text typed so far is understood."""
        text = self.next.text().strip()
        if not text:
            self._say(HOW, "soft")
            return
        try:
            self._say(f"Enter: {self._tool.understand(text).words}", "ink")
        except MapperError as error:
            self._say(str(error), "warn")

    def _set_next(self) -> None:
        """Set the corner; with nothing typed Enter closes, as on the map."""
        text = self.next.text().strip()
        if not text:
            self._tool.close()
            return
        try:
            typed = self._tool.set_typed(text)
        except MapperError as error:
            self._say(str(error), "stop")
            return
        self.next.clear()
        self._say(f"Set: {typed.words}", "soft")
        self._window.canvas.setFocus()

    def _say(self, text: str, tone: str) -> None:
        self.understood.setText(text)
        self.understood.set_tone(tone)
        self.understood.style().polish(self.understood)

    def refresh(self) -> None:
        """Show the tool as it is now."""
        from mapper.window.things import drawn_kinds

        tool, kinds = self._tool, drawn_kinds()
        if self.what.count() == 0:
            for kind, drawn in kinds.items():
                self.what.addItem(drawn.words, kind)
        self.what.setCurrentIndex(self.what.findData(tool.kind))
        fields: tuple[tuple[bool, QWidget, QWidget], ...] = (
            (tool.kind not in {"hole", "break"}, self._named, self.name),
            (tool.kind == "paddock", self._cropped, self.crop), (tool.kind == "break", self._wide, self.break_width),
        )  # fmt: skip
        for on, label, field in fields:
            label.setVisible(on)
            field.setVisible(on)
        if not self.name.hasFocus():
            self.name.setText(tool.paddock_name)
        self.name.setPlaceholderText("" if tool.kind == "paddock" else "named by its kind")
        self.snap.set_number(tool.snap_within_m)
        self.snap_on.setChecked(tool.snap_on)
        self.square.setChecked(tool.square)
        area, along, corners = tool.figures()
        self.area.setText(f"{area:.1f} ha" if tool.shape == "area" else "a line")
        self.around.setText(f"{along:,.0f} m")
        self.corners.setText(str(corners))

    @property
    def enough(self) -> bool:
        """True where there are corners enough to close."""
        return len(self._tool.corners) >= (3 if self._tool.shape == "area" else 2)


class BreakPart(Section):
    """Fields of the tool that lays a break inside the fence."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        tool: BreakTool = window.canvas.tools["Break inside the fence"]  # type: ignore[assignment]
        self._tool = tool
        self.break_width = NumberBox("Width of the break", 0.5, 100)
        self.break_width.set_number(tool.width_m)
        self.break_width.valueChanged.connect(lambda v: setattr(tool, "width_m", v))
        self.field("Width of the break", self.break_width, "m")
        self.round = PushButton("All the way round")
        self.round.clicked.connect(lambda _=False: tool.make([]))
        self.add(self.round)
        self.add(Words("It counts as there from then on: lay only what is made, or will be before the burn.", "small"))
