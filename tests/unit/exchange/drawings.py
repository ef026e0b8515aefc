"""Small drawings for the reader tests, written by ezdxf or by hand."""

from __future__ import annotations

from pathlib import Path

from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.exchange.registry import read_drawing
from lasernest.services.importing import import_drawing
from lasernest.units import LengthUnit


def dxf_text(*entities: str, header: str = "9\n$INSUNITS\n70\n4\n", blocks: str = "") -> str:
    """A bare text DXF: entities as `LINE 8 0 10 1.5 20 ...` with blanks for line ends."""
    body = "".join("0\n" + "\n".join(e.split()) + "\n" for e in entities)
    made = f"0\nSECTION\n2\nHEADER\n{header}0\nENDSEC\n" if header else ""
    if blocks:
        made += f"0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n"
    return made + f"0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n"


def write(tmp_path: Path, text: str | bytes, name: str = "part.dxf") -> Path:
    path = tmp_path / name
    if isinstance(text, bytes):
        path.write_bytes(text)
    else:
        path.write_text(text, encoding="utf-8", newline="")
    return path


def read(path: Path, unit: LengthUnit | None = None) -> Drawing:
    return read_drawing(path, control=QuietControl(), unit=unit)


def bring_in(path: Path, unit: LengthUnit | None = None) -> Outlines:
    return import_drawing(path, control=QuietControl(), unit=unit)


def svg(body: str, attributes: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>'


def codes(drawing: Drawing | Outlines) -> list[str]:
    return [f.code for f in drawing.findings]
