"""The settings on the board: few, each with a sentence, found by typing.

A change is in force and kept at once; there is nothing to confirm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import partial

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLineEdit, QSizePolicy, QWidget

from lasernest.folders import data_folder
from lasernest.gui import preferences
from lasernest.gui.command_search import Hit, best_hits
from lasernest.gui.languages import ENGLISH, SYSTEM, languages, name_of
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, TextSize, theme
from lasernest.gui.parts.basics import Text, button, horizontal, rule, vertical
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.parts.plain_fields import NumberField
from lasernest.gui.parts.plates import see_through_scroll
from lasernest.gui.settings import Settings, save_settings
from lasernest.gui.words import tr

_MEASURE = 640
_CONTROL = 190
_BAR_PX = 300.0
_MEMORY = frozenset(
    {"recent_jobs", "last_folder", "stock_name", "machine_name", "tour_seen", "width", "height"}
)
"""What the window remembers by itself; going back to the defaults leaves it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One setting: what it is called, what it does, and what changes it."""

    group: str
    name: str
    explain: str
    control: str
    """Its name in `SettingsView`."""


def entries() -> tuple[Entry, ...]:
    """All settings, as they come on the page; to be told without making it."""
    looks, measures = tr("Looks"), tr("Lengths")
    jobs, keeping = tr("New jobs and arranging"), tr("Saving and records")
    return (
        Entry(
            looks,
            tr("Light or dark"),
            tr("As the system is, also when it changes through the day."),
            "brightness",
        ),
        Entry(
            looks,
            tr("Contrast"),
            tr("With high contrast, colours and borders are stronger."),
            "contrast",
        ),
        Entry(
            looks,
            tr("Text size"),
            tr("Texts, fields and tiles grow together."),
            "text_scale",
        ),
        Entry(
            looks,
            tr("Language"),
            tr(
                "From the next start. The guide, findings and errors are English; anyone can "
                "add the texts of the window in another language."
            ),
            "language",
        ),
        Entry(
            measures,
            tr("Unit of length"),
            tr(
                "For all that is shown and typed. A unit typed with a number always wins; "
                "decimals may have a point or a comma. Job files and cut files stay in "
                "millimetres."
            ),
            "unit",
        ),
        Entry(
            measures,
            tr("Length of this bar on your screen"),
            tr(
                "Hold a ruler to the bar and type what you read, so that 1:1 is true. "
                "Empty: what the screen says of itself."
            ),
            "bar",
        ),
        Entry(
            jobs,
            tr("Usual gap between panels"),
            tr("What a new job begins with; jobs that are open stay as they are."),
            "gap",
        ),
        Entry(
            jobs,
            tr("Usual margin at the edge"),
            tr("What a new job begins with; jobs that are open stay as they are."),
            "margin",
        ),
        Entry(
            jobs,
            tr("Search time"),
            tr("How long Arrange on sheets looks for better plans; Stop ends it sooner."),
            "seconds",
        ),
        Entry(
            keeping,
            tr("Keep unsaved work"),
            tr(
                "A moment after each change the job is kept, and offered again after a "
                "crash. A window that is closed unsaved is kept in any case."
            ),
            "keeping",
        ),
        Entry(
            keeping,
            tr("Where your records lie"),
            tr(
                "Shop book, settings and kept jobs: {folder}. Start with --profile FOLDER "
                "to try things in another place.",
                folder=data_folder(),
            ),
            "folder",
        ),
        Entry(
            keeping,
            tr("Defaults"),
            tr("Sets all of this page back; jobs and shop book stay."),
            "defaults",
        ),
    )


def setting_hits(go: Callable[[Entry], object]) -> list[Hit]:
    """The settings as they are found by their words; `go` leads to one."""
    return [Hit(e.name, tr("Settings"), partial(go, e), "", e.explain) for e in entries()]


class SettingsView(QFrame):
    """All settings, in place of the drawing."""

    back_wanted = Signal()
    folder_wanted = Signal(object)
    """The folder to show in the system's file manager."""
    usual_changed = Signal()
    """What a new job begins with is another."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self.setProperty("kind", "card")
        self._settings = settings
        self._make_controls()
        self.entries = entries()
        self._rows: dict[str, QWidget] = {}
        self._heads: dict[str, QWidget] = {}
        self._lay_out()
        theme.changed.connect(self.refresh)
        lengths.changed.connect(self.refresh)
        self.refresh()

    def _make_controls(self) -> None:
        settings = self._settings
        self.brightness = ChoiceField()
        self.brightness.picked.connect(partial(preferences.choose_brightness, settings))
        self.contrast = ChoiceField()
        self.contrast.picked.connect(partial(preferences.choose_contrast, settings))
        self.text_scale = ChoiceField()
        self.text_scale.picked.connect(partial(preferences.choose_text_scale, settings))
        self.language = ChoiceField()
        self.language.picked.connect(partial(self._set, "language"))
        self.unit = ChoiceField()
        self.unit.picked.connect(partial(preferences.choose_inches, settings))
        self.bar = LengthField(least_mm=10.0, most_mm=500.0, empty=tr("not measured"))
        self.bar.committed.connect(self._bar_measured)
        self.bar.cleared.connect(partial(preferences.choose_screen_scale, settings, 0.0))
        self.gap = LengthField(most_mm=500.0)
        self.gap.committed.connect(partial(self._set_usual, "gap_mm"))
        self.margin = LengthField(most_mm=500.0)
        self.margin.committed.connect(partial(self._set_usual, "margin_mm"))
        self.seconds = NumberField(unit="s", least=1.0, most=3600.0, step=5.0, empty="20 s")
        self.seconds.committed.connect(self._set_seconds)
        self.keeping = ChoiceField()
        self.keeping.picked.connect(partial(self._set, "keep_while_working"))
        self.folder = button(tr("Open folder"), lambda: self.folder_wanted.emit(data_folder()))
        self.defaults = button(tr("Back to the defaults"), self._back_to_defaults)

    def _lay_out(self) -> None:
        column = vertical(self, gap=8)
        column.setContentsMargins(16, 12, 12, 12)
        head = horizontal(gap=8)
        head.addWidget(Text(tr("Settings"), size=TextSize.LARGE, strong=True), 1)
        head.addWidget(button(tr("Back to the job"), self.back_wanted.emit, tip="Esc"))
        column.addLayout(head)
        self.field = QLineEdit()
        self.field.setPlaceholderText(tr("Search the settings"))
        self.field.setAccessibleName(tr("Search the settings"))
        self.field.setClearButtonEnabled(True)
        self.field.textChanged.connect(self._filter)
        column.addWidget(self.field)
        self.none = Text(tr("No setting has that name. Try another word."), kind="quiet")
        column.addWidget(self.none)
        inner = QWidget()
        self._inner = vertical(inner, gap=8)
        self._inner.setContentsMargins(0, 4, 16, 12)
        for entry in self.entries:
            if entry.group not in self._heads:
                made = Text(entry.group, strong=True)
                made.setContentsMargins(0, 12 if self._heads else 0, 0, 0)
                self._heads[entry.group] = made
                self._inner.addWidget(made)
            self._rows[entry.name] = self._row(entry)
            self._inner.addWidget(self._rows[entry.name])
        self._inner.addStretch(1)
        self._scroll = see_through_scroll(inner)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column.addWidget(self._scroll, 1)
        self.setFocusProxy(self.field)

    def control_of(self, entry: Entry) -> QWidget:
        """What changes a setting."""
        control: QWidget = getattr(self, entry.control)
        return control

    def _row(self, entry: Entry) -> QWidget:
        made, control = QWidget(), self.control_of(entry)
        outer = vertical(made, gap=8)
        outer.addWidget(rule())
        row = horizontal(gap=24)
        texts = vertical(gap=2)
        name = Text(entry.name)
        name.setBuddy(control)
        texts.addWidget(name)
        texts.addWidget(Text(entry.explain, size=TextSize.SMALL, kind="quiet", wrap=True))
        if control is self.bar:
            texts.addWidget(_Bar(), 0, Qt.AlignmentFlag.AlignLeft)
        row.addLayout(texts, 1)
        row.addWidget(control, 0, Qt.AlignmentFlag.AlignTop)
        outer.addLayout(row)
        control.setAccessibleName(entry.name)
        control.setAccessibleDescription(entry.explain)
        control.setToolTip(entry.explain)
        return made

    # --- what is shown -------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the settings as they are now."""
        settings = self._settings
        self.brightness.offer(
            [
                (tr("like the system"), Brightness.SYSTEM),
                (tr("light"), Brightness.LIGHT),
                (tr("dark"), Brightness.DARK),
            ],
            preferences.brightness_of(settings),
        )
        self.contrast.offer([(tr("usual"), False), (tr("high"), True)], settings.high_contrast)
        self.text_scale.offer(
            [(f"{100 * scale:.0f} %", scale) for scale in preferences.TEXT_SCALES],
            settings.text_scale,
        )
        self.language.offer(
            [
                (tr("like the system"), SYSTEM),
                ("English", ENGLISH),
                *((name_of(language), language) for language in languages()),
            ],
            settings.language,
        )
        self.unit.offer([(tr("millimetres"), False), (tr("inches"), True)], settings.inches)
        scale = settings.screen_px_per_mm
        self.bar.set_mm(_BAR_PX / scale if scale else None)
        self.gap.set_mm(settings.gap_mm)
        self.margin.set_mm(settings.margin_mm)
        self.seconds.set_number(settings.search_seconds)
        self.keeping.offer(
            [(tr("after each change"), True), (tr("only when closing"), False)],
            settings.keep_while_working,
        )
        for entry in self.entries:
            self.control_of(entry).setFixedWidth(theme.pixels(_CONTROL))
        for widget in (self.field, self._scroll):
            widget.setMaximumWidth(theme.pixels(_MEASURE))
        self.field.setFont(theme.font())

    def go_to(self, entry: Entry) -> None:
        """Let a setting be seen, and its control have the keys."""
        self.field.clear()
        self._scroll.ensureWidgetVisible(self._rows[entry.name])
        self.control_of(entry).setFocus(Qt.FocusReason.TabFocusReason)

    def shown(self) -> list[str]:
        """Names of the settings that the search leaves."""
        return [e.name for e in self.entries if not self._rows[e.name].isHidden()]

    def _filter(self) -> None:
        left = best_hits(setting_hits(self.go_to), self.field.text())
        names = {hit.text for hit in left}
        for entry in self.entries:
            self._rows[entry.name].setVisible(entry.name in names)
        for group, head in self._heads.items():
            head.setVisible(any(e.group == group and e.name in names for e in self.entries))
        self.none.setVisible(not names)

    def showEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        self._filter()

    # --- what the maker does -----------------------------------------------------------

    def _set(self, name: str, value: object) -> None:
        setattr(self._settings, name, value)
        save_settings(self._settings)

    def _set_usual(self, name: str, value_mm: float) -> None:
        self._set(name, value_mm)
        self.usual_changed.emit()

    def _set_seconds(self, seconds: float | None) -> None:
        self._set("search_seconds", Settings().search_seconds if seconds is None else seconds)
        self.refresh()

    def _bar_measured(self, length_mm: float) -> None:
        preferences.choose_screen_scale(self._settings, _BAR_PX / length_mm)

    def _back_to_defaults(self) -> None:
        usual = Settings()
        for known in fields(Settings):
            if known.name not in _MEMORY:
                setattr(self._settings, known.name, getattr(usual, known.name))
        preferences.dress(self._settings)
        save_settings(self._settings)
        self.refresh()
        self.usual_changed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() != Qt.Key.Key_Escape:
            super().keyPressEvent(event)
        elif self.field.text():
            self.field.clear()
        else:
            self.back_wanted.emit()


class _Bar(QWidget):
    """A bar to hold a ruler to."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFixedSize(int(_BAR_PX) + 2, 16)
        theme.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        ink = theme.colour("ink")
        painter.fillRect(QRectF(1, 6, _BAR_PX, 4), ink)
        for x in (1.0, _BAR_PX):
            painter.fillRect(QRectF(x - (x > 1), 1, 1, 14), ink)
        painter.end()
