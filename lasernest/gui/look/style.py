"""The style sheet of the window, made from a palette.

Kinds of widgets are told by the property `kind`: buttons are `main`, `plain`
or `link` (`flush` where their text stands in line with others); frames are `card`,
`question`, `error` or `note`.
"""

from __future__ import annotations

from lasernest.gui.look.palette import Palette


def style_sheet(p: Palette, text_scale: float = 1.0) -> str:
    """The style sheet for one palette; heights grow with the text."""
    control, tick = round(28 * text_scale), round(14 * text_scale)
    handle = 2 * round(6 * text_scale)  # with a border of 2 px on each side of it
    return f"""
QWidget {{ color: {p.ink}; }}
QDialog {{ background: {p.paper}; }}
QToolTip {{
    color: {p.ink}; background: {p.card}; border: 1px solid {p.card_border}; padding: 4px 8px;
}}

QFrame[kind="card"] {{
    background: {p.card}; border: 1px solid {p.card_border}; border-radius: 7px;
}}
QFrame[kind="float"] {{
    background: {p.card}; border: 2px solid {p.accent}; border-radius: 8px;
}}
QFrame[kind="question"] {{
    background: {p.question_ground}; border: 1px solid {p.question_border}; border-radius: 7px;
}}
QFrame[kind="error"] {{
    background: {p.bad_ground}; border: 1px solid {p.bad_border}; border-radius: 7px;
}}
QFrame[kind="note"] {{
    background: {p.hover}; border: 1px solid {p.rule}; border-radius: 7px;
}}
QFrame[kind="rule"] {{ background: {p.rule}; border: none; max-height: 1px; min-height: 1px; }}
QLabel {{ background: transparent; border: none; }}
QLabel[kind="quiet"] {{ color: {p.quiet}; }}
QLabel[kind="good"] {{ color: {p.good}; }}
QLabel[kind="accent"] {{ color: {p.accent}; }}
QLabel[kind="question"] {{
    color: {p.question}; background: transparent; border: none; border-radius: 0;
}}
QLabel[kind="bad"] {{ color: {p.bad}; }}

QPushButton {{
    background: {p.card}; color: {p.ink}; border: 1px solid {p.field_border};
    border-radius: 6px; padding: 0 12px; min-height: {control - 2}px; outline: none;
}}
QPushButton:hover {{ background: {p.hover}; }}
QPushButton:pressed {{ background: {p.chosen}; }}
QPushButton:focus {{ border: 2px solid {p.accent}; padding: 0 11px; min-height: {control - 4}px; }}
QPushButton:disabled {{
    color: {p.quiet}; background: {p.hover}; border: 1px solid {p.rule};
}}
QPushButton:checked {{ background: {p.chosen}; border-color: {p.accent}; }}
QPushButton[taken="true"] {{ border-color: {p.accent}; background: {p.chosen}; }}
QPushButton[kind="main"] {{
    background: {p.accent_ground}; color: {p.on_accent}; border: 1px solid {p.accent_ground};
    min-height: {control + 4}px;
}}
QPushButton[kind="main"]:hover {{
    background: {p.accent_hover}; border-color: {p.accent_hover};
}}
QPushButton[kind="main"]:focus {{ border: 2px solid {p.ink}; min-height: {control + 2}px; }}
QPushButton[kind="main"]:disabled {{
    background: {p.hover}; color: {p.quiet}; border: 1px solid {p.rule};
}}
QPushButton[kind="link"] {{
    background: transparent; border: 1px solid transparent; color: {p.accent};
    padding: 0 4px; min-height: {control - 8}px; text-align: left;
}}
QPushButton[kind="link"]:hover {{ background: {p.hover}; }}
QPushButton[kind="link"]:disabled {{ color: {p.quiet}; }}
QPushButton[kind="link"]:checked {{ background: {p.chosen}; border-color: {p.accent}; }}
QPushButton[kind="link"]:focus {{
    border: 2px solid {p.accent}; padding: 0 3px; min-height: {control - 10}px;
}}
QPushButton[kind="link"][flush="true"] {{
    border: 0 solid transparent; border-radius: 0; padding: 0; min-height: {control - 4}px;
}}
QPushButton[kind="link"][flush="true"]:hover {{ background: {p.hover}; }}
QPushButton[kind="link"][flush="true"]:focus {{
    border-bottom: 2px solid {p.accent}; min-height: {control - 6}px;
}}
QPushButton::menu-indicator {{ image: none; width: 0; }}

QToolButton:focus {{ border: 2px solid {p.accent}; border-radius: 4px; }}

QLineEdit, QPlainTextEdit {{
    background: {p.field}; color: {p.ink}; border: 1px solid {p.field_border};
    border-radius: 6px; padding: 0 8px; min-height: {control - 4}px;
    selection-background-color: {p.accent_ground}; selection-color: {p.on_accent};
}}
QLineEdit:hover, QComboBox:hover {{ border-color: {p.quiet}; }}
QLineEdit:focus {{ border: 2px solid {p.accent}; padding: 0 7px; min-height: {control - 6}px; }}
QLineEdit[wrong="true"] {{ border: 2px solid {p.bad}; padding: 0 7px;
    min-height: {control - 6}px; }}
QLineEdit:disabled {{ color: {p.quiet}; background: {p.hover}; }}

QComboBox {{
    background: {p.field}; color: {p.ink}; border: 1px solid {p.field_border};
    border-radius: 6px; padding: 0 0 0 8px; min-height: {control - 4}px;
}}
QComboBox:focus {{ border: 2px solid {p.accent}; padding: 0 0 0 7px;
    min-height: {control - 6}px; }}
QComboBox:disabled {{ color: {p.quiet}; background: {p.hover}; }}
QComboBox::drop-down {{ border: none; width: 20px; }}
QComboBox::down-arrow {{ image: none; width: 0; height: 0; }}
QComboBox QAbstractItemView, QMenu, QListView[kind="popup"] {{
    background: {p.card}; color: {p.ink}; border: 1px solid {p.card_border};
    selection-background-color: {p.chosen}; selection-color: {p.ink}; outline: none;
}}
QComboBox QAbstractItemView::item {{ padding: 4px 8px; min-height: {control - 8}px; }}
QMenu {{ padding: 4px; }}
QMenu::item {{ padding: 5px 24px 5px 12px; border-radius: 4px; background: transparent; }}
QMenu::item:selected {{ background: {p.chosen}; }}
QMenu::item:disabled {{ color: {p.quiet}; }}
QMenu::separator {{ height: 1px; background: {p.rule}; margin: 4px 8px; }}

QCheckBox, QRadioButton {{ spacing: 8px; background: transparent; }}
QCheckBox::indicator {{
    width: {tick}px; height: {tick}px; border: 1px solid {p.field_border}; border-radius: 4px;
    background: {p.field};
}}
QCheckBox::indicator:checked {{
    background: {p.accent_ground}; border-color: {p.accent_ground};
}}
QCheckBox::indicator:focus {{ border: 2px solid {p.accent}; }}
QCheckBox:focus {{ color: {p.accent}; }}

QListView, QTreeView, QTableView {{
    background: transparent; border: none; outline: none;
    selection-background-color: {p.chosen}; selection-color: {p.ink};
}}
QListView {{ background: {p.card}; }}
QListWidget, QFileDialog QListView {{ background: transparent; }}
QListWidget[kind="rows"]::item {{ padding: 5px 8px; border-radius: 5px; }}
QListWidget[kind="rows"]::item:hover {{ background: {p.hover}; }}
QListWidget[kind="rows"]::item:selected {{ background: {p.chosen}; color: {p.ink}; }}
QListWidget[kind="rows"]::item:selected:active {{ border: 1px solid {p.accent}; }}
QHeaderView::section {{
    background: transparent; color: {p.quiet}; border: none; padding: 4px 8px;
}}

QScrollArea, QScrollArea > QWidget > QWidget[kind="scrolled"] {{
    background: transparent; border: none;
}}
QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 10px; margin: 0; }}
QScrollBar::handle {{ background: {p.faint}; border-radius: 3px; margin: 2px; }}
QScrollBar::handle:vertical {{ min-height: 32px; }}
QScrollBar::handle:horizontal {{ min-width: 32px; }}
QScrollBar::handle:hover {{ background: {p.quiet}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}

QProgressBar {{
    background: {p.rule}; border: none; border-radius: 3px; min-height: 6px; max-height: 6px;
}}
QProgressBar::chunk {{ background: {p.accent_ground}; border-radius: 3px; }}

QSlider {{ min-height: {handle + 8}px; }}
QSlider::groove:horizontal {{ height: 6px; background: {p.rule}; border-radius: 3px; }}
QSlider::sub-page:horizontal {{ background: {p.accent_ground}; border-radius: 3px; }}
QSlider::handle:horizontal {{
    background: {p.card}; border: 2px solid {p.accent_ground}; width: {handle}px;
    height: {handle}px; margin: -{handle // 2 - 1}px 0; border-radius: {handle // 2 + 2}px;
}}
QSlider:focus {{ outline: none; }}
QSlider::handle:horizontal:focus {{ border-color: {p.ink}; }}
QTextBrowser {{ background: {p.card}; border: 1px solid {p.card}; border-radius: 4px; }}
QTextBrowser:focus {{ border: 1px solid {p.accent}; }}
"""
