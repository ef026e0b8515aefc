"""Colours of the window, light, dark and high contrast, each designed.

Meanings (`inner cut`, `good`, `question`) have colours from the palette of
Okabe and Ito (Color Universal Design), darkened or lightened until text in
them reaches a contrast of 4.5:1 on every ground it stands on (WCAG 2.1,
success criterion 1.4.3). No meaning is told by colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """One set of colours, as `#rrggbb`."""

    name: str
    dark: bool
    paper: str
    """The window's ground."""
    board: str
    """The drawing area's ground."""
    card: str
    card_border: str
    field: str
    """Ground of a field one types in."""
    field_border: str
    hover: str
    rule: str
    """Thin parting lines."""
    ink: str
    quiet: str
    """Text of second rank."""
    faint: str
    """Lines and signs that carry no text."""
    accent: str
    """Text and borders in the accent colour."""
    accent_ground: str
    accent_hover: str
    on_accent: str
    """Text on the accent's ground."""
    chosen: str
    """Ground of what is chosen."""
    sheet: str
    sheet_border: str
    panel: str
    panel_chosen: str
    outer_cut: str
    inner_cut: str
    score: str
    engrave: str
    kerf: str
    """Swept kerf, drawn translucent."""
    hatch: str
    good: str
    question: str
    question_ground: str
    question_border: str
    bad: str
    bad_ground: str
    bad_border: str


LIGHT = Palette(
    name="light",
    dark=False,
    paper="#f5f3ee",
    board="#ebe8e0",
    card="#fffefb",
    card_border="#dcd8cd",
    field="#ffffff",
    field_border="#c4bfb2",
    hover="#f1eee6",
    rule="#e6e2d8",
    ink="#1d2125",
    quiet="#5b6066",
    faint="#b3ada0",
    accent="#00659e",
    accent_ground="#0072b2",
    accent_hover="#006199",
    on_accent="#ffffff",
    chosen="#e4f0f8",
    sheet="#fdfcf8",
    sheet_border="#857f71",
    panel="#e5ecf0",
    panel_chosen="#cfe4f2",
    outer_cut="#1d2125",
    inner_cut="#0072b2",
    score="#9c6200",
    engrave="#9a4477",
    kerf="#d55e00",
    hatch="#c9c3b5",
    good="#00704f",
    question="#805300",
    question_ground="#fff5df",
    question_border="#ecd3a0",
    bad="#a93c00",
    bad_ground="#fdece3",
    bad_border="#edbfa6",
)

DARK = Palette(
    name="dark",
    dark=True,
    paper="#191a1b",
    board="#121314",
    card="#222426",
    card_border="#34373a",
    field="#191b1d",
    field_border="#51565b",
    hover="#2c2f32",
    rule="#34373a",
    ink="#eceae4",
    quiet="#a8aaa8",
    faint="#64686b",
    accent="#6cbef0",
    accent_ground="#2f9bd8",
    accent_hover="#56b4e9",
    on_accent="#08141c",
    chosen="#1c3342",
    sheet="#26282a",
    sheet_border="#7d8184",
    panel="#34404a",
    panel_chosen="#27506b",
    outer_cut="#eceae4",
    inner_cut="#62b9ee",
    score="#e9a820",
    engrave="#d68bb3",
    kerf="#f08a3c",
    hatch="#4a4d4f",
    good="#35c79c",
    question="#efb444",
    question_ground="#332a17",
    question_border="#5e4c23",
    bad="#ff9a66",
    bad_ground="#39241a",
    bad_border="#6d4029",
)

LIGHT_CONTRAST = Palette(
    name="light, high contrast",
    dark=False,
    paper="#ffffff",
    board="#f4f4f2",
    card="#ffffff",
    card_border="#3b3f44",
    field="#ffffff",
    field_border="#1d2125",
    hover="#e8e8e4",
    rule="#6b6f74",
    ink="#000000",
    quiet="#2b2f33",
    faint="#5b6066",
    accent="#004a75",
    accent_ground="#00507f",
    accent_hover="#003b5e",
    on_accent="#ffffff",
    chosen="#d3e8f5",
    sheet="#ffffff",
    sheet_border="#3b3f44",
    panel="#e3ebf0",
    panel_chosen="#b9dcf2",
    outer_cut="#000000",
    inner_cut="#005a8c",
    score="#7a4c00",
    engrave="#7d2e5d",
    kerf="#b34f00",
    hatch="#8b8577",
    good="#005138",
    question="#5c3b00",
    question_ground="#fff3d6",
    question_border="#5c3b00",
    bad="#7e2c00",
    bad_ground="#fde6da",
    bad_border="#7e2c00",
)

DARK_CONTRAST = Palette(
    name="dark, high contrast",
    dark=True,
    paper="#000000",
    board="#000000",
    card="#0c0d0e",
    card_border="#b9bcbd",
    field="#000000",
    field_border="#eceae4",
    hover="#24282b",
    rule="#85898b",
    ink="#ffffff",
    quiet="#d8d9d7",
    faint="#a8aaa8",
    accent="#8fd0f7",
    accent_ground="#8fd0f7",
    accent_hover="#b5e0fa",
    on_accent="#00131f",
    chosen="#0d3a56",
    sheet="#101213",
    sheet_border="#d8d9d7",
    panel="#25333e",
    panel_chosen="#1a567d",
    outer_cut="#ffffff",
    inner_cut="#7fcbf8",
    score="#ffc24a",
    engrave="#f0abd0",
    kerf="#ff9d52",
    hatch="#85898b",
    good="#5fe3bb",
    question="#ffcd6b",
    question_ground="#241c0a",
    question_border="#ffcd6b",
    bad="#ffc4a3",
    bad_ground="#2b170d",
    bad_border="#ffb48c",
)

PALETTES = (LIGHT, DARK, LIGHT_CONTRAST, DARK_CONTRAST)


def palette_for(*, dark: bool, high_contrast: bool) -> Palette:
    """The set of colours for a brightness and a contrast."""
    if high_contrast:
        return DARK_CONTRAST if dark else LIGHT_CONTRAST
    return DARK if dark else LIGHT


def luminance(colour: str) -> float:
    """Relative luminance of `#rrggbb`, 0 to 1. Source: WCAG 2.1, definition."""
    channels = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21. Source: WCAG 2.1, definition."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def text_pairs(p: Palette) -> list[tuple[str, str, str]]:
    """Every pairing of a text colour with the ground it may stand on: name, text, ground."""
    pairs = [
        (f"{text} on {ground}", getattr(p, text), getattr(p, ground))
        for text in ("ink", "quiet")
        for ground in ("paper", "board", "card", "field", "hover", "chosen", "sheet")
    ]
    pairs += [
        (f"{text} on {ground}", getattr(p, text), getattr(p, ground))
        for text in ("accent", "good", "question", "bad")
        for ground in ("paper", "card", "hover", "chosen")
    ]
    pairs += [
        ("ink on panel", p.ink, p.panel),
        ("ink on chosen panel", p.ink, p.panel_chosen),
        ("button text", p.on_accent, p.accent_ground),
        ("button text under the pointer", p.on_accent, p.accent_hover),
        ("ink in a question", p.ink, p.question_ground),
        ("question in a question", p.question, p.question_ground),
        ("ink in an error", p.ink, p.bad_ground),
        ("bad in an error", p.bad, p.bad_ground),
    ]
    return pairs


def line_pairs(p: Palette) -> list[tuple[str, str, str]]:
    """Lines that must stand out from the sheet: name, line, ground (WCAG 2.1, 1.4.11: 3:1)."""
    return [
        (name, getattr(p, name), getattr(p, ground))
        for name in ("outer_cut", "inner_cut", "score", "engrave", "kerf")
        for ground in ("sheet", "panel", "board")
    ] + [("sheet border", p.sheet_border, p.sheet), ("sheet border", p.sheet_border, p.board)]
