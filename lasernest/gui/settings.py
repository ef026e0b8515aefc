"""What the window remembers between runs: few, honest settings in one JSON file.

The file lies in the maker's data folder; a damaged one is set aside, never an
error, since nothing of the maker's work is in it.
"""

from __future__ import annotations

import json
import logging
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from lasernest.errors import UnwritableFileError
from lasernest.files import write_atomically
from lasernest.folders import data_folder
from lasernest.job import Setup

log = logging.getLogger(__name__)

FILE_NAME = "window.json"
MOST_RECENT = 8
_USUAL = Setup()


@dataclass(slots=True)
class Settings:
    """All settings with their defaults."""

    brightness: str = "SYSTEM"
    high_contrast: bool = False
    text_scale: float = 1.0
    inches: bool = False
    language: str = ""
    """Such as `de`; empty: the system's, where there is a translation."""
    stock_name: str = ""
    """The stock a new job starts with: the one chosen last."""
    machine_name: str = ""
    """The machine a new job starts with: the one chosen last; empty for the shop's first."""
    search_seconds: float = 20.0
    """How long Arrange searches."""
    gap_mm: float = _USUAL.gap_mm
    """Between panels, for new jobs."""
    margin_mm: float = _USUAL.margin_mm
    keep_while_working: bool = True
    """Unsaved work is kept after each change, not only when a window closes."""
    screen_px_per_mm: float = 0.0
    """Measured on the screen with a ruler; 0 while unmeasured."""
    recent_jobs: list[str] = field(default_factory=list)
    last_folder: str = ""
    tour_seen: bool = False
    width: int = 1280
    height: int = 800

    def note_recent(self, path: Path) -> None:
        """Put a job at the head of the recent ones."""
        name = str(path)
        self.recent_jobs = [name, *(p for p in self.recent_jobs if p != name)][:MOST_RECENT]


def load_settings(path: Path | None = None) -> Settings:
    """The settings kept, or the defaults."""
    path = path or data_folder() / FILE_NAME
    settings = Settings()
    try:
        kept: Any = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return settings
    except (OSError, ValueError) as error:
        log.warning("the settings in %s cannot be read and are left: %s", path, error)
        return settings
    if isinstance(kept, dict):
        for known in fields(Settings):
            value = kept.get(known.name)
            if isinstance(value, type(getattr(settings, known.name))):
                setattr(settings, known.name, value)
    return settings


def save_settings(settings: Settings, path: Path | None = None) -> None:
    """Keep the settings; a folder that cannot be written is told in the log only."""
    path = path or data_folder() / FILE_NAME
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, json.dumps(asdict(settings), indent=1).encode())
    except (OSError, UnwritableFileError) as error:
        log.warning("the settings cannot be kept in %s: %s", path, error)
