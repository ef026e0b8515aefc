"""lasernest: outlines in, kerf and joints applied, panels nested, a proved cut file out."""

__version__ = "0.1.0"
