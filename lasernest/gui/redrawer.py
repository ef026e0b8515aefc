"""Reading drawings of the job again: with other choices, or because they changed on disk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

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
    read_source,
)

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


@dataclass(frozen=True, slots=True)
class News:
    """A drawing that changed on disk, read and held against the job, not taken in yet."""

    again: ReadAgain
    name: str
    """What the drawing is called in the job."""

    @property
    def changes(self) -> tuple[PanelChange, ...]:
        return self.again.seen


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
        desk.workbench.job_changed.connect(self._on_job)

    def close(self) -> None:
        """Watch no more, and tell no more news: the window goes."""
        self._closed = True
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

        def work(control: Control) -> list[News | tuple[str, Exception]]:
            found: list[News | tuple[str, Exception]] = []
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
                    found.append((name, error))
                    continue
                if (source.path, again.digest) not in self._let_be:
                    found.append(News(again, name))
            return found

        self._desk.tasks.run(
            "look",
            tr("Looking at drawings that changed"),
            work,
            on_done=self._take_news,
            on_failed=lambda e: self._desk.trouble(
                Step.OUTLINES, tr("Looking at drawings that changed"), e
            ),
        )

    def _take_news(self, found: list[News | tuple[str, Exception]]) -> None:
        if self._closed:
            return
        errors = dict(told for told in found if not isinstance(told, News))
        self._tell_unreadable(frozenset(errors))
        for name, error in errors.items():
            self._desk.trouble(Step.OUTLINES, _changed_on_disk(name), error)
        sources = self._desk.job.sources
        news = tuple(n for n in found if isinstance(n, News) and n.again.old in sources)
        if news != self.news:
            self.news = news
            self.news_changed.emit()

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
