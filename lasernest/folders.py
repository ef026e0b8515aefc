"""Where the maker's own data lies, and where files go that nobody gave a place.

`LASERNEST_HOME` names another folder, for a second profile or a test.
Nothing here creates or reads anything.
"""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

HOME_VARIABLE = "LASERNEST_HOME"


def data_folder() -> Path:
    """The folder of the maker's data; it need not exist yet."""
    chosen = os.environ.get(HOME_VARIABLE, "").strip()
    if chosen:
        return Path(chosen).expanduser()
    return platformdirs.user_data_path("lasernest", appauthor=False)


def use_profile(folder: str) -> None:
    """Keep everything of this run in another folder, to try things without a trace elsewhere."""
    os.environ[HOME_VARIABLE] = str(Path(folder).expanduser().absolute())


def documents_folder() -> Path:
    """The maker's documents, for files that nobody gave another place; else their home."""
    documents = platformdirs.user_documents_path()
    return documents if documents.is_dir() else Path.home()


def share_folder() -> Path:
    """Where the user's desktop looks for entries, icons and types of files (XDG_DATA_HOME)."""
    return platformdirs.user_data_path()
