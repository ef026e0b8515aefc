"""What comes into a desk's job: drawings of the maker's, or the sample."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.gui.board.shapes import pictures
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.job import Job
from lasernest.services.apart import helpers
from lasernest.services.commands import AddDrawing, Together
from lasernest.services.dropped import drawings_in

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


class Importer:
    """Reads in the background and puts what was read into the job."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def import_files(self, paths: Sequence[Path]) -> None:
        """Read drawings in the background and take their panels into the job."""
        try:
            wanted = [path for given in paths for path in drawings_in(given)]
        except LasernestError as error:
            self._desk.trouble(Step.OUTLINES, tr("Looking for drawings"), error)
            self._desk.step_wanted.emit(Step.OUTLINES)
            return
        if not wanted:
            names = ", ".join(path.name for path in paths)
            self._desk.said.emit(tr("There is no DXF or SVG file in {folder}.", folder=names))
            return
        self._desk.settle_all(Step.OUTLINES)
        self._desk.step_wanted.emit(Step.OUTLINES)

        def work(control: Control) -> list[tuple[Path, Any]]:
            from lasernest.services.importing import bring_in  # noqa: PLC0415 - heavy

            try:
                shop = self._desk.workbench.shop
            except LasernestError:
                shop = None  # told where the stocks are shown; drawings can do without it
            found: list[tuple[Path, Any]] = []
            for i, path in enumerate(wanted):
                control.report(i, len(wanted), tr("Reading {name}", name=path.name))
                control.check()
                try:
                    bring = partial(bring_in, path, shop=shop, with_strokes=False)
                    read = helpers.do(bring, control=control)
                    for panel in read.outlines.panels:
                        pictures.of(panel).make_ready()  # so that the window need not
                    found.append((path, AddDrawing(read.outlines, read.digest, read.choices)))
                except LasernestError as error:
                    found.append((path, error))
            return found

        self._desk.tasks.run(
            "import",
            tr("Reading {what}", what=count_of(len(wanted), "drawing", "drawings")),
            work,
            on_done=self._take_drawings,
            on_failed=lambda e: self._desk.trouble(Step.OUTLINES, tr("Reading drawings"), e),
        )

    def _take_drawings(self, found: list[tuple[Path, Any]]) -> None:
        before = len(self._desk.job.panels)
        commands = tuple(result for _, result in found if isinstance(result, AddDrawing))
        for path, result in found:
            if isinstance(result, Exception):
                self._desk.trouble(Step.OUTLINES, path.name, result)
            else:
                self._desk.settle_what(Step.OUTLINES, path.name)  # exported again, it can be read
        if len(commands) == 1:
            self._desk.do(commands[0])
        elif commands:
            label = tr("Add {what}", what=count_of(len(commands), "drawing", "drawings"))
            self._desk.do(Together(label, commands))
        if commands:
            added = len(self._desk.job.panels) - before
            self._desk.said.emit(tr("{panels} added.", panels=count_of(added, "panel", "panels")))

    def open_sample(self, then: Callable[[], object] | None = None) -> None:
        """Put the sample job on a blank desk, in the background; `then` goes on with it."""

        def take(job: Job) -> None:
            self._desk.workbench.new(job)
            if then is not None:
                then()

        def work(control: Control) -> Job:
            from lasernest.services.demo import demo_job  # noqa: PLC0415 - heavy

            return demo_job(control=control, shop=self._desk.workbench.shop)

        self._desk.tasks.run(
            "import",
            tr("Opening the sample job"),
            work,
            on_done=take,
            on_failed=lambda e: self._desk.trouble(Step.OUTLINES, tr("Opening the sample job"), e),
        )
