"""Kerf and fit: what the beam takes away in this sheet, and what makes a joint grip.

The whole tuning happens here: write the comb, cut it, enter what was read and
felt, and let the stock use it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QLineEdit, QWidget

from lasernest.domain.readings import Axis, Method, Reading
from lasernest.domain.stock import Fit, Stock
from lasernest.gui.board.frame import Board
from lasernest.gui.board.how_to import HowTo, Places
from lasernest.gui.board.kerf_board import KerfBoard
from lasernest.gui.board.pictures import PictureSet
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.obstacles import judged, refuses
from lasernest.gui.pages.kerf_notes import kerf_notes, with_u
from lasernest.gui.pages.material_notes import cautions, refusals
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import FigureRow, SettingRow, button, clear, link, vertical
from lasernest.gui.parts.cut_form import CutForm
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.fields import ChoiceField, LengthField, LengthsField
from lasernest.gui.parts.notes import NoteList
from lasernest.gui.parts.place import FilePlace, file_name, usual_folder
from lasernest.gui.parts.reading_form import ReadingForm
from lasernest.gui.parts.stock_box import StockBox
from lasernest.gui.parts.stock_picker import StockPicker
from lasernest.gui.parts.thickness_form import ThicknessForm
from lasernest.gui.tab_order import give_keys
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.tuner import Tuner
from lasernest.gui.words import count_of, tr
from lasernest.job import Setup, working_parts

_PLUG_DRAWN_MM = 20.0
_WIDE = 184
"""As wide as a field may be beside its name."""


class KerfPage(Page):
    """The third step."""

    step = Step.KERF
    comb_path_wanted = Signal(object)
    """The maker wants to choose where the comb goes; the usual path."""
    sheets_wanted = Signal()

    def __init__(self, desk: Desk, board: Board) -> None:
        super().__init__(desk, board, tr("Kerf and fit"))
        self.tuner = Tuner(desk)
        self.tuner.changed.connect(self._tuner_changed)
        self.tuner.comb_written.connect(self._comb_written)
        self.drawing = KerfBoard()
        self.drawing.felt.connect(self.tuner.set_feel)
        self._empty = EmptyPage(
            tr("No stock chosen"),
            tr("Kerf belongs to a stock. Choose one on the card."),
        )
        self._waiting = EmptyPage(
            tr("Working out the comb"), tr("For the stock on the card, from its test cuts.")
        )
        self._extra = 0
        self._explained: dict[QObject, HowTo] = {}
        self.stock = ChoiceField()
        self.stock.picked.connect(self._choose_stock)
        self.picker = StockPicker(desk.in_view)
        self.picker.picked.connect(self._look_at_stock)
        self.card.add(self.picker)
        self.stock_box = StockBox(desk, self.step)
        self.card.add(SettingRow(tr("Stock"), self.stock, width=_WIDE), self.stock_box)
        self.first_notes = NoteList()
        self.card.add(self.first_notes)
        self.thickness = LengthsField(example_mm=(3.02, 3.05, 3.04))
        self.thickness.committed.connect(self.tuner.set_thickness)
        self.thickness.installEventFilter(self)
        self.card.add(
            SettingRow(
                tr("Thickness"),
                self.thickness,
                explain=tr(
                    "Measure at eight places: corners and middles of the sides, 50 mm from the "
                    "edge. Part the readings with spaces."
                ),
                width=_WIDE,
            )
        )
        self.thickness_text = FigureRow(
            tr("Average"),
            explain=tr("Of all places, and how far it can be off (95 %)."),
            why="kerf-and-fit#thickness",
        )
        self.places_button = link(tr("Measure at eight places"), self._open_places)
        self.places = ThicknessForm()
        self.places.hide()
        self.places.committed.connect(self.tuner.set_thickness)
        self.places.at_place.connect(self._show_place)
        self.places.closed.connect(self._close_places)
        self.card.add(self.thickness_text, self.places_button, self.places)
        self.card.add_rule()
        self.fields: dict[str, LengthField] = {}
        for name, text, explain in (
            ("gap x", tr("Gap across x strips"), tr("Slide the x strips to the left; the gap.")),
            ("gap y", tr("Gap across y strips"), tr("Slide the y strips down; the gap.")),
            ("plug", tr("Plug"), tr("The square plug, across.")),
            ("hole", tr("Hole"), tr("The hole that the plug came from, across.")),
        ):
            field = LengthField(decimals=3, step_mm=0.01, empty="–")
            field.committed.connect(self._readings_changed)
            field.cleared.connect(self._readings_changed)
            field.installEventFilter(self)
            self.fields[name] = field
            self.card.add(SettingRow(text, field, explain=explain, width=96))
        self._others = QWidget()
        self._others_column = vertical(self._others, gap=2)
        self.more_button = link(tr("+ another reading"), self._open_form)
        self.form = ReadingForm()
        self.form.hide()
        self.form.given.connect(self._take_reading)
        self.form.closed.connect(self._close_form)
        self.card.add(self._others, self.more_button, self.form)
        self.card.add_rule()
        self.kerf = FigureRow(
            tr("Kerf"),
            explain=tr("Full width of what the beam takes away, and how far it is known (95 %)."),
        )
        self.axes = FigureRow(
            tr("Across x, across y"),
            explain=tr("From the two frames; they differ where the beam is not round."),
            why="kerf-and-fit#along-x-and-y",
        )
        self.press = FigureRow(
            tr("Press fit at"),
            explain=tr("The interference to ask for, and how far it is known (95 %)."),
        )
        self.rests = FigureRow(
            tr("Based on"),
            explain=tr("The newest test cut of this stock; fits learn from all of them."),
        )
        self.cut_button = link(tr("How it was cut"), self._toggle_cut)
        self.cut_form = CutForm()
        self.cut_form.hide()
        self.cut_form.committed.connect(self.tuner.set_cut)
        self.card.add(self.kerf, self.axes, self.press, self.rests, self.cut_button, self.cut_form)
        self._explained = {
            self.thickness: HowTo.THICKNESS,
            self.fields["gap x"]: HowTo.GAP_X,
            self.fields["gap y"]: HowTo.GAP_Y,
            self.fields["plug"]: HowTo.PLUG,
            self.fields["hole"]: HowTo.HOLE,
            self.kerf: HowTo.KERF,
            self.axes: HowTo.AXES,
            self.press: HowTo.PRESS,
        }
        for row in (self.kerf, self.axes, self.press):
            row.installEventFilter(self)
        self.notes = NoteList()
        self.place = FilePlace()
        self.place.change_wanted.connect(lambda: self.comb_path_wanted.emit(self.target()))
        self.path: Path | None = None
        """Where the maker wants the comb; None for the usual place."""
        self.card.add(self.notes)
        self.card.close_column()
        self.use_button = button(tr("Use for this stock"), self.tuner.use_for_stock, kind="main")
        self.write_button = button(tr("Write the comb"), self.write, kind="main")
        self.again_button = button(tr("Write the comb"), self.write)
        self.card.set_actions(self.use_button, self.again_button)
        self.card.foot.insertWidget(0, self.write_button)
        self.card.foot.insertWidget(0, self.place)
        self.refresh()

    # --- what is shown ---------------------------------------------------------------

    def first_words(self) -> QWidget:
        if self.tuner.view is not None:
            return self.drawing
        return self._empty if self.desk.in_view.setup.stock is None else self._waiting

    def all_words(self) -> Sequence[QWidget]:
        return (self.drawing, self._empty, self._waiting)

    def refresh(self) -> None:
        setup, desk = self.desk.in_view.setup, self.desk
        self.picker.refresh()
        self.stock.offer(desk.in_view.choices, setup.stock)
        self.stock_box.refresh()
        if self.shown:
            self.tuner.follow_job()
        self._show_tuning()
        self.put_on_board()

    def _tuner_changed(self) -> None:
        if self.shown:
            self._show_tuning()
            self.put_on_board()

    def _comb_written(self) -> None:
        """What comes next is to read it: the keys go to the first field, if nobody types."""
        typing = isinstance(self.card.window().focusWidget(), QLineEdit)
        if self.shown and self.card.isVisible() and not typing:
            give_keys(self.fields["gap x"], Qt.FocusReason.TabFocusReason)

    def _show_tuning(self) -> None:
        view, draft = self.tuner.view, self.tuner.draft
        self.drawing.show_view(view, draft.felt)
        self._show_others()
        if draft.is_empty:
            for field in self.fields.values():
                field.set_mm(None)
        self.thickness.set_mm(draft.thickness_mm)
        if self.places.isVisible():
            self._show_place(self.places.place())
        self.places.show_mm(draft.thickness_mm)
        self.cut_form.show_settings(draft.settings, draft.note)
        has = view is not None
        self.write_button.setVisible(not draft.has_news)
        self.use_button.setVisible(draft.has_news)
        self.again_button.setVisible(draft.has_news)
        materials = judged([self.desk.in_view.setup.stock])
        self.first_notes.show_notes(
            [
                *self.trouble_notes(),
                *refusals(materials),
                *cautions(materials, self.desk, self.step),
            ]
        )
        may_be_cut = has and not refuses(materials)
        self.write_button.setEnabled(may_be_cut)
        self.again_button.setEnabled(may_be_cut)
        finer = view is not None and view.tuning.model.rung_count > 0 and draft.is_empty
        self.write_button.setText(tr("Write a finer comb") if finer else tr("Write the comb"))
        self.notes.show_notes(kerf_notes(self.desk, self.tuner))
        written = self.tuner.written
        waiting = self.path is None and written is not None
        self.place.show_path(written.file if waiting and written else self.target())
        self.place.setVisible(may_be_cut and not draft.has_news)
        if view is None:
            for row in (self.kerf, self.axes, self.press, self.rests, self.thickness_text):
                row.set_value("–")
            return
        kerf = view.tuning.kerf
        self.kerf.set_value(with_u(kerf.mean_mm, kerf.u_mm))
        x, y = (
            lengths.fine_number(k) if kerf.u_mm is None else lengths.number(k, 3)
            for k in (kerf.x_mm, kerf.y_mm)
        )
        self.axes.set_value(f"{x} / {y}")
        window = view.tuning.model.window(Fit.PRESS)
        low, high = (
            lengths.fine_number(window.target_mm - window.half_width_95),
            lengths.fine_number(window.target_mm + window.half_width_95),
        )
        known = view.tuning.model.rung_count > 0
        self.press.set_value(
            f"{lengths.fine(window.target_mm)} ({low} to {high})" if known else tr("not felt yet")
        )
        record = view.tuning.record
        self.rests.set_value(record.name if record is not None else tr("a starting value"))
        thickness = view.thickness
        if thickness is not None:
            self.thickness_text.set_value(
                f"{lengths.number(thickness.mean_mm)} ± {lengths.text(2 * thickness.u_mm)}",
                explain=tr(
                    "From {low} to {high} over {count}; the spread enters every joint.",
                    low=lengths.text(thickness.low_mm),
                    high=lengths.text(thickness.high_mm),
                    count=count_of(thickness.count, "place", "places"),
                ),
            )
        else:
            measured = view.stock.measured_thickness_mm
            self.thickness_text.set_value(
                lengths.text(measured)
                if measured is not None
                else tr("{mm}, not measured", mm=lengths.text(view.stock.thickness_mm))
            )

    def _show_others(self) -> None:
        clear(self._others_column)
        others = [n for n in self.tuner.draft.readings if n.startswith("other ")]
        for name in others:
            reading = self.tuner.draft.readings[name]
            text = f"{reading.text()}  ×"
            made = link(
                text,
                partial(self.tuner.set_reading, name, None),
                tip=tr("Remove this reading"),
            )
            self._others_column.addWidget(made)
            made.show()
        self._others.setVisible(bool(others))

    def pictures(self) -> Sequence[PictureSet]:
        return self.drawing.pictures()

    def tile(self) -> TileText:
        setups = [part.setup for part in working_parts(self.desk.job)]
        setup = setups[0]
        kerf = setup.used_kerf
        if len(setups) > 1 and not any(t.step is self.step for t in self.desk.troubles):
            return self._tile_of_many(setups)
        if kerf is None:
            return TileText(tr("no stock chosen"), "", State.NOTHING, tr("nothing yet"))
        if any(t.step is self.step for t in self.desk.troubles):
            return TileText(with_u(kerf.mean_mm, kerf.u_mm), "", State.BLOCKED, tr("problem"))
        if setup.kerf is not None:
            return TileText(
                with_u(kerf.mean_mm, kerf.u_mm), tr("given for this job"), State.DONE, tr("done")
            )
        if not kerf.measured:
            return TileText(
                with_u(kerf.mean_mm, None),
                tr("a starting value"),
                State.QUESTION,
                tr("unmeasured"),
            )
        return TileText(with_u(kerf.mean_mm, kerf.u_mm), kerf.basis, State.DONE, tr("done"))

    def _tile_of_many(self, setups: Sequence[Setup]) -> TileText:
        kerfs = [setup.used_kerf for setup in setups]
        figure = " · ".join("–" if k is None else lengths.fine(k.mean_mm) for k in kerfs)
        guessed = [
            setup
            for setup, kerf in zip(setups, kerfs, strict=True)
            if setup.kerf is None and (kerf is None or not kerf.measured)
        ]
        words = self.desk.in_view.count_words
        if guessed:
            rests = tr("{stocks}, {n} unmeasured", stocks=words, n=len(guessed))
            return TileText(figure, rests, State.QUESTION, tr("unmeasured"))
        return TileText(figure, words, State.DONE, tr("done"))

    # --- what the maker does -----------------------------------------------------------

    def _look_at_stock(self, name: str) -> None:
        self.desk.in_view.look(name)
        self.refresh()

    def _choose_stock(self, stock: Stock) -> None:
        of = self.desk.in_view.name
        if self.desk.in_view.exchange(stock, self.step) and not of:
            self.desk.settings.stock_name = stock.name

    def _readings_changed(self, _mm: float | None = None) -> None:
        view = self.tuner.view
        if view is None:
            return
        strips = float(view.comb.strips)
        values = {name: field.value_mm() for name, field in self.fields.items()}
        for name, axis in (("gap x", Axis.X), ("gap y", Axis.Y)):
            gap_mm = values[name]
            known = self.tuner.draft.readings.get(name)
            reading = Reading(Method.FRAME, (strips, gap_mm), axis) if gap_mm is not None else None
            if reading != known:
                self.tuner.set_reading(name, reading)
        plug_mm, hole_mm = values["plug"], values["hole"]
        pair = (
            Reading(Method.PAIR, (plug_mm, hole_mm, _PLUG_DRAWN_MM))
            if plug_mm and hole_mm
            else None
        )
        if pair != self.tuner.draft.readings.get("pair"):
            self.tuner.set_reading("pair", pair)

    def _open_form(self) -> None:
        self.form.show()
        self.more_button.hide()
        self.form.method.setFocus()

    def _close_form(self) -> None:
        self.form.hide()
        self.more_button.show()

    def _take_reading(self, reading: Reading) -> None:
        self._extra += 1
        self.tuner.set_reading(f"other {self._extra}", reading)
        self._close_form()

    def target(self) -> Path:
        """Where the comb goes: never over a comb that was cut before."""
        if self.path is not None:
            return self.path
        stock, job_path = self.desk.in_view.setup.stock, self.desk.workbench.path
        folder = usual_folder(
            job_path.parent if job_path else None,
            Path(self.desk.settings.last_folder) if self.desk.settings.last_folder else None,
        )
        usual = folder / f"{file_name(stock.name if stock else '')} comb.dxf"
        path, number = usual, 2
        while path.exists():
            path = usual.with_stem(f"{usual.stem} {number}")
            number += 1
        return path

    def choose_path(self, path: Path) -> None:
        """Write the next comb there."""
        self.path = path if path.suffix.lower() == ".dxf" else path.with_name(path.name + ".dxf")
        self._show_tuning()

    def write(self) -> None:
        """Write the comb to where the card says."""
        path, self.path = self.target(), None
        self.tuner.write_comb(path)

    def _open_places(self) -> None:
        self.places.show()
        self.places_button.hide()
        empty = [f for f in self.places.fields if f.value_mm() is None]
        (empty or self.places.fields)[0].setFocus()

    def _close_places(self) -> None:
        self.places.hide()
        self.places_button.show()

    def _toggle_cut(self) -> None:
        self.cut_form.setVisible(self.cut_form.isHidden())

    def _show_place(self, number: int) -> None:
        """Light up the place of the sheet whose field has the keys; -1 for the next free one."""
        from lasernest.kerf.thickness import places_mm  # noqa: PLC0415 - heavy

        size = self.desk.in_view.setup.chosen_size
        width, height = (size.width_mm, size.height_mm) if size else (600.0, 400.0)
        read = self.places.places_mm()
        if number < 0:
            number = next((i for i, mm in enumerate(read) if mm is None), -1)
        self.drawing.explain(
            HowTo.THICKNESS, Places(width, height, places_mm(width, height), read, number)
        )

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        subject = self._explained.get(watched)
        if subject is not None and event.type() in (QEvent.Type.FocusIn, QEvent.Type.Enter):
            if subject is HowTo.THICKNESS:
                self._show_place(-1)
            elif event.type() is QEvent.Type.FocusIn or isinstance(watched, FigureRow):
                self.drawing.explain(subject)
        return super().eventFilter(watched, event)
