"""Where the files lie that come with the program: data, icons, texts, sample panels.

In a checkout they are the top-level folders `resources/` and `sample_panels/`;
in an installed package they lie inside it under `shipped/` (pyproject.toml puts
them there). Nothing here reads a file.
"""

from __future__ import annotations

from pathlib import Path

from lasernest.errors import NotFoundError

_PACKAGE = Path(__file__).resolve().parent


def resource(name: str) -> Path:
    """The path of a file or folder in `resources/`, such as `stock.toml`.

    Raises:
        NotFoundError: it is not there, so the installation is damaged.
    """
    return _shipped(Path("resources") / name)


def sample_panels() -> Path:
    """The folder of the sample drawings.

    Raises:
        NotFoundError: it is not there, so the installation is damaged.
    """
    return _shipped(Path("sample_panels"))


def _shipped(relative: Path) -> Path:
    # The packed copy first: beside an installed package lie the folders of strangers.
    for root in (_PACKAGE / "shipped", _PACKAGE.parent):
        path = root / relative
        if path.exists():
            return path
    raise NotFoundError(
        f"a file that comes with lasernest is missing: {relative.as_posix()}",
        todo="Install lasernest again.",
    )
