"""A drawing that changed: what is told, and only what changed is cut again."""

from __future__ import annotations

from pathlib import Path


def _ring(x: float, wide: float) -> list[tuple[float, float]]:
    return [(x, 0), (x + wide, 0), (x + wide, 40), (x, 40)]


def test_only_what_changed_is_cut_again(lasernest, draw, tmp_path: Path) -> None:
    old = draw("case.dxf", _ring(0, 60), _ring(100, 50)).rename(tmp_path / "case-old.dxf")
    new = draw("case.dxf", _ring(0, 60), _ring(100, 55), _ring(200, 30))
    report = lasernest("inspect", new, "--against", old, "--json").json
    assert report["changes"] == [
        {"panel": "case-1", "change": "same", "off_mm": 0.0},
        {"panel": "case-2", "change": "changed", "off_mm": 5.0},
        {"panel": "case-3", "change": "added", "off_mm": 0.0},
    ]
    told = lasernest("inspect", old, "--against", new).out
    assert "case-old-2: changed, by up to 5.00 mm" in told
    assert "case-3: gone" in told

    words = ("--sheet", "300x100", "--kerf", "0.2")
    cut = lasernest("sheet", new, *words, "--changed-since", old, "--out", "again.dxf", "--json")
    (sheet,) = cut.json["sheets"]
    assert sorted(p["name"] for p in sheet["panels"]) == ["case-2", "case-3"]
    assert cut.json["proof"]["panels_expected"] == 2
    same = lasernest("sheet", new, *words, "--changed-since", new, "--out", "none.dxf")
    assert same.code == 2
    assert same.err.strip() == "no panel changed since case.dxf. There is nothing to cut."


def test_a_job_tells_that_its_drawing_changed_and_reads_it_again(
    lasernest, draw, tmp_path: Path
) -> None:
    drawing = draw("case.dxf", _ring(0, 60))
    words = ("--sheet", "300x100", "--kerf", "0.2")
    lasernest("sheet", drawing, *words, "--out", "a.dxf", "--save", "case.lasernest", "--json")
    draw("case.dxf", _ring(0, 90))
    job = tmp_path / "case.lasernest"
    kept = lasernest("sheet", job, "--out", "b.dxf", "--json")
    assert "case.dxf changed on disk since the job was made" in kept.err
    assert kept.json["yield_share"] == 60 * 40 / (300 * 100)
    taken = lasernest("sheet", job, "--reread", "--out", "c.dxf", "--json")
    assert taken.err == ""
    assert taken.json["yield_share"] == 90 * 40 / (300 * 100)
