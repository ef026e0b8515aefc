"""The cut is played, scrubbed and stepped through; the swept kerf is shown."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QImage, QPainter
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import PathKind
from lasernest.gui.board.play_bar import PlayBar
from lasernest.gui.board.shapes import partial_path
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import SetMargin
from lasernest.services.cut_timeline import CutTimeline, Doing


def _prepared(qtbot: QtBot, window: Window) -> CutTimeline:
    bar = window.sheets.player.bar
    qtbot.mouseClick(bar.play_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bar.playing, timeout=20_000)
    bar.pause()
    timeline = window.sheets.player.timeline
    assert timeline is not None
    return timeline


def test_playing_goes_on_and_pauses(qtbot: QtBot, sheets: Window) -> None:
    bar, scene = sheets.sheets.player.bar, sheets.sheets.scene_of_sheet
    assert bar.isVisible()
    assert not bar.scrub.isEnabled()
    qtbot.mouseClick(bar.play_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bar.seconds > 2.0, timeout=20_000)
    assert bar.play_button.text() == "Pause"
    assert scene.is_played
    assert scene.played is not None
    assert scene.played.moment.seconds == pytest.approx(bar.seconds)
    assert " of " in bar.time.text()
    sheets.play_cut()
    assert not bar.playing
    assert bar.play_button.text() == "Play the cut"
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Escape)
    assert not scene.is_played
    assert bar.seconds == 0.0


def test_scrubbing_shows_any_moment(qtbot: QtBot, sheets: Window) -> None:
    timeline = _prepared(qtbot, sheets)
    bar, scene = sheets.sheets.player.bar, sheets.sheets.scene_of_sheet
    scrub = bar.scrub
    assert scrub.maximum() == round(timeline.total_s * 1000)
    qtbot.mouseClick(
        scrub, Qt.MouseButton.LeftButton, pos=QPoint(scrub.width() // 2, scrub.height() // 2)
    )
    assert bar.seconds == pytest.approx(timeline.total_s / 2, rel=0.02)
    assert scene.played is not None
    assert scene.played.moment == timeline.moment(bar.seconds)
    qtbot.keyClick(scrub, Qt.Key.Key_End)
    assert scene.played.moment.doing is Doing.DONE
    count = len(timeline.paths)
    assert scene.caption()[1].startswith(f"{count} of {count} done · x ")


def test_page_keys_step_by_cuts(qtbot: QtBot, sheets: Window) -> None:
    timeline = _prepared(qtbot, sheets)
    bar, scene = sheets.sheets.player.bar, sheets.sheets.scene_of_sheet
    bar.go_to(timeline.start_s(1) + 0.01)
    qtbot.keyClick(bar.scrub, Qt.Key.Key_PageDown)
    assert bar.seconds == pytest.approx(timeline.start_s(2), abs=1e-3)
    name = timeline.paths[2].panel_name
    assert scene.caption()[1].startswith(f"3 of {len(timeline.paths)} · {name} 1 · moving on · x ")
    qtbot.keyClick(bar.scrub, Qt.Key.Key_PageUp)
    assert bar.seconds == pytest.approx(timeline.start_s(1), abs=1e-3)


def test_a_panel_is_played_from_its_first_line(qtbot: QtBot, sheets: Window) -> None:
    scene, player = sheets.sheets.scene_of_sheet, sheets.sheets.player
    key = scene.placed[2].key
    (entry,) = (e for e in scene.menu(key) if e.text == "Play the cut from here")
    assert entry.run is not None
    entry.run()
    qtbot.waitUntil(lambda: player.bar.playing, timeout=20_000)
    player.bar.pause()
    timeline = player.timeline
    assert timeline is not None
    first = timeline.first_of(*key)
    assert first is not None
    assert player.bar.seconds >= timeline.start_s(first) - 1e-3
    before = [p for p in timeline.paths[:first] if (p.panel_name, p.copy) == key]
    assert before == []


def test_the_cut_is_forgotten_with_its_plan(qtbot: QtBot, sheets: Window) -> None:
    _prepared(qtbot, sheets)
    player = sheets.sheets.player
    player.bar.go_to(3.0)
    scene = sheets.sheets.scene_of_sheet
    scene.choose(frozenset({scene.placed[0].key}))
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Up)
    assert player.timeline is None
    assert not scene.is_played
    assert not player.bar.scrub.isEnabled()
    sheets.desk.do(SetMargin(9.0))
    assert sheets.desk.job.plan is None
    assert not player.bar.isVisible()


def test_the_swept_kerf_is_shown_and_hidden(qtbot: QtBot, sheets: Window) -> None:
    scene, player = sheets.sheets.scene_of_sheet, sheets.sheets.player
    canvas = sheets.board.canvas
    placed = scene.placed[0].bounds
    canvas.show_rect(QRectF(placed.left() - 2, placed.center().y(), 4.0, 4.0))
    qtbot.waitUntil(lambda: canvas.settled)
    plain = canvas.grab().toImage()
    sheets.toggle_kerf()
    assert player.bar.kerf_button.isChecked()
    qtbot.waitUntil(lambda: player.timeline is not None and canvas.settled, timeout=20_000)
    qtbot.waitUntil(lambda: canvas.grab().toImage() != plain)
    sheets.toggle_kerf()
    qtbot.waitUntil(lambda: canvas.grab().toImage() == plain)


def test_the_page_cut_file_plays_too(qtbot: QtBot, sheets: Window) -> None:
    sheets.go_to(Step.CUT_FILE)
    player = sheets.cut_file.player
    assert player.bar.isVisible()
    assert not sheets.sheets.player.bar.isVisible()
    # The swept kerf is shown here from the start, so the cut is worked out at once.
    qtbot.waitUntil(lambda: player.timeline is not None, timeout=20_000)
    assert player.timeline is not None
    kinds = {p.kind for p in player.timeline.paths}
    assert PathKind.CUT_OUTER in kinds
    player.bar.go_to(5.0)
    assert sheets.cut_file.scene_of_sheet.is_played
    sheets.go_to(Step.SHEETS)
    assert not player.bar.isVisible()


def test_the_bar_plays_to_the_end_and_begins_again(qtbot: QtBot) -> None:
    bar = PlayBar()
    qtbot.addWidget(bar)
    bar.take(2.0)
    bar.speed.pick(64)
    bar.toggle()
    qtbot.waitUntil(lambda: not bar.playing, timeout=5_000)
    assert bar.seconds == 2.0
    assert bar.time.text() == "2 s of 2 s"
    bar.toggle()
    assert bar.playing
    assert bar.seconds < 2.0
    bar.forget()
    assert not bar.playing


def test_the_beginning_of_a_contour_has_its_share_of_the_length() -> None:
    # After a share of a circle's length the pen stands at that share of the full turn.
    circle = Contour.circle(0.0, 0.0, 10.0)
    start = math.atan2(circle.start[1], circle.start[0])
    for share in (0.2, 0.5, 0.77):
        end = partial_path(circle, share).currentPosition()
        angle = start + 2.0 * math.pi * share
        assert (end.x(), end.y()) == pytest.approx((10 * math.cos(angle), 10 * math.sin(angle)))
    square = Contour.rectangle(0.0, 0.0, 10.0, 10.0)
    assert partial_path(square, 0.375).length() == pytest.approx(15.0)
    end = partial_path(square, 0.375).currentPosition()
    assert (end.x(), end.y()) == pytest.approx((10.0, 5.0))
    assert partial_path(square, 0.0).length() == 0.0


def test_what_is_cut_so_far_is_painted_once(qtbot: QtBot, sheets: Window) -> None:
    timeline = _prepared(qtbot, sheets)
    bar, scene = sheets.sheets.player.bar, sheets.sheets.scene_of_sheet
    bar.go_to(timeline.total_s)
    played = scene.played
    assert played is not None
    image = QImage(400, 300, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    while played.draw(painter, sheets.board.canvas.view):
        pass
    painter.end()
    layer = played._layer
    assert layer is not None
    assert layer.done == len(timeline.paths)
    bar.go_to(timeline.start_s(1))
    painter = QPainter(image)
    while played.draw(painter, sheets.board.canvas.view):
        pass
    painter.end()
    assert played._layer is not layer
    assert played._layer is not None
    assert played._layer.done == 1


def test_the_slider_has_the_whole_room_until_the_time_is_known(qtbot: QtBot) -> None:
    bar = PlayBar()
    qtbot.addWidget(bar)
    bar.resize(800, 40)
    bar.show()

    def between() -> int:
        return bar.speed.x() - (bar.scrub.x() + bar.scrub.width())

    qtbot.waitUntil(lambda: between() == 8)
    assert not bar.time.isVisible()
    bar.take(3601.0)
    qtbot.waitUntil(bar.time.isVisible)
    slider = bar.scrub.width()
    for seconds in (0.0, 59.0, 600.0, 3599.0, 3601.0):
        bar.go_to(seconds)
        need = QFontMetrics(bar.time.font()).horizontalAdvance(bar.time.text())
        assert need <= bar.time.width() <= need + 90, seconds
    assert bar.scrub.width() == slider
    bar.forget()
    qtbot.waitUntil(lambda: between() == 8)
