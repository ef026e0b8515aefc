"""Other languages: files of Qt's `.ts` form, read as they are.

A file `lasernest_XX.ts`, XX being a language such as `de` or `pt_BR`, lies in
`resources/translations/` or in the folder `languages` of the maker's data
folder, where one can be tried without any tool. Texts that it lacks stay
English. Finished texts only are taken.
"""

from __future__ import annotations

import logging
from pathlib import Path

from PySide6.QtCore import (
    QCoreApplication,
    QFile,
    QIODevice,
    QLocale,
    QTranslator,
    QXmlStreamReader,
)

from lasernest.errors import NotFoundError
from lasernest.folders import data_folder
from lasernest.resources import resource

log = logging.getLogger(__name__)

SYSTEM, ENGLISH = "", "en"
"""What the setting holds besides the name of a language."""


class Translation(QTranslator):
    """The texts of one language."""

    def __init__(self, texts: dict[str, str]) -> None:
        super().__init__()
        self._texts = texts

    def isEmpty(self) -> bool:  # noqa: N802 - Qt's name
        return not self._texts

    def translate(
        self, context: str, source: str, disambiguation: str | None = None, n: int = -1
    ) -> str | None:
        return self._texts.get(source)


def read_texts(path: Path) -> dict[str, str]:
    """The finished translations of a `.ts` file; what cannot be read is told in the log."""
    file = QFile(str(path))
    if not file.open(QIODevice.OpenModeFlag.ReadOnly):
        log.warning("%s cannot be read: %s", path, file.errorString())
        return {}
    reader = QXmlStreamReader(file)
    texts: dict[str, str] = {}
    source = ""
    while not reader.atEnd():
        if reader.readNext() is not QXmlStreamReader.TokenType.StartElement:
            continue
        if reader.name() == "source":
            source = reader.readElementText()
        elif reader.name() == "translation":
            unfinished = reader.attributes().value("type") == "unfinished"
            text = reader.readElementText()
            if text and not unfinished:
                texts[source] = text
    if reader.hasError():
        log.warning("%s is damaged: %s", path, reader.errorString())
    file.close()
    return texts


def languages() -> dict[str, Path]:
    """The languages there are files for, with their files; the maker's own come first."""
    found: dict[str, Path] = {}
    for folder in _folders():
        for path in sorted(folder.glob("lasernest_*.ts")):
            found.setdefault(path.stem.removeprefix("lasernest_"), path)
    return dict(sorted(found.items()))


def _folders() -> list[Path]:
    folders = [data_folder() / "languages"]
    try:
        folders.append(resource("translations"))
    except NotFoundError:
        log.debug("no translations come with this copy")
    return folders


def name_of(language: str) -> str:
    """What speakers of a language call it."""
    return QLocale(language).nativeLanguageName() or language


def choose(wanted: str) -> str:
    """The language to speak: the one wanted, else that of the system, else English."""
    there = languages()
    if wanted == SYSTEM:
        system = QLocale.system().name()
        wanted = system if system in there else system.partition("_")[0]
    return wanted if wanted in there else ENGLISH


def speak(wanted: str) -> Translation | None:
    """Install the language wanted, before the first window is made."""
    language = choose(wanted)
    if language == ENGLISH:
        return None
    translation = Translation(read_texts(languages()[language]))
    QCoreApplication.installTranslator(translation)
    return translation
