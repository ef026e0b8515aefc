"""What goes on in the background without a word in the bottom line."""

QUIET_KINDS = (
    "shop",
    "warm up",
    "figures",
    "joints",
    "tune",
    "fold",
    "stand",
    "propose",
    "preview",
    "keep",
    "save",
    "look",
    "rates",
    "till",
    "times",
    "shelf",
    "pictures",
    "basis",
    "beam",
    "cut paths SHEETS",
    "cut paths CUT_FILE",
)
"""Kinds of work that nobody waits for, and saving, which tells of itself and is never cancelled."""
