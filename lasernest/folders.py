"""Where the maker's own data lies: the shop book, autosaved jobs, settings.

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
