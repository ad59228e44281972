"""The Sheets step: what will be printed, on which paper, into which folder."""

from zoneinfo import ZoneInfo

from mapper.window.controls import Choice, Words
from mapper.window.panel import StepPanel
from mapper.window.section import Section
from mapper.window.tables import PlainTable


class SheetsPanel(StepPanel):
    """Fields of the last step."""

    step, title = "sheets", "Sheets"
    quiet, act = "Save as PDF", "Print"

    def build(self) -> None:
        """Sheets, paper, how many are told."""
        self._part = Section(self.body)
        self.table = PlainTable("Sheets", ("Sheet", "Paper"), (0, 92))
        self.table.chosen.connect(self.window_.paper.show_sheet)
        self._part.add(self.table)
        self.paper = Choice("Paper")
        self.paper.addItems(["A4", "A3"])
        self.paper.setFixedWidth(120)
        self.paper.currentTextChanged.connect(lambda _: self.window_.paper.show_sheet())
        self._part.field("Paper", self.paper)
        self._part.rule()
        self.told = Words("", "body")
        self._part.add(self.told)

    def refresh(self) -> None:
        """Show what there is to print."""
        plan = self.session.plan
        self._part.setVisible(plan is not None)
        for button in (self.quiet_button, self.act_button):
            button.setEnabled(self.session.may_print)
        if plan is None:
            self.lead_words.setText("There is no plan to print yet. Work out the order first.")
            return
        made = plan.made_at.astimezone(ZoneInfo(plan.farm.zone))
        fresh = "" if self.session.may_print else " It is out of date: work it out again before printing."
        self.lead_words.setText(f"Everything on paper says plan {plan.number}, made {made:%H:%M}.{fresh}")
        told = int((plan.tell["told_at"] != "").sum())
        self.told.setText(f"{told} of {len(plan.tell)} people are told; the Order step keeps the list.")
        self.table.show_rows(list(self.window_.paper.sheet_list()), most=7)

    def on_quiet(self) -> None:
        """Save the sheets as PDF."""
        self.window_.paper.save_pdf()

    def on_act(self) -> None:
        """Print the sheets."""
        self.window_.paper.print_sheets()
