"""Writes paper templates: panels at full size as PDF, in the background."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from lasernest.domain.control import Control
from lasernest.gui.asking import Asking
from lasernest.gui.desk import Desk
from lasernest.gui.parts.place import file_name, folder_of_drawings, usual_folder
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr

if TYPE_CHECKING:
    from lasernest.services.paper_template import WrittenTemplate


@dataclass(frozen=True, slots=True)
class Template:
    """What can be written at full size."""

    text: str
    """As a menu names it."""
    step: Step
    """Where a problem is shown."""
    panel_names: tuple[str, ...] = ()
    """Only these; all of them when empty."""
    sheet_number: int | None = None
    """From 1: the panels as the plan puts them on this sheet."""


class TemplateWriter(QObject):
    """Writes templates for one window."""

    def __init__(self, desk: Desk, asking: Asking) -> None:
        super().__init__()
        self._desk, self._asking = desk, asking

    def ask(self, wanted: Template) -> None:
        """Ask where to write a template and for which paper, and write it."""
        desk = self._desk
        folder = usual_folder(
            desk.workbench.path.parent if desk.workbench.path else None,
            folder_of_drawings(source.path for source in desk.job.sources),
        )
        names = wanted.panel_names
        stem = names[0] if len(names) == 1 else desk.job.name or tr("job")
        if wanted.sheet_number is not None:
            stem += f"-sheet-{wanted.sheet_number}"
        answer = self._asking.template(folder / f"{file_name(stem)}-template.pdf")
        if answer is not None:
            self.write(wanted, *answer)

    def write(self, wanted: Template, path: Path, paper: str) -> None:
        """Write a template in the background.

        Args:
            wanted: which panels.
            path: the PDF; the ending is added where it is missing.
            paper: its name, such as `a4`.
        """
        if path.suffix.lower() != ".pdf":
            path = path.with_name(path.name + ".pdf")
        job = self._desk.job

        def work(_control: Control) -> WrittenTemplate:
            from lasernest.services.paper_template import (  # noqa: PLC0415 - heavy
                PAPERS,
                write_template,
            )

            return write_template(
                job,
                path,
                paper=PAPERS[paper],
                panel_names=wanted.panel_names,
                sheet_number=wanted.sheet_number,
            )

        def tell(made: WrittenTemplate) -> None:
            self._desk.said.emit(
                tr(
                    "{name}: {panels} on {pages}. Print without scaling, then measure the check "
                    "line.",
                    name=path.name,
                    panels=count_of(len(made.panel_names), "panel", "panels"),
                    pages=count_of(made.pages, "page", "pages"),
                )
            )

        self._desk.tasks.run(
            "template",
            tr("Writing the paper template"),
            work,
            on_done=tell,
            on_failed=lambda e: self._desk.trouble(
                wanted.step, tr("Writing the paper template"), e
            ),
        )
