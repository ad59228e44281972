"""Colours, sizes and the style sheet of the window, light and dark."""

from dataclasses import dataclass

from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication, QWidget

GAP_S, GAP_M, GAP_L, GAP_XL = 4, 8, 12, 16
RADIUS_S, RADIUS_M, RADIUS_L = 4, 6, 8
CONTROL_PX, PANEL_PX, TOP_PX, STATUS_PX = 32, 356, 57, 27
SMALL, BODY, HEAD, TITLE = 12, 13, 15, 20


@dataclass(frozen=True)
class Colours:
    """One set of colours by what they are for, as "#rrggbb"."""

    dark: bool
    panel: str
    page: str
    ground: str
    line: str
    ink: str
    soft: str
    faint: str
    act: str
    act_ink: str
    act_ground: str
    focus: str
    ok: str
    ok_ground: str
    warn: str
    warn_ground: str
    stop: str
    stop_ground: str
    note_ground: str
    edge: str


LIGHT = Colours(
    dark=False, panel="#FFFFFF", page="#F6F4EF", ground="#EFECE4", line="#DAD5CA", ink="#22201C", soft="#5A554B",
    faint="#857E70", act="#9A3B12", act_ink="#FFFFFF", act_ground="#F6E5DE", focus="#0B5CAD", ok="#1F6B41",
    ok_ground="#E2F0E6", warn="#6B4700", warn_ground="#FFF0CC", stop="#9B1C1C", stop_ground="#FBE3E0",
    note_ground="#E3EDF6", edge="#857E70",
)  # fmt: skip
DARK = Colours(
    dark=True, panel="#22211D", page="#191815", ground="#14130F", line="#3B3931", ink="#F0EDE6", soft="#B5AFA2",
    faint="#8C8679", act="#E8834F", act_ink="#22160F", act_ground="#3D281C", focus="#7DB8F0", ok="#7CC79A",
    ok_ground="#1C3526", warn="#F3CF7A", warn_ground="#3A2E10", stop="#F5A79E", stop_ground="#45201C",
    note_ground="#1C2B39", edge="#8C8679",
)  # fmt: skip


def colours(widget: QWidget) -> Colours:
    """Return the colours that fit the widget's palette."""
    return DARK if widget.palette().color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT


def palette_of(c: Colours) -> QPalette:
    """Return the Qt palette for a set of colours."""
    p, role, group = QPalette(), QPalette.ColorRole, QPalette.ColorGroup
    for r, value in (
        (role.Window, c.panel), (role.Base, c.panel), (role.AlternateBase, c.page), (role.Button, c.panel),
        (role.WindowText, c.ink), (role.Text, c.ink), (role.ButtonText, c.ink), (role.BrightText, c.act_ink),
        (role.Highlight, c.act), (role.HighlightedText, c.act_ink), (role.Accent, c.act), (role.Link, c.act),
        (role.ToolTipBase, c.ink), (role.ToolTipText, c.panel), (role.PlaceholderText, c.faint),
        (role.Mid, c.line), (role.Midlight, c.page), (role.Light, c.panel), (role.Dark, c.edge), (role.Shadow, c.ink),
    ):  # fmt: skip
        p.setColor(r, QColor(value))
    for r in (role.WindowText, role.Text, role.ButtonText):
        p.setColor(group.Disabled, r, QColor(c.faint))
    return p


def font_px(widget: QWidget, size_px: int, bold: bool = False) -> QFont:
    """Return the widget's font at a size on a 13 px body, so that a larger system text scales all of it."""
    font = QFont(widget.font())
    app = QApplication.font()
    scale = (app.pixelSize() if app.pixelSize() > 0 else BODY) / BODY
    font.setPixelSize(max(9, round(size_px * scale)))
    font.setBold(bold)
    return font


def style_sheet(c: Colours) -> str:
    """Return the style sheet for what is not painted by our own controls."""
    return f"""
    QMainWindow, QDialog {{ background: {c.panel}; }}
    QLabel {{ background: transparent; }}
    QLabel[tone="soft"] {{ color: {c.soft}; }}
    QLabel[tone="warn"] {{ color: {c.warn}; }}
    QLabel[tone="stop"] {{ color: {c.stop}; }}
    QPushButton[link] {{ background: transparent; border: none; font-weight: bold; text-decoration: underline;
        padding: 0 3px; }}
    QPushButton[link="ink"] {{ color: {c.ink}; }}
    QPushButton[link="act"] {{ color: {c.act}; text-align: left; padding: 4px; }}
    QPushButton[link="warn"] {{ color: {c.warn}; }}
    QPushButton[link="stop"] {{ color: {c.stop}; }}
    QPushButton[link]:focus {{ border: 2px solid {c.focus}; border-radius: {RADIUS_S}px; }}
    QToolTip {{ background: {c.ink}; color: {c.panel}; border: none; padding: 4px 7px; font-size: {SMALL}px; }}
    QLineEdit, QAbstractSpinBox, QComboBox, QPlainTextEdit, QDateEdit {{
        background: {c.panel}; color: {c.ink}; border: 1px solid {c.edge}; border-radius: {RADIUS_S}px;
        min-height: {CONTROL_PX - 4}px; padding: 0 8px; selection-background-color: {c.act};
        selection-color: {c.act_ink}; }}
    QLineEdit:focus, QAbstractSpinBox:focus, QComboBox:focus, QPlainTextEdit:focus, QDateEdit:focus {{
        border: 2px solid {c.focus}; padding: 0 7px; }}
    QLineEdit:disabled, QAbstractSpinBox:disabled, QComboBox:disabled {{
        color: {c.faint}; border-color: {c.line}; background: {c.page}; }}
    QLineEdit[wrong="true"], QAbstractSpinBox[wrong="true"] {{ border: 2px solid {c.stop}; }}
    QAbstractSpinBox QLineEdit {{ border: none; padding: 0; min-height: 0; background: transparent; }}
    QComboBox::drop-down {{ border: none; width: 26px; }}
    QComboBox::down-arrow {{ image: none; }}
    QComboBox QAbstractItemView, QMenu {{
        background: {c.panel}; color: {c.ink}; border: 1px solid {c.line}; border-radius: {RADIUS_M}px; padding: 4px;
        outline: none; }}
    QComboBox QAbstractItemView::item {{ min-height: 26px; padding: 0 6px; border-radius: {RADIUS_S}px; }}
    QComboBox QAbstractItemView::item:selected {{ background: {c.act_ground}; color: {c.ink}; }}
    QMenu::item {{ padding: 6px 26px 6px 12px; border-radius: {RADIUS_S}px; }}
    QMenu::item:selected {{ background: {c.act_ground}; }}
    QMenu::item:disabled {{ color: {c.faint}; }}
    QMenu::separator {{ height: 1px; background: {c.line}; margin: 4px 8px; }}
    QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}
    QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
    QScrollBar:horizontal {{ background: transparent; height: 10px; margin: 0; }}
    QScrollBar::handle {{ background: {c.line}; border-radius: 3px; margin: 2px; }}
    QScrollBar::handle:vertical {{ min-height: 28px; }}
    QScrollBar::handle:horizontal {{ min-width: 28px; }}
    QScrollBar::handle:hover {{ background: {c.faint}; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QTableView {{
        background: {c.panel}; color: {c.ink}; border: none; gridline-color: {c.line}; outline: none;
        selection-background-color: {c.act_ground}; selection-color: {c.ink}; }}
    QTableView:focus {{ border: 2px solid {c.focus}; border-radius: {RADIUS_S}px; }}
    QHeaderView {{ background: {c.panel}; border: none; }}
    QHeaderView::section {{
        background: {c.panel}; color: {c.soft}; border: none; border-bottom: 1px solid {c.line}; padding: 4px 6px;
        font-size: {SMALL}px; }}
    QTableCornerButton::section {{ background: {c.panel}; border: none; }}
    QHeaderView#hourLabels::section {{ border: none; padding: 0 0 0 {GAP_XL}px; color: {c.ink}; }}
    QProgressBar {{ background: {c.line}; border: none; border-radius: 3px; max-height: 6px; min-height: 6px; }}
    QProgressBar::chunk {{ background: {c.act}; border-radius: 3px; }}
    """


def dress(app: QApplication, dark: bool) -> None:
    """Give the whole program its palette and style sheet."""
    c = DARK if dark else LIGHT
    app.setPalette(palette_of(c))
    app.setStyleSheet(style_sheet(c))
