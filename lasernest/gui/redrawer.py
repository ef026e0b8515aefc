"""Reading drawings of the job again: with other choices, or because they changed on disk."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from lasernest.domain.control import Control
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.panel_changes import PanelChange
from lasernest.errors import LasernestError
from lasernest.gui.board.shapes import pictures
from lasernest.gui.drawing_watch import DrawingWatch
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.job import Job, Source
from lasernest.services.apart import helpers
from lasernest.services.commands import Command, Together
from lasernest.services.drawing_names import names_apart
from lasernest.services.redrawing import (
    OnlyChanged,
    ReadAgain,
    differs_on_disk,
    is_gone,
    read_source,
)

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk

GONE_AFTER_S = 2.0
"""A drawing is gone when it is missing for so long: some programs delete and write anew."""


@dataclass(frozen=True, slots=True)
class News:
    """A drawing that changed on disk, read and held against the job, not taken in yet."""

    again: ReadAgain
    name: str
    """What the drawing is called in the job."""

    @property
    def changes(self) -> tuple[PanelChange, ...]:
        return self.again.seen


@dataclass(frozen=True, slots=True)
class _Looked:
    """What a look at the job's drawings found."""

    news: tuple[News, ...]
    errors: dict[str, Exception]
    """Why drawings that changed could not be read, by their names."""
    there: frozenset[str]
    missing: frozenset[str]
    """Paths."""


class Redrawer(QObject):
    """The desk's dealings with drawings that are in the job already."""

    news_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._watch = DrawingWatch(self)
        self._watch.changed.connect(self.look)
        self._let_be: set[tuple[str, str]] = set()
        """Path and digest of what the maker does not want to take in."""
        self._closed = False
        self._known: set[tuple[str, str]] = set()
        """Path and digest of the drawings that the job had last."""
        self._unreadable: frozenset[str] = frozenset()
        """Names of drawings that changed and could not be read, as was told last."""
        self.news: tuple[News, ...] = ()
        self._there: set[str] = set()
        """Paths of drawings that were on disk since the window has them."""
        self._missing_since_s: dict[str, float] = {}
        self._gone: frozenset[str] = frozenset()
        """Paths that are missing for long enough to be told."""
        self._gone_known: set[str] = set()
        """Those of which the maker needs to hear no more."""
        self._look_again = QTimer(self)
        self._look_again.setSingleShot(True)
        self._look_again.timeout.connect(self.look)
        desk.workbench.job_changed.connect(self._on_job)

    def close(self) -> None:
        """Watch no more, and tell no more news: the window goes."""
        self._closed = True
        self._look_again.stop()
        self._desk.workbench.job_changed.disconnect(self._on_job)
        self._watch.watch(())

    # --- drawings that change on disk --------------------------------------------------

    def _on_job(self, job: Job) -> None:
        self._watch.watch(source.path for source in job.sources if source.digest)
        known = {(source.path, source.digest) for source in job.sources if source.digest}
        if known - self._known:
            # A job that was opened may be older than its drawings.
            self.look()
        self._known = known
        self._tell_unreadable(self._unreadable.intersection(names_apart(job.sources)))
        kept = tuple(news for news in self.news if news.again.old in job.sources)
        if kept != self.news:
            self.news = kept
            self.news_changed.emit()

    def look(self) -> None:
        """See in the background which drawings changed, and what changed in them."""
        if self._closed:
            return
        job = self._desk.job

        def work(control: Control) -> _Looked:
            news: list[News] = []
            errors: dict[str, Exception] = {}
            missing = frozenset(source.path for source in job.sources if is_gone(source))
            drawn = job.changed(plan=None, comparison=None)  # the rest need not be sent
            for source, name in zip(job.sources, names_apart(job.sources), strict=True):
                control.check()
                if not differs_on_disk(source):
                    continue
                try:
                    again = _made_ready(
                        helpers.do(read_source, source, drawn, control=control), job
                    )
                except LasernestError as error:
                    errors[name] = error
                    continue
                if (source.path, again.digest) not in self._let_be:
                    news.append(News(again, name))
            there = frozenset(source.path for source in job.sources) - missing
            return _Looked(tuple(news), errors, there, missing)

        self._desk.tasks.run(
            "look",
            tr("Looking at drawings that changed"),
            work,
            on_done=self._take_news,
            on_failed=lambda e: self._desk.trouble(
                Step.OUTLINES, tr("Looking at drawings that changed"), e
            ),
        )

    def _take_news(self, found: _Looked) -> None:
        if self._closed:
            return
        self._tell_unreadable(frozenset(found.errors))
        for name, error in found.errors.items():
            self._desk.trouble(Step.OUTLINES, _changed_on_disk(name), error)
        sources = self._desk.job.sources
        news = tuple(n for n in found.news if n.again.old in sources)
        gone = self._gone_of(found)
        if (news, gone) != (self.news, self._gone):
            self.news, self._gone = news, gone
            self.news_changed.emit()

    # --- drawings that are gone --------------------------------------------------------

    @property
    def gone(self) -> tuple[str, ...]:
        """Names of the job's drawings that are no longer where they were read."""
        told, sources = self._gone - self._gone_known, self._desk.job.sources
        if not told:
            return ()
        named = zip(names_apart(sources), sources, strict=True)
        return tuple(name for name, source in named if source.path in told)

    def put_gone_away(self) -> None:
        """The maker knows that these are gone."""
        self._gone_known |= self._gone
        self.news_changed.emit()

    def _gone_of(self, found: _Looked) -> frozenset[str]:
        """The missing that were there before, for long enough; the others are looked at again."""
        self._there |= found.there
        self._gone_known -= found.there
        now_s = time.monotonic()
        self._missing_since_s = {
            path: self._missing_since_s.get(path, now_s) for path in found.missing & self._there
        }
        left_s = {p: GONE_AFTER_S - now_s + at for p, at in self._missing_since_s.items()}
        if waiting := [seconds for seconds in left_s.values() if seconds > 0.0]:
            self._look_again.start(round(1000 * max(waiting)) + 1)
        return frozenset(path for path, seconds in left_s.items() if seconds <= 0.0)

    def _tell_unreadable(self, names: frozenset[str]) -> None:
        """Only these still cannot be read; what was told of others no longer matters."""
        for name in self._unreadable - names:
            self._desk.settle_what(Step.OUTLINES, _changed_on_disk(name))
        self._unreadable = names

    def take_in(self, news: News, *, only_changed: bool = False) -> None:
        """Put the new drawing in the old one's place, as one step to undo.

        Args:
            news: what changed.
            only_changed: panels that stayed the same get quantity 0.
        """
        command: Command = news.again
        if only_changed:
            label = tr("Take in what changed in {name}", name=news.name)
            command = Together(label, (news.again, OnlyChanged(news.changes)))
        # That it is no news any more is shown with the job.
        self.news = tuple(n for n in self.news if n is not news)
        self._desk.do(command)

    def let_be(self, news: News) -> None:
        """Stay with the drawing as the job has it, until it changes again."""
        self._let_be.add((news.again.old.path, news.again.digest))
        self.news = tuple(n for n in self.news if n is not news)
        self.news_changed.emit()

    # --- other choices -------------------------------------------------------------------

    def read_again(
        self, wanted: Sequence[tuple[Source, ImportChoices]], *, remember: bool = False
    ) -> None:
        """Read drawings in the background with other choices, as one step to undo.

        Args:
            wanted: drawings as the job has them, and what the maker decided for each.
            remember: keep what lines are for, for the next drawing with the same layers.
        """
        if not wanted:
            return
        names = names_apart([source for source, _choices in wanted])
        told = names[0] if len(names) == 1 else count_of(len(names), "drawing", "drawings")
        drawn = self._desk.job.changed(plan=None, comparison=None)

        def work(control: Control) -> list[ReadAgain]:
            read: list[ReadAgain] = []
            for source, choices in wanted:
                control.check()
                reading = partial(read_source, source, drawn, choices, with_strokes=remember)
                read.append(_made_ready(helpers.do(reading, control=control), drawn))
            return read

        def take(read: list[ReadAgain]) -> None:
            label = tr("Read {name} again", name=told)
            self._desk.do(read[0] if len(read) == 1 else Together(label, tuple(read)))
            if remember:
                for again in read:
                    self._remember(again)

        self._desk.tasks.run(
            "import",
            tr("Reading {name} again", name=told),
            work,
            on_done=take,
            on_failed=lambda e: self._desk.trouble(Step.OUTLINES, told, e),
        )

    def _remember(self, again: ReadAgain) -> None:
        from lasernest.services.importing import Imported, remember_uses  # noqa: PLC0415 - heavy

        read = Imported(again.outlines, again.digest, again.choices)
        try:
            remember_uses(read, self._desk.workbench.shop)
        except LasernestError as error:
            self._desk.trouble(Step.OUTLINES, tr("Remembering what lines are for"), error)


def _changed_on_disk(name: str) -> str:
    return tr("{name} changed on disk", name=name)


def _made_ready(again: ReadAgain, job: Job) -> ReadAgain:
    """Do in the background what the window would do when it takes in a drawing read again."""
    again = again.rooted_in(job)
    for change in again.seen:
        if change.new is not None:
            pictures.of(change.new).make_ready()
    return again
