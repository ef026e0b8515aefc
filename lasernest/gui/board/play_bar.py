"""The bar below a sheet that plays its cut: play and pause, scrub, how fast, the time so far."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QLayout, QSizePolicy, QSlider, QStyle, QStyleOptionSlider, QWidget

from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Elided, button, horizontal, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.words import tr
from lasernest.units import format_time

SPEEDS = (1, 4, 16, 64)
_FRAME_MS = 33
_MS = 1000
_ONE_ROW, _TWO_ROWS = 500, 300
"""From these widths on, in pixels at 100 %."""


class Scrub(QSlider):
    """The time of a cut in milliseconds; a press anywhere goes there."""

    paths_wanted = Signal(int)
    """Go on (+1) or back (-1) by a path."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.setSingleStep(_MS)
        self.setRange(0, 0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Time of the cut"))
        self.setToolTip(
            tr("Drag to any moment. Arrows step by a second, Page up and down by a cut.")
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        if event.button() is Qt.MouseButton.LeftButton:
            option = QStyleOptionSlider()
            self.initStyleOption(option)
            handle = self.style().subControlRect(
                QStyle.ComplexControl.CC_Slider, option, QStyle.SubControl.SC_SliderHandle, self
            )
            if not handle.contains(event.position().toPoint()):
                room = max(1, self.width() - handle.width())
                x = round(event.position().x()) - handle.width() // 2
                self.setValue(
                    QStyle.sliderValueFromPosition(self.minimum(), self.maximum(), x, room)
                )
        super().mousePressEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        steps = {Qt.Key.Key_PageDown: 1, Qt.Key.Key_PageUp: -1}
        if event.key() in steps:
            self.paths_wanted.emit(steps[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)


class PlayBar(QWidget):
    """Plays and scrubs; knows times only."""

    prepared_wanted = Signal()
    """The maker wants to play, and the cut is not worked out yet."""
    moved = Signal(float)
    """Seconds into the cut."""
    paths_wanted = Signal(int)
    kerf_toggled = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        rows = vertical(self, gap=2)
        rows.setContentsMargins(16, 2, 12, 2)
        self._margins = rows.contentsMargins()
        self._row, self._wrapped, self._below = horizontal(), FlowLayout(), horizontal()
        for line in (self._row, self._wrapped, self._below):
            rows.addLayout(line)
        self._rows = 0
        self.play_button = button(
            tr("Play the cut"),
            self.toggle,
            tip=tr("Shows in which order the beam works; estimated times (F5)"),
        )
        self.scrub = Scrub()
        self.scrub.valueChanged.connect(lambda _value: self._moved())
        self.scrub.sliderPressed.connect(self._moved)
        self.scrub.paths_wanted.connect(self._step_paths)
        self.time = Elided(size=TextSize.SMALL, colour="quiet", right=True)
        self.time.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.speed = ChoiceField()
        self.speed.offer([(f"× {n}", n) for n in SPEEDS], 16)
        self.speed.setAccessibleName(tr("Speed of playing"))
        self.speed.setToolTip(tr("How many seconds of the cut pass in one second"))
        self.kerf_button = button(
            tr("Swept kerf"),
            kind="link",
            tip=tr("Show what the beam takes away, where it is a pixel wide or more (K)"),
        )
        self.kerf_button.setCheckable(True)
        self.kerf_button.toggled.connect(self.kerf_toggled)
        self._total_s = 0.0
        self._ready = False
        self._parts = (self.play_button, self.scrub, self.time, self.speed, self.kerf_button)
        self._set_out()
        self._timer = QTimer(self)
        self._timer.setInterval(_FRAME_MS)
        self._timer.timeout.connect(self._tick)
        self._clock = QElapsedTimer()
        self._play_when_ready = False
        theme.changed.connect(self._dress)
        self._dress()
        self.forget()
        self.hide()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self._set_out()

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """As wide as its widest part: all others can go below it."""
        widest = max(max(p.minimumSizeHint().width(), p.minimumWidth()) for p in self._parts)
        width = widest + self._margins.left() + self._margins.right()
        return QSize(width, super().minimumSizeHint().height())

    def _set_out(self) -> None:
        """Slider and time go below where one row is too short; then the buttons wrap, too."""
        width = self.width()
        rows = 1 + (width < theme.pixels(_ONE_ROW)) + (width < theme.pixels(_TWO_ROWS))
        if rows == self._rows:
            return
        self._rows = rows
        play, scrub, time, speed, kerf = self._parts
        lines: tuple[QLayout, ...] = (self._row, self._wrapped, self._below)
        for line in lines:
            for part in self._parts:
                line.removeWidget(part)
        shared_out: tuple[tuple[QWidget, ...], ...] = (self._parts, (), ())
        if rows == 2:
            shared_out = ((play, speed, kerf), (), (scrub, time))
        elif rows == 3:
            shared_out = ((), (play, speed, kerf, time), (scrub,))
        for line, widgets in zip(lines, shared_out, strict=True):
            for widget in widgets:
                line.addWidget(widget)
        for row in (self._row, self._below):
            row.setStretchFactor(scrub, 1)

    def _dress(self) -> None:
        self.speed.setFixedWidth(theme.pixels(84))
        self._size_time()
        self.play_button.setMinimumWidth(theme.pixels(104))

    def _size_time(self) -> None:
        """Room for the longest time that will stand there, so that the slider keeps its length."""
        whole = format_time(self._total_s)
        metrics = QFontMetrics(theme.font(TextSize.SMALL))  # it is dressed in it a while later
        longest = max(
            metrics.horizontalAdvance(self._so_far(min(seconds, self._total_s), whole))
            for seconds in (59.0, 3599.0, self._total_s)
        )
        self.time.setFixedWidth(longest + theme.pixels(4))
        self.time.setVisible(self._ready)

    # --- what there is to play -----------------------------------------------------------

    def forget(self) -> None:
        """Another sheet or plan: nothing is worked out and nothing plays."""
        self.pause()
        self._ready = self._play_when_ready = False
        self._total_s = 0.0
        self._set(0)
        self.scrub.setRange(0, 0)
        self.scrub.setEnabled(False)
        self._size_time()

    def take(self, total_s: float) -> None:
        """The cut is worked out and takes so long."""
        self._ready, self._total_s = True, total_s
        self.scrub.setRange(0, round(total_s * _MS))
        self.scrub.setPageStep(10 * _MS)
        self.scrub.setEnabled(True)
        self._size_time()
        self._tell()
        if self._play_when_ready:
            self._play_when_ready = False
            self._play()

    @property
    def seconds(self) -> float:
        """The moment that is shown."""
        return min(self.scrub.value() / _MS, self._total_s)

    @property
    def playing(self) -> bool:
        return self._timer.isActive()

    # --- playing -------------------------------------------------------------------------

    def toggle(self) -> None:
        """Play, or pause."""
        if self.playing:
            self.pause()
        elif self._ready:
            self._play()
        else:
            self._play_when_ready = True
            self.prepared_wanted.emit()

    def _play(self) -> None:
        if self.scrub.value() >= self.scrub.maximum():
            self.go_to(0.0)
        self._clock.start()
        self._timer.start()
        self.play_button.setText(tr("Pause"))

    def pause(self) -> None:
        """Stand still at this moment."""
        self._timer.stop()
        self.play_button.setText(tr("Play the cut"))

    def put_away(self) -> None:
        """Back to before the start."""
        self.pause()
        self.go_to(0.0)

    def _tick(self) -> None:
        # What the clock says, so that a slow screen skips rather than lags; a hitch is no leap.
        ahead_ms = min(self._clock.restart(), 5 * _FRAME_MS) * int(self.speed.value())
        if self.scrub.isSliderDown():
            return
        self._set(self.scrub.value() + ahead_ms)
        self._moved()
        if self.scrub.value() >= self.scrub.maximum():
            self.pause()

    def go_to(self, seconds: float) -> None:
        """Show a moment."""
        self._set(round(min(seconds, self._total_s) * _MS))
        self._moved()

    def _set(self, value_ms: int) -> None:
        blocked = self.scrub.blockSignals(True)
        self.scrub.setValue(value_ms)
        self.scrub.blockSignals(blocked)

    def _step_paths(self, by: int) -> None:
        self.pause()
        self.paths_wanted.emit(by)

    def _moved(self) -> None:
        self._tell()
        self.moved.emit(self.seconds)

    def _tell(self) -> None:
        if self._ready:
            self.time.set_text(self._so_far(self.seconds, format_time(self._total_s)))

    def _so_far(self, seconds: float, whole: str) -> str:
        return tr("{so_far} of {whole}", so_far=format_time(seconds), whole=whole)
