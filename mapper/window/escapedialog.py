"""A fire that got away: what is asked for, written as far as it is known."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFormLayout, QLineEdit, QWidget

from mapper.farm.errors import MapperError
from mapper.window.controls import Words
from mapper.window.dialog import Dialog
from mapper.window.nightbook import NightBook
from mapper.window.numberbox import read_number

if TYPE_CHECKING:
    from mapper.record.entry import Entry


class EscapeDialog(Dialog):
    """Fields of one escape. keep(body, at) is called with what was written; times are clock times of the night."""

    def __init__(
        self,
        parent: QWidget,
        name: str,
        book: NightBook,
        keep: Callable[[dict[str, Any], datetime | None], None],
        before: "Entry | None" = None,
    ) -> None:
        lead = "Write what is known now and the rest later. The permit and the local code say what is asked for."
        super().__init__(parent, f"Fire that got away: {name}", lead, "Leave it", "Keep it")
        self._name, self._book, self._keep = name, book, keep
        inside = QWidget()
        form = QFormLayout(inside)
        self.fields: dict[str, QLineEdit] = {}
        known: dict[str, Any] = dict(before.body) if before is not None else {}
        if before is not None and before.at is not None:
            known["noticed_at"] = book.clock(before.at)
        assert book.record is not None
        for field in book.record.escape_fields:
            line = self.fields[field.key] = QLineEdit(str(known.get(field.key) or ""))
            line.setAccessibleName(field.label)
            line.setToolTip(field.source)
            if field.key.endswith("_at"):
                line.setPlaceholderText("20:41")
            form.addRow(Words(field.label, wrap=False), line)
        self._more = {k: v for k, v in known.items() if k not in self.fields}
        self.scrolled(inside)
        self.add_buttons()
        self.resize(560, 620)

    def take(self) -> None:
        """Keep what was written."""
        said = {key: line.text().strip() for key, line in self.fields.items()}
        try:
            at = self._book.moment(said.pop("noticed_at", ""))
            area = said.get("area_ha", "")
            if area and read_number(area) is None:
                raise MapperError(f"{area!r} is not a number of hectares", "Area burnt", "Write for example 0.2")
            body = {**self._more, "name": self._name, **{k: v for k, v in said.items() if v}}
            if area:
                body["area_ha"] = read_number(area)
            self._keep(body, at)
        except MapperError as error:
            self.fail(error)
            return
        self.accept()
