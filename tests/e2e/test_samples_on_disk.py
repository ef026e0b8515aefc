"""The sample drawings on disk are what their script draws, and are what the README says."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import ezdxf
import pytest

_SCRIPT = "make_samples.py"


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The samples drawn anew in another folder, with another order of sets."""
    source = Path(__file__).resolve().parents[2] / "sample_panels"
    folder = tmp_path_factory.mktemp("drawn")
    for path in [source / _SCRIPT, *(source / "making").glob("*.py")]:
        copy = folder / path.relative_to(source)
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes(path.read_bytes())
    environment = os.environ | {"PYTHONHASHSEED": "7"}
    subprocess.run(
        [sys.executable, folder / _SCRIPT], check=True, env=environment, capture_output=True
    )
    return folder


def _drawings(folder: Path) -> dict[str, Path]:
    return {
        path.relative_to(folder).as_posix(): path
        for path in sorted(folder.rglob("*"))
        if path.suffix in (".dxf", ".svg")
    }


def test_same_files(drawn: Path, sample_panels: Path) -> None:
    assert set(_drawings(drawn)) == set(_drawings(sample_panels))


def test_same_content(drawn: Path, sample_panels: Path) -> None:
    on_disk = _drawings(sample_panels)
    for name, path in _drawings(drawn).items():
        if path.read_bytes() == on_disk[name].read_bytes():
            continue
        # Another version of the DXF library may word the rest of the file otherwise.
        assert name.endswith(".dxf"), f"{name}: draw the samples anew"
        assert _entities(path) == _entities(on_disk[name]), f"{name}: draw the samples anew"


def _entities(path: Path) -> list[str]:
    document = ezdxf.readfile(path)
    layouts = [document.modelspace(), *sorted(document.blocks, key=lambda block: block.name)]
    told = [f"unit {document.header.get('$INSUNITS')} version {document.dxfversion}"]
    for layout in layouts:
        for entity in layout:
            values = {k: v for k, v in entity.dxfattribs().items() if k not in ("handle", "owner")}
            more = list(entity) if entity.dxftype() == "LWPOLYLINE" else ""
            told.append(f"{entity.dxftype()} {values} {more}")
    return told


def test_enough_of_each_kind(sample_panels: Path) -> None:
    good = [path for path in _drawings(sample_panels).values() if path.parent == sample_panels]
    versions = {ezdxf.readfile(path).dxfversion for path in good if path.suffix == ".dxf"}
    assert sum(path.suffix == ".dxf" for path in good) >= 8
    assert sum(path.suffix == ".svg" for path in good) >= 4
    assert len(list((sample_panels / "broken").iterdir())) >= 4
    # Version tags of the published DXF reference: R12, R2000, R2010.
    assert versions == {"AC1009", "AC1015", "AC1024"}


def test_the_index_names_every_drawing(sample_panels: Path) -> None:
    index = (sample_panels / "README.md").read_text("utf-8")
    for name in _drawings(sample_panels):
        assert f"`{Path(name).name}`" in index
