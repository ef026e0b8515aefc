"""The list of panels: found, sorted, renamed, changed together; dimensions on the board."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import ezdxf
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QCheckBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from lasernest.domain.bookings import Booking, CutPanel
from lasernest.domain.contours import Contour
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Turns
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError
from lasernest.gui.board.dimensions import hole_sizes
from lasernest.gui.board.outlines_scene import FindingSpot
from lasernest.gui.board.shelves import NumberedFinding
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.pages.outlines import drawn_files
from lasernest.gui.parts.findings import FindingRow
from lasernest.gui.parts.panel_rows import PanelFacts, PanelSort, shown_panels
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import JobPanel
from lasernest.services.commands import SetKerf, SetQuantity
from lasernest.services.wish_commands import SetPriority
from tests.gui.helpers import read, wait_for
from tests.unit.exchange.drawings import dxf_text, write

_PLATE = "LWPOLYLINE 8 0 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 60 10 0 20 60"


@pytest.fixture
def clock(qtbot: QtBot, window: Window, sample_panels: Path) -> Window:
    """The clock's case, feet and hands: more panels than need no finding."""
    names = ("clock-case.dxf", "clock-feet.svg", "clock-hands.dxf")
    read(qtbot, window, *(sample_panels / name for name in names))
    return window


def _shown(window: Window) -> list[str]:
    model = window.outlines.list.panel_model
    return [model.panel(row).name for row in range(model.rowCount())]


def _entry(panel_name: str, width_mm: float, *, quantity: int = 1, **more: bool) -> JobPanel:
    panel = Panel(panel_name, Contour.rectangle(0.0, 0.0, width_mm, 10.0))
    return JobPanel(panel, quantity, **more)


def test_sorting_by_hand_worked_examples() -> None:
    panels = (
        _entry("rib-10", 30.0, quantity=2),
        _entry("rib-2", 50.0),
        _entry("Lid", 40.0, quantity=7),
    )

    def order(sort: PanelSort) -> list[str]:
        return [p.name for p in shown_panels(panels, PanelFacts(), sort=sort)]

    assert order(PanelSort.DRAWN) == ["rib-10", "rib-2", "Lid"]
    assert order(PanelSort.NAME) == ["Lid", "rib-2", "rib-10"]
    assert order(PanelSort.SIZE) == ["rib-2", "Lid", "rib-10"]
    assert order(PanelSort.COUNT) == ["Lid", "rib-10", "rib-2"]


def test_every_word_must_be_found() -> None:
    panels = (_entry("side left", 10.0), _entry("side right", 10.0, may_mirror=True))
    facts = PanelFacts({"side left": "box.dxf", "side right": "box.dxf"})

    def found(wanted: str) -> list[str]:
        return [p.name for p in shown_panels(panels, facts, wanted=wanted, sort=PanelSort.DRAWN)]

    assert found("SIDE box") == ["side left", "side right"]
    assert found("left box") == ["side left"]
    assert found("mirrored") == ["side right"]
    assert found("left mirrored") == []
    assert found("  ") == ["side left", "side right"]


def test_panels_are_found_while_it_is_typed(qtbot: QtBot, clock: Window) -> None:
    page = clock.outlines
    everything = _shown(clock)
    clock.find_panels()
    qtbot.keyClicks(page.finder.field, "feet")
    feet = _shown(clock)
    assert 0 < len(feet) < len(everything)
    assert all(page.list.drawing_of(name) == "clock-feet.svg" for name in feet)
    qtbot.keyClick(page.finder.field, Qt.Key.Key_Down)
    assert page.list.chosen() == feet[:1]
    qtbot.keyClick(page.finder.field, Qt.Key.Key_Escape)
    assert _shown(clock) == everything
    assert page.list.chosen() == feet[:1]
    page.finder.sort.pick(PanelSort.SIZE)
    areas = [clock.desk.job.panel(n).panel.outer.area_mm2 for n in _shown(clock)]
    assert areas == sorted(areas, reverse=True)


def test_what_is_not_found_is_not_changed(qtbot: QtBot, clock: Window) -> None:
    page = clock.outlines
    page.list.selectAll()
    qtbot.keyClicks(page.finder.field, "feet")
    page.list.selectAll()
    qtbot.keyClicks(page.list, "4")
    for panel in clock.desk.job.panels:
        wanted = 4 if page.list.drawing_of(panel.name) == "clock-feet.svg" else 1
        assert panel.quantity == wanted


def test_different_numbers_are_told_and_set_together(qtbot: QtBot, clock: Window) -> None:
    page = clock.outlines
    a, b = (p.name for p in clock.desk.job.panels[:2])
    page.list.choose([a])
    qtbot.keyClicks(page.list, "5")
    page.list.choose([a, b])
    assert page.chosen_box.quantity.text() == ""
    assert page.chosen_box.quantity.placeholderText() == "different"
    qtbot.keyClick(page.chosen_box.quantity, Qt.Key.Key_Up)  # nothing to step from
    qtbot.keyClick(page.chosen_box.quantity, Qt.Key.Key_Return)
    assert [clock.desk.job.panel(n).quantity for n in (a, b)] == [5, 1]
    qtbot.keyClicks(page.chosen_box.quantity, "5")
    qtbot.keyClick(page.chosen_box.quantity, Qt.Key.Key_Return)
    assert [clock.desk.job.panel(n).quantity for n in (a, b)] == [5, 5]
    page.chosen_box.turns.pick(Turns.FREE)
    assert {clock.desk.job.panel(n).turns for n in (a, b)} == {Turns.FREE}
    assert clock.desk.workbench.undo_label == "Set turning of 2 panels"
    page.list.choose([a, clock.desk.job.panels[2].name])
    assert page.chosen_box.turns.currentIndex() == -1


def test_a_panel_is_renamed_in_the_list(qtbot: QtBot, clock: Window) -> None:
    page = clock.outlines
    old, other = (p.name for p in clock.desk.job.panels[:2])
    page.list.choose([old])
    page.list.setFocus()
    entries = {e.text: e for e in page.hands.entries()}
    rename = entries["Rename…"].run
    assert rename is not None
    rename()
    editor = page.list.findChild(QLineEdit)
    assert isinstance(editor, QLineEdit)
    editor.setText("rear wall")
    page.refresh()  # as when work in the background ends
    assert editor.text() == "rear wall"
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    # Qt takes what an editor holds with the next turn of the event loop.
    qtbot.waitUntil(lambda: clock.desk.job.panels[0].name == "rear wall")
    assert page.list.chosen() == ["rear wall"]
    assert clock.desk.workbench.undo_label == f"Rename {old} to rear wall"
    page.hands.rename("rear wall", other)
    assert clock.desk.job.panels[0].name == "rear wall"
    assert "already" in clock.desk.troubles[0].sentence


def test_the_context_menu_works_on_all_chosen(clock: Window) -> None:
    page = clock.outlines
    assert page.hands.entries() == ()
    feet = page.list.names_of("clock-feet.svg")
    page.list.choose(feet[:1])
    entries = {e.text: e for e in page.hands.entries()}
    choose_all = entries[f"Choose all {len(feet)} of clock-feet.svg"].run
    assert choose_all is not None
    choose_all()
    assert page.list.chosen() == feet
    more = {e.text: e for e in page.hands.entries()}
    assert "Rename…" not in more
    mirror = {e.text: e for e in more["Mirroring"].entries}["may be mirrored"].run
    assert mirror is not None
    mirror()
    assert all(clock.desk.job.panel(n).may_mirror for n in feet)
    index = page.list.panel_model.index(page.list.panel_model.row_of(feet[0]))
    assert "mirrored too" in index.data(Qt.ItemDataRole.AccessibleTextRole)


def test_a_click_with_ctrl_adds_a_panel(qtbot: QtBot, clock: Window) -> None:
    canvas = clock.board.canvas
    qtbot.waitUntil(lambda: canvas.settled)
    spots: list[QPoint] = []
    names = []
    for placed in clock.outlines._scene.all_placed():
        box = placed.bounds
        for i in range(2, 19):
            x = box.left() + box.width() * i / 20
            if placed.holds(x, box.center().y()):
                spots.append(canvas.view.to_screen(x, box.center().y()).toPoint())
                names.append(placed.key[0])
                break
    left = Qt.MouseButton.LeftButton
    qtbot.mouseClick(canvas, left, pos=spots[0])
    qtbot.mouseClick(canvas, left, Qt.KeyboardModifier.ControlModifier, spots[1])
    assert set(clock.outlines.list.chosen()) == set(names[:2])
    qtbot.mouseClick(canvas, left, Qt.KeyboardModifier.ControlModifier, spots[0])
    assert clock.outlines.list.chosen() == [names[1]]


def test_the_chosen_outline_tells_its_figures_and_draws_its_size(
    qtbot: QtBot, clock: Window
) -> None:
    panel = clock.desk.job.panels[0].panel
    canvas = clock.board.canvas
    qtbot.waitUntil(lambda: canvas.settled)
    before = canvas.grab().toImage()
    clock.outlines.list.choose([panel.name])
    _, right = clock.outlines._scene.caption()
    assert right.startswith(f"{panel.name} · cut ")
    assert right.endswith(f" · {panel.net_area_mm2 / 100:.1f} cm²")
    assert canvas.grab().toImage() != before
    clock.go_to(Step.SHEETS)
    clock.go_to(Step.OUTLINES)
    assert clock.outlines.list.chosen() == [panel.name]


def test_sizes_of_holes_are_told_once() -> None:
    holes = [
        Contour.circle(10.0, 10.0, 1.6),
        Contour.circle(40.0, 10.0, 1.6),
        Contour.circle(25.0, 40.0, 5.0),
        Contour.rectangle(20.0, 60.0, 12.0, 3.0),
        Contour.rectangle(20.0, 70.0, 12.0, 3.0),
    ]
    texts = [text for text, _ in hole_sizes(holes)]
    assert texts == ["2 × ⌀ 3.20", "⌀ 10.00", "2 × (12.00 × 3.00)"]
    assert hole_sizes(holes)[1][1] == pytest.approx((30.0, 40.0))
    lengths.show_inches(True)
    # 1 in = 25.4 mm exactly.
    assert hole_sizes(holes[2:3])[0][0] == "⌀ 0.394"


def test_wishes_of_several_panels_are_set_together_and_undone(clock: Window) -> None:
    page = clock.outlines
    before = clock.desk.job
    a, b, c = (p.name for p in before.panels[:3])
    page.list.choose([a, b])
    page.chosen_box.filling.pick(True)
    assert clock.desk.workbench.undo_label == "Set extra copies of 2 panels"
    page.chosen_box.priority.pick(1)
    assert [clock.desk.job.panel(n).as_many_as_fit for n in (a, b, c)] == [True, True, False]
    assert [clock.desk.job.panel(n).priority for n in (a, b, c)] == [1, 1, 0]
    row = page.list.panel_model.facts.row(clock.desk.job.panel(a))
    assert row.endswith("as many as fit · first")
    page.list.choose([b, c])
    assert page.chosen_box.priority.currentIndex() == -1  # they differ
    page.finder.field.setText("comes first")
    assert _shown(clock) == [a, b]
    page.finder.field.clear()
    page.list.choose([b, c])
    menu = {e.text: e for e in page.hands.entries()}
    waits = menu["If sheets run short"].entries[2].run
    assert waits is not None
    waits()
    assert [clock.desk.job.panel(n).priority for n in (a, b, c)] == [1, -1, -1]
    for _ in range(3):
        clock.desk.undo()
    assert clock.desk.job == before


def test_a_rank_from_elsewhere_is_shown_and_kept(clock: Window) -> None:
    page, name = clock.outlines, clock.desk.job.panels[0].name
    clock.desk.do(SetPriority(name, 7))
    page.list.choose([name])
    assert page.chosen_box.priority.currentText() == "rank 7"


def test_a_panel_that_only_fills_up_can_be_arranged(clock: Window) -> None:
    page = clock.outlines
    page.list.selectAll()
    page.hands.set_quantity(0)
    assert not page.arrange_button.isEnabled()
    page.list.choose([clock.desk.job.panels[0].name])
    page.chosen_box.filling.pick(True)
    assert page.arrange_button.isEnabled()


def test_the_order_of_a_panel_is_shown_found_and_sorted(qtbot: QtBot, clock: Window) -> None:
    page, product = clock.outlines, clock.desk.shelf.name
    wait_for(qtbot, clock, "shelf")
    names = _shown(clock)
    a, b = names[-1], names[-2]
    assert PanelSort.ORDER not in [s for s in PanelSort if page.finder.sort.findText(s.value) >= 0]
    stock = clock.desk.job.setup.stock
    assert stock is not None

    def cut(panel: str, count: int) -> CutPanel:
        return CutPanel(product, panel, count, stock.name)

    shop = clock.desk.workbench.shop
    day = date(2026, 11, 25)
    shop.book(Booking(day, "winter fair", panels=(cut(a, 12),)))
    shop.book(Booking(day, product, panels=(cut(b, 3),)))
    clock.desk.shelf.look(again=True)
    wait_for(qtbot, clock, "shelf")
    facts = page.list.panel_model.facts
    assert facts.row(clock.desk.job.panel(a)).endswith(" · winter fair: 12 booked")
    assert facts.row(clock.desk.job.panel(b)).endswith(" · 3 booked")
    page.finder.field.setText("winter")
    assert _shown(clock) == [a]
    page.finder.field.clear()
    page.finder.sort.pick(PanelSort.ORDER)
    assert _shown(clock)[:2] == [b, a]  # "3 booked" before "winter fair"
    assert set(_shown(clock)[2:]) == set(names) - {a, b}


def test_answers_to_a_question_go_with_it(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    """Buttons left behind lay over the findings below them."""
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 0
    drawing.modelspace().add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)
    drawing.saveas(tmp_path / "lid.dxf")
    read(qtbot, window, tmp_path / "lid.dxf")
    findings = window.outlines.findings

    def answers() -> list[QPushButton]:
        return [b for b in findings.findChildren(QPushButton) if b.isVisibleTo(findings)]

    inches = next(b for b in answers() if b.text() == "inches")
    qtbot.mouseClick(inches, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.desk.job.panels[0].panel.bounds_mm()[2] > 100.0, timeout=9_000)
    assert [b.text() for b in answers() if b.text() == "inches"] == []


def _case_in_pixels(tmp_path: Path, *names: str) -> list[Path]:
    """Drawings as one export makes them: pixels, so that each asks for its size."""
    made = []
    for name in names:
        path = tmp_path / f"{name}.svg"
        path.parent.mkdir(exist_ok=True)
        path.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="300" height="200">'
            '<rect x="10" y="10" width="192" height="96" fill="none" stroke="#000"/></svg>'
        )
        made.append(path)
    return made


def test_drawings_that_ask_the_same_are_answered_together(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    read(qtbot, window, *_case_in_pixels(tmp_path, "front", "back", "lid"))
    page = window.outlines
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "3 questions"
    also = page.findings.findChildren(QCheckBox)[0]
    assert also.text() == "for the 2 others too"
    points = next(b for b in page.findings.findChildren(QPushButton) if "72" in b.text())
    qtbot.mouseClick(points, Qt.MouseButton.LeftButton)
    wait_for(qtbot, window, "import")
    widths = [p.panel.size_mm[0] for p in window.desk.job.panels]
    assert widths == pytest.approx([192 / 72 * 25.4] * 3)
    assert window.tiles.tiles[Step.OUTLINES].shown.state is State.DONE
    window.desk.undo()
    widths = [p.panel.size_mm[0] for p in window.desk.job.panels]
    assert widths == pytest.approx([192 / 96 * 25.4] * 3)


def test_without_the_tick_one_drawing_is_answered(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    read(qtbot, window, *_case_in_pixels(tmp_path, "front", "back"))
    page = window.outlines
    also = page.findings.findChildren(QCheckBox)[0]
    assert also.text() == "for the other drawing too"
    also.setChecked(False)
    points = next(b for b in page.findings.findChildren(QPushButton) if "72" in b.text())
    qtbot.mouseClick(points, Qt.MouseButton.LeftButton)
    wait_for(qtbot, window, "import")
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "1 question"
    assert len({round(p.panel.size_mm[0], 3) for p in window.desk.job.panels}) == 2


def test_drawings_called_alike_are_told_apart(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    """Each folder of an export may hold a front: what is answered for one is not said of both."""
    read(qtbot, window, *_case_in_pixels(tmp_path, "small/front", "large/front"))
    page = window.outlines
    files, _ = drawn_files(window.desk.job.panels, window.desk.job.sources)
    assert [(file.name, len(file.findings)) for file in files] == [
        (str(Path("small/front.svg")), 1),
        (str(Path("large/front.svg")), 1),
    ]
    also = page.findings.findChildren(QCheckBox)[0]
    assert also.text() == "for the other drawing too"
    also.setChecked(False)
    points = next(b for b in page.findings.findChildren(QPushButton) if "72" in b.text())
    qtbot.mouseClick(points, Qt.MouseButton.LeftButton)
    wait_for(qtbot, window, "import")
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "1 question"
    widths = [p.panel.size_mm[0] for p in window.desk.job.panels]
    assert widths == pytest.approx([192 / 72 * 25.4, 192 / 96 * 25.4])


def test_what_was_said_goes_with_the_next_change(clock: Window) -> None:
    clock.desk.said.emit("top 9 would overlap right 5. It stays where it was.")
    clock.desk.do(SetPriority(clock.desk.job.panels[0].name, 1))
    assert clock.status.said() == ""


def test_a_slot_narrower_than_the_beam_is_told_until_the_kerf_allows_it(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    doc = ezdxf.new("R2000", units=4)
    space = doc.modelspace()
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40)], close=True)
    space.add_lwpolyline([(20, 10), (20.05, 10), (20.05, 30), (20, 30)], close=True)
    doc.saveas(tmp_path / "slotted.dxf")
    read(qtbot, window, tmp_path / "slotted.dxf")
    wait_for(qtbot, window, "beam")

    def told() -> list[str]:
        return [row.numbered.finding.code for row in window.outlines.findings.rows()]

    assert "narrower-than-kerf" in told()
    assert window.outlines.tile().state is State.BLOCKED
    (row,) = [r for r in window.outlines.findings.rows() if r.numbered.finding.panel]
    assert row.numbered.file == "slotted.dxf"
    window.desk.do(SetKerf(Kerf.same(0.03)))
    wait_for(qtbot, window, "beam")
    assert "narrower-than-kerf" not in told()
    window.desk.workbench.undo()
    wait_for(qtbot, window, "beam")
    assert "narrower-than-kerf" in told()


def test_many_chosen_panels_are_measured_in_slices(
    qtbot: QtBot, window: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    disc = Contour.circle(0.0, 0.0, 10.0)
    rows = tuple(JobPanel(Panel.of(f"disc-{i}", disc)) for i in range(80))
    window.desk.workbench.new(window.desk.job.changed(panels=rows))
    window.go_to(Step.OUTLINES)
    monkeypatch.setattr("lasernest.gui.pages.outlines._SLICE_S", 0.0)
    window.outlines.list.selectAll()
    # Discs of radius 10: 2 pi r and pi r2 each.
    told = f"80 panels · cut {lengths.path(1600.0 * math.pi)} · {80 * math.pi:.1f} cm²"
    scene = window.board.canvas.scene
    assert scene.caption()[1] != told
    qtbot.waitUntil(lambda: scene.caption()[1] == told)


def test_a_finding_leaves_out_what_is_said_for_the_command_line(qtbot: QtBot) -> None:
    finding = Finding(
        Severity.NOTE,
        "unit-assumed",
        "The file states no unit; its numbers were taken as mm.",
        todo="If a known length is wrong, let the drawing state its unit.",
        on_command_line="--unit in",
    )
    row = FindingRow(NumberedFinding(1, finding, "box.dxf"))
    qtbot.addWidget(row)
    assert row.accessibleName().endswith(
        "taken as mm. If a known length is wrong, let the drawing state its unit."
    )


def test_what_the_board_says_of_a_ring_is_for_the_window_too(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    read(qtbot, window, write(tmp_path, dxf_text(_PLATE, "LINE 8 A 10 0 20 0 11 3e6 21 0")))
    scene = window.board.canvas.scene
    (said,) = [n for n in window.outlines._numbered if n.finding.code == "line-too-long"]
    assert said.finding.on_command_line == "or give --unit"
    tip = scene.tip(FindingSpot(said.number, 0))
    assert tip.endswith("Remove them in the drawing, or let it state another unit.")


def test_the_board_counts_panels_as_the_tile_does(clock: Window) -> None:
    panels = clock.desk.job.panels
    _, right = clock.outlines._scene.caption()
    assert right == clock.tiles.tiles[Step.OUTLINES].shown.figure
    clock.desk.do(SetQuantity(panels[0].name, 3))
    _, right = clock.outlines._scene.caption()
    total = sum(p.quantity for p in clock.desk.job.panels)
    assert clock.tiles.tiles[Step.OUTLINES].shown.figure == f"{total} panels"
    assert right == f"{total} panels, {len(panels)} different"


def test_a_search_for_narrow_places_that_failed_is_done_again(
    qtbot: QtBot, window: Window, sample_panels: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def fail(pairs: object, control: object = None) -> None:
        asked.append(pairs)
        raise BadValueError("the helper went away", todo="Try again.")

    monkeypatch.setattr("lasernest.services.narrow.narrow_findings_each", fail)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    wait_for(qtbot, window, "beam")
    assert len(asked) == 1
    (note,) = [n for n in window.outlines.notes.notes() if n.kind == "error"]
    assert note.heading == "Looking for places narrower than the beam"
    assert [answer.text for answer in note.answers] == ["Try again", "Dismiss"]

    # The next change looks again, and does not tell the same once more.
    note.answers[1].act()
    window.desk.do(SetPriority(window.desk.job.panels[0].name, 1))
    wait_for(qtbot, window, "beam")
    assert len(asked) == 2
    assert not window.desk.troubles

    monkeypatch.undo()
    note.answers[0].act()
    wait_for(qtbot, window, "beam")
    assert window.desk.beam._looked_for == []
    assert len(window.desk.beam._known) == len(window.desk.job.panels)
