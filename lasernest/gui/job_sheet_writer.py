"""Writes the job sheet for the bench as PDF or HTML, in the background."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject

from lasernest.domain.control import Control
from lasernest.errors import UsageError
from lasernest.gui.asking import Asking
from lasernest.gui.desk import Desk
from lasernest.gui.parts.place import file_name, folder_of_drawings, usual_folder
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.services.apart import helpers


class JobSheetWriter(QObject):
    """Writes job sheets for one window."""

    def __init__(self, desk: Desk, asking: Asking) -> None:
        super().__init__()
        self._desk, self._asking = desk, asking

    def ask(self, cut_files: Sequence[Path]) -> None:
        """Ask where to write the job sheet and for which paper, and write it.

        Args:
            cut_files: written of the plan as it is; none where it is not written.
        """
        desk = self._desk
        if desk.job.plan is None:
            error = UsageError(
                "there is no plan for the bench yet", todo="Arrange the panels first."
            )
            desk.step_wanted.emit(Step.CUT_FILE)
            desk.trouble(Step.CUT_FILE, tr("Writing the job sheet"), error)
            return
        job_file = desk.workbench.path
        folder = usual_folder(
            job_file.parent if job_file else None,
            folder_of_drawings(source.path for source in desk.job.sources),
        )
        stem = job_file.stem if job_file else file_name(desk.job.name or tr("job"))
        answer = self._asking.job_sheet(folder / f"{stem}-job-sheet.pdf")
        if answer is not None:
            self.write(*answer, cut_files)

    def write(self, path: Path, paper: str, cut_files: Sequence[Path]) -> None:
        """Write the job sheet in the background.

        Args:
            path: `.pdf` or `.html`; another ending gets `.pdf` added.
            paper: its name, such as `a4`.
            cut_files: to be read back and proved once more for the sheet.
        """
        if path.suffix.lower() not in (".pdf", ".html", ".htm"):
            path = path.with_name(path.name + ".pdf")
        desk, job = self._desk, self._desk.job
        job_file, files = desk.workbench.path, tuple(cut_files)
        desk.settle_all(Step.CUT_FILE)

        def work(control: Control) -> int:
            from lasernest.services.job_sheet import (  # noqa: PLC0415 - heavy
                bench_of,
                write_sheet_of_job,
            )

            writing = partial(
                write_sheet_of_job,
                job,
                bench_of(job, desk.workbench.shop),
                path,
                paper=paper,
                cut_files=files,
                job_file=job_file,
            )
            return helpers.do(writing, control=control)

        def tell(pages: int) -> None:
            text = tr(
                "{name} written: {pages}.",
                name=path.name,
                pages=count_of(pages, "page", "pages"),
            )
            desk.said.emit(text if files else f"{text} {tr('Nothing is proved yet.')}")

        desk.tasks.run(
            "job sheet",
            tr("Writing the job sheet"),
            work,
            on_done=tell,
            on_failed=lambda e: desk.trouble(Step.CUT_FILE, tr("Writing the job sheet"), e),
        )
