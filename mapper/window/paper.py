"""The sheets: which there are, looking at them, writing them as PDF."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFileDialog

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from mapper.window.window import MainWindow


class Paper:
    """Prints only a plan with nothing out of date."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session, self.jobs = window, window.session, window.jobs

    def sheet_list(self) -> list[tuple[str, str]]:
        """Return the sheets of the plan, title and paper, once they are laid out."""
        return [] if self.session.plan is None else self._window.pages.sheets

    def show_sheet(self, k: int = -1) -> None:
        """Show a sheet in the middle (the one shown, on other paper, where none is named)."""
        if self.session.plan is not None:
            self._window.pages.show_plan(self.session.plan, self._window.panels["sheets"].paper.currentText(), k)  # type: ignore[attr-defined]

    def save_pdf(self) -> None:
        """Ask for a folder and write the sheets into it."""
        if self.session.may_print:
            folder = QFileDialog.getExistingDirectory(self._window, "Save the sheets in", self._window.files.folder())
            if folder:
                self.write_sheets(folder)

    def print_sheets(self) -> None:
        """Ask for a printer and print all sheets, each on its own paper."""
        if not self.session.may_print:
            return
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, self._window)
        dialog.setWindowTitle("Print the sheets")
        if dialog.exec():
            self.print_on(printer)

    def print_on(self, printer: "QPrinter") -> None:
        """Print all sheets on a printer that has been chosen, off the GUI thread."""
        plan, paper = self.session.plan, self._window.panels["sheets"].paper.currentText()  # type: ignore[attr-defined]
        if plan is None or not self.session.may_print:
            return

        def work(progress: Any, cancelled: Any) -> int:
            from mapper.sheets.book import sheets_of
            from mapper.window.printing import print_sides

            return print_sides(sheets_of(plan, paper), printer, progress, cancelled)

        self.session.said.emit("Printing ...")
        self.jobs.start("sheets", work, self._printed, lambda e: self.session.fail("sheets", e),
                        lambda done, total: self.session.said.emit(f"Printing, {done} of {total} sides"))  # fmt: skip

    def _printed(self, sides: int) -> None:
        self.session.printed = True
        self.session.said.emit(f"{sides} sides went to the printer.")
        self.session.plan_changed.emit()

    def write_sheets(self, folder: str) -> None:
        """Write the sheets as PDF off the GUI thread."""
        plan, paper = self.session.plan, self._window.panels["sheets"].paper.currentText()  # type: ignore[attr-defined]
        if plan is None or not self.session.may_print:
            return

        def work(progress: Any, cancelled: Any) -> list[Path]:
            from mapper.sheets.book import print_plan

            return list(print_plan(plan, Path(folder), paper))

        self.session.said.emit("Writing the sheets ...")
        self.jobs.start("sheets", work, self._written, lambda e: self.session.fail("sheets", e))

    def _written(self, paths: list[Path]) -> None:
        self.session.printed = True
        self.session.said.emit(f"{len(paths)} files in {paths[0].parent}." if paths else "Nothing to print.")
        self.session.plan_changed.emit()

    # The record of a night -----------------------------------------------------------------------------------------

    def print_record(self) -> None:
        """Ask whether the record goes to files or to a printer."""
        from mapper.window.ask import Question

        lines = ["The record, a page for each fire that got away, and where to look in the next crop."]
        answers = {"stay": "Leave it", "printer": "On a printer", "files": "As files"}
        question = Question(self._window, "Print the record?", lines, answers, "files")
        question.exec()
        if question.answer == "files":
            folder = QFileDialog.getExistingDirectory(self._window, "Save the record in", self._window.files.folder())
            if folder:
                self.write_record(folder)
        elif question.answer == "printer":
            from PySide6.QtPrintSupport import QPrintDialog, QPrinter

            printer = QPrinter(QPrinter.PrinterMode.HighResolution)
            if QPrintDialog(printer, self._window).exec():
                self.print_record_on(printer)

    def write_record(self, folder: str) -> None:
        """Write the record's pages, layers and places into a folder, off the GUI thread."""
        record, now = self.session.book.record, self.session.now()
        if record is None:
            return

        def work(progress: Any, cancelled: Any) -> list[Path]:
            from mapper.files.recordout import write_record
            from mapper.sheets.recordbook import print_record

            return [*print_record(record, Path(folder), now), *write_record(record, Path(folder))]

        self.session.said.emit("Writing the record ...")
        self.jobs.start("record", work, lambda paths: self.session.said.emit(f"{len(paths)} files in {folder}."),
                        lambda e: self.session.fail("record", e))  # fmt: skip

    def print_record_on(self, printer: "QPrinter") -> None:
        """Print the record's pages on a printer that has been chosen, off the GUI thread."""
        record, now = self.session.book.record, self.session.now()
        if record is None:
            return

        def work(progress: Any, cancelled: Any) -> int:
            from mapper.sheets.recordbook import record_sheets
            from mapper.window.printing import print_sides

            return print_sides(record_sheets(record, now), printer, progress, cancelled)

        self.jobs.start("record", work, lambda n: self.session.said.emit(f"{n} sides went to the printer."),
                        lambda e: self.session.fail("record", e))  # fmt: skip
