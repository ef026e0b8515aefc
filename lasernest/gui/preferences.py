"""Changing what the maker prefers: each change is in force at once and kept.

The menu and the page of settings do it through the same functions, so that
they cannot differ.
"""

from __future__ import annotations

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.settings import Settings, save_settings

TEXT_SCALES = (0.9, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0)


def dress(settings: Settings) -> None:
    """Let the program look and measure as the settings say."""
    wanted = (brightness_of(settings), settings.high_contrast, settings.text_scale)
    if wanted != (theme.brightness, theme.high_contrast, theme.text_scale):
        theme.choose(brightness=wanted[0], high_contrast=wanted[1], text_scale=wanted[2])
    lengths.show_inches(settings.inches)
    lengths.screen_px_per_mm = settings.screen_px_per_mm


def brightness_of(settings: Settings) -> Brightness:
    """The brightness chosen; the system's for a word that nobody knows."""
    return Brightness.__members__.get(settings.brightness, Brightness.SYSTEM)


def choose_brightness(settings: Settings, which: Brightness) -> None:
    """Light, dark, or as the system is."""
    settings.brightness = which.name
    _take(settings)


def choose_contrast(settings: Settings, high: bool) -> None:
    """Stronger colours and borders, or the usual ones."""
    settings.high_contrast = high
    _take(settings)


def choose_text_scale(settings: Settings, scale: float) -> None:
    """The size of text; 1 is the usual one."""
    settings.text_scale = scale
    _take(settings)


def step_text_scale(settings: Settings, by: int) -> None:
    """Texts some steps larger or smaller."""
    nearest = min(TEXT_SCALES, key=lambda s: abs(s - settings.text_scale))
    at = min(max(TEXT_SCALES.index(nearest) + by, 0), len(TEXT_SCALES) - 1)
    choose_text_scale(settings, TEXT_SCALES[at])


def choose_inches(settings: Settings, inches: bool) -> None:
    """Inches everywhere, or millimetres."""
    settings.inches = inches
    _take(settings)


def choose_screen_scale(settings: Settings, px_per_mm: float) -> None:
    """What a millimetre is on this screen; 0 is what the screen says of itself."""
    settings.screen_px_per_mm = px_per_mm
    _take(settings)


def _take(settings: Settings) -> None:
    dress(settings)
    save_settings(settings)
