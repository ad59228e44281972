"""A farm from nothing: its name and where it lies, so that there is a grid to draw on."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QFormLayout, QHBoxLayout, QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window import looks
from mapper.window.controls import PushButton, Words
from mapper.window.numberbox import NumberBox
from mapper.window.remarks import Cards

if TYPE_CHECKING:
    from mapper.farm.farm import Farm
    from mapper.window.window import MainWindow


class NewFarm(QDialog):
    """Asks for name, latitude and longitude; `made` holds the farm and its middle (grid metres)."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self.made: tuple[Farm, tuple[float, float]] | None = None
        self.setWindowTitle("A new farm")
        self.setMinimumWidth(440)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 18, 20, 16)
        column.setSpacing(looks.GAP_M)
        column.addWidget(Words("A new farm", "title"))
        column.addWidget(
            Words("Where does it lie? The nearest tenth of a degree is near enough to begin with.", "soft")
        )
        self.errors = Cards()
        column.addWidget(self.errors)
        self.name = QLineEdit("My farm")
        self.lat = NumberBox("Latitude, south is minus", -80, 84, 5)
        self.lon = NumberBox("Longitude, west is minus", -180, 180, 5)
        self.lat.setValue(-36.2)
        self.lon.setValue(141.6)
        form = QFormLayout()
        form.addRow("Name", self.name)
        for words, box in (("Latitude, south is minus", self.lat), ("Longitude, west is minus", self.lon)):
            box.setFixedWidth(120)
            form.addRow(words, box)
        self.name.setAccessibleName("Name")
        column.addLayout(form)
        row = QHBoxLayout()
        row.addStretch(1)
        leave, make = PushButton("Leave it"), PushButton("Draw here", act=True)
        leave.clicked.connect(self.reject)
        make.clicked.connect(self.make)
        row.addWidget(leave)
        row.addWidget(make)
        column.addLayout(row)

    def make(self) -> None:
        """Make the farm, or say what is wrong."""
        from mapper.farm.crs import Grid, metric_crs
        from mapper.farm.farm import empty_farm
        from mapper.files.limits import starting_limits
        from mapper.files.zone import zone_at

        lon, lat = self.lon.number(), self.lat.number()
        try:
            grid = Grid(metric_crs(lon, lat))
            farm = empty_farm(grid, zone_at(lon, lat), self.name.text().strip() or "My farm")
            farm = farm.with_(limits=starting_limits())
        except MapperError as error:
            self.errors.show_items([("stop", str(error), None)])
            return
        e, n = grid.from_lonlat(lon, lat)
        self.made = (farm, (float(e), float(n)))
        self.accept()


def ask_new_farm(window: "MainWindow") -> "tuple[Farm, tuple[float, float]] | None":
    """Ask; return the farm and its middle, or None where the user leaves."""
    dialog = NewFarm(window)
    dialog.exec()
    return dialog.made
