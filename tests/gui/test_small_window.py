"""A small window with large text: what there is no room for scrolls, nothing is cut off.

Source: WCAG 2.2, success criterion 1.4.4: text grows to 200 % without loss of content.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from PySide6.QtCore import QPoint, QRect, QRectF, Qt
from PySide6.QtWidgets import QApplication, QBoxLayout, QPushButton, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Unplaced
from lasernest.gui.board.legend import Sign, _rows
from lasernest.gui.board.play_bar import PlayBar
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import FigureRow, Text, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job, JobPanel, Setup
from lasernest.joints.case import CaseSpec
from lasernest.services.commands import KeepPlan
from lasernest.services.joint_making import AddCase
from tests.gui.helpers import arrange, wait_for

_NO_BAR = Qt.ScrollBarPolicy.ScrollBarAlwaysOff


@pytest.fixture
def small(qtbot: QtBot, sheets: Window) -> Window:
    """The smallest screen that is usual, text twice as large, a plan of two sheets."""
    plan = sheets.desk.job.plan
    assert plan is not None
    sheets.desk.do(KeepPlan(plan.__class__((*plan.sheets, *plan.sheets))))
    theme.choose(text_scale=2.0)
    sheets.resize(1024, 700)
    return sheets


def _place(part: QWidget, within: QWidget) -> QRect:
    return QRect(part.mapTo(within, QPoint(0, 0)), part.size())


def _out_of_reach(part: QWidget, window: Window) -> bool:
    """Whether a part lies where no scrolling brings it into sight."""
    around = part.parentWidget()
    while around is not None and around is not window:
        area = around.parentWidget()
        if isinstance(area, QScrollArea) and around is area.viewport():
            inner, view = area.widget(), area.viewport()
            wide = inner.width() > view.width() + 1
            high = inner.height() > view.height() + 1
            if wide and area.horizontalScrollBarPolicy() is _NO_BAR:
                return True
            if high and area.verticalScrollBarPolicy() is _NO_BAR:
                return True
            if not inner.rect().contains(_place(part, inner)):
                return True
            part = area
        around = around.parentWidget()
    return not window.rect().contains(_place(part, window))


@pytest.mark.parametrize("step", list(Step))
def test_everything_can_be_reached(qtbot: QtBot, small: Window, step: Step) -> None:
    small.show_guide()  # wider than the board; it must not push the card away afterwards
    small.go_to(step)
    qtbot.waitUntil(lambda: theme.pixels(10) == 20)
    QApplication.sendPostedEvents()
    stops = [
        part
        for part in small.findChildren(QWidget)
        if part.isVisible() and part.focusPolicy() & Qt.FocusPolicy.TabFocus
    ]
    assert len(stops) > 8
    lost = {
        f"{type(part).__name__} {part.accessibleName()}"
        for part in stops
        if _out_of_reach(part, small)
    }
    assert lost == set()


def test_the_board_does_not_scroll_sideways(qtbot: QtBot, small: Window) -> None:
    qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)  # all parts have their size
    wide = {}
    for step in (Step.OUTLINES, Step.SHEETS, Step.CUT_FILE):
        small.go_to(step)
        QApplication.sendPostedEvents()
        wide[step] = small.board._drawing.horizontalScrollBar().maximum()
        assert not small.board.is_empty
    assert set(wide.values()) == {0}, wide


def test_a_joint_drawn_large_does_not_scroll_sideways(qtbot: QtBot, small: Window) -> None:
    stock = small.desk.job.setup.stock
    small.desk.workbench.new(AddCase(CaseSpec(200, 120, 80, 3)).apply(Job(setup=Setup(stock))))
    small.go_to(Step.JOINTS)
    wait_for(qtbot, small, "joints", "fold", "stand")
    small.joints.list.choose(0)
    qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
    QApplication.sendPostedEvents()
    assert small.joints.drawing.switch.isVisible()
    sideways = small.board._drawing.horizontalScrollBar()
    qtbot.waitUntil(lambda: sideways.maximum() == 0)


def test_with_large_text_a_card_leaves_the_drawing_nearly_half_of_the_window(
    qtbot: QtBot, small: Window
) -> None:
    small.go_to(Step.SHEETS)
    card, board = small.page.card, small.board
    qtbot.waitUntil(lambda: (card.width(), board.width()) == (540, 1024 - 12 - 12 - 540 - 12))
    small.resize(1280, 800)
    qtbot.waitUntil(lambda: card.width() == 616)
    theme.choose(text_scale=1.0)
    qtbot.waitUntil(lambda: card.width() == 308)


@pytest.mark.parametrize(("width", "rows"), [(560, 1), (420, 2), (230, 4)])
def test_what_plays_the_cut_wraps_and_nothing_lies_over_another(
    qtbot: QtBot, width: int, rows: int
) -> None:
    around, bar = QWidget(), PlayBar()
    qtbot.addWidget(around)
    column = vertical(around)
    column.addWidget(bar)
    column.addStretch(1)
    bar.show()
    bar.take(1040.0)
    around.resize(width, 400)
    around.show()
    QApplication.sendPostedEvents()
    assert bar.width() == width
    parts = [bar.play_button, bar.scrub, bar.time, bar.speed, bar.kerf_button]
    for one, other in combinations(parts, 2):
        assert not one.geometry().intersects(other.geometry())
    assert all(bar.rect().contains(part.geometry()) for part in parts)
    tops = sorted(part.geometry().center().y() for part in parts)
    assert 1 + sum(b - a > 6 for a, b in pairwise(tops)) == rows


def test_a_centred_row_stands_in_the_middle(qtbot: QtBot) -> None:
    """Buttons of 60, two in a row of 150 with a gap of 10: 10 is free at both sides.

    The second is lower by 6: 3 are free above it and below.
    """
    around = QWidget()
    qtbot.addWidget(around)
    flow = FlowLayout(around, gap=10, centred=True)
    for high in (20, 14, 20):
        part = QPushButton()
        part.setFixedSize(60, high)
        flow.addWidget(part)
    around.resize(150, 50)
    around.show()
    corners = [part.pos() for part in around.findChildren(QPushButton)]
    assert corners == [QPoint(10, 0), QPoint(80, 3), QPoint(45, 30)]
    assert flow.heightForWidth(150) == 50


def test_no_sign_is_left_out_of_a_narrow_legend() -> None:
    signs = (Sign.OUTER, Sign.INNER, Sign.SCORE, Sign.ENGRAVE, Sign.KERF)
    assert len(_rows(signs, 2000.0)) == 1
    narrow = _rows(signs, 10.0)
    assert [sign for row in narrow for sign, _width in row] == list(signs)
    assert len(narrow) == len(signs)


@pytest.mark.parametrize(
    ("scale", "width", "high"),
    [(1.0, 1280, 800), (2.0, 1280, 800), (2.0, 1024, 700), (2.0, 920, 600)],
)
def test_no_card_is_wider_than_its_view(
    qtbot: QtBot, sheets: Window, scale: float, width: int, high: int
) -> None:
    theme.choose(text_scale=scale)
    sheets.resize(width, high)
    wide = {}
    for step in Step:
        sheets.go_to(step)
        qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
        QApplication.sendPostedEvents()
        (area,) = [a for a in sheets.page.card.findChildren(QScrollArea) if a.isVisible()][:1]
        wide[step] = area.widget().width() - area.viewport().width()
    assert wide == dict.fromkeys(Step, 0)


def test_a_long_figure_takes_a_second_line(qtbot: QtBot) -> None:
    row = FigureRow("Press fit at", "0.100 mm")
    qtbot.addWidget(row)
    one_line = row.heightForWidth(240)
    row.set_value("0.102 mm (0.054 to 0.150)")
    assert row.minimumSizeHint().width() < 240
    assert row.heightForWidth(600) == one_line
    assert row.heightForWidth(240) > one_line


@pytest.mark.parametrize("step", [Step.SHEETS, Step.CUT_FILE])
def test_a_low_window_leaves_more_than_half_of_the_board_to_the_drawing(
    qtbot: QtBot, small: Window, step: Step
) -> None:
    small.go_to(step)
    qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
    canvas = small.board.canvas
    qtbot.waitUntil(lambda: canvas.height() >= 0.54 * small.board.height() and canvas.settled)
    # The sheet of 600 x 400 mm is as wide as the board lets it be.
    sheet = canvas.view.rect_to_screen(QRectF(0, 0, 600, 400))
    assert sheet.width() > 0.6 * canvas.width()
    assert {tile.height() for tile in small.tiles.tiles.values()} == {theme.pixels(60)}
    assert small.menu_tile.height() == theme.pixels(60)
    assert small.strip._small[0].height() == theme.pixels(32)


def test_a_high_window_has_pictures_and_all_lines(qtbot: QtBot, small: Window) -> None:
    small.resize(1280, 900)
    theme.choose(text_scale=1.0)
    small.go_to(Step.SHEETS)
    qtbot.waitUntil(lambda: small.strip._small[0].height() == 64)
    qtbot.waitUntil(lambda: {t.height() for t in small.tiles.tiles.values()} == {74})
    assert small.board.canvas.minimumHeight() == 140


def test_the_case_goes_below_the_joint_where_the_board_is_narrow(
    qtbot: QtBot, small: Window
) -> None:
    board = small.board
    small.resize(1280, 800)
    qtbot.waitUntil(lambda: board.beside.direction() is QBoxLayout.Direction.TopToBottom)
    theme.choose(text_scale=1.0)
    qtbot.waitUntil(lambda: board.beside.direction() is QBoxLayout.Direction.LeftToRight)


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("parted_by", [" ", "_", ""])
def test_long_names_make_no_card_wider(
    qtbot: QtBot, window: Window, scale: float, parted_by: str
) -> None:
    name = parted_by.join(["seed", "cabinet", "drawer", "front", "revision", "eight"] * 2)
    panel = Panel.of(name, Contour.rectangle(0, 0, 60, 40))
    window.desk.workbench.new(
        Job(name, (JobPanel(panel),), setup=Setup(window.desk.job.setup.stock))
    )
    arrange(qtbot, window)
    plan = window.desk.job.plan
    assert plan is not None
    unplaced = (Unplaced(name, 1, f"{name} fits on no sheet"),)
    window.desk.do(KeepPlan(replace(plan, unplaced=unplaced)))
    theme.choose(text_scale=scale)
    window.resize(1024, 700)
    window.outlines.list.choose([name])
    window.desk.trouble(Step.OUTLINES, f"{name}.dxf", FileNotFoundError(f"{name}.dxf"))
    for step in (Step.OUTLINES, Step.SHEETS, Step.CUT_FILE):
        window.go_to(step)
        if step is Step.SHEETS:
            window.sheets.scene_of_sheet.choose(frozenset({(name, 1)}))
            window.sheets.refresh()
        qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
        QApplication.sendPostedEvents()
        area = window.page.card._scroll
        assert area.widget().width() <= area.viewport().width(), step


def test_a_long_word_is_said_as_it_is(qtbot: QtBot) -> None:
    name = "moth_case_walls_of_birch_revision_8.dxf"
    text = Text(name, wrap=True)
    qtbot.addWidget(text)
    assert text.text() == name
    text.setText(f"{name} is here")
    assert text.text() == f"{name} is here"
    in_one_line = Text(name)
    qtbot.addWidget(in_one_line)
    assert text.minimumSizeHint().width() < in_one_line.minimumSizeHint().width() / 2
