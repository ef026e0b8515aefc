"""What the command does with its first word."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from lasernest.cli import main as cli


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What the window would have been opened on; the window itself is not started."""
    started: list[list[str]] = []
    monkeypatch.setattr("runpy.run_module", lambda *_, **__: started.append(sys.argv[1:]))
    monkeypatch.setattr(sys, "argv", ["lasernest"])
    return started


def test_drawings_are_opened_in_the_window(sample_panels: Path, opened: list[list[str]]) -> None:
    files = [str(sample_panels / "clock-case.dxf"), str(sample_panels / "plant-tags.svg")]
    cli.main(files)
    assert opened == [files]


@pytest.mark.parametrize("profile", [["--profile", "away"], ["--profile=away"]])
def test_drawings_are_opened_with_a_profile_too(
    sample_panels: Path, opened: list[list[str]], profile: list[str]
) -> None:
    words = [*profile, str(sample_panels / "clock-case.dxf")]
    cli.main(words)
    assert opened == [words]


def test_a_command_is_never_taken_for_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, opened: list[list[str]]
) -> None:
    (tmp_path / "stock").mkdir()
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit):
        cli.main(["stock", "--help"])
    assert opened == []


def test_what_is_neither_is_wrong_usage(
    opened: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    for words, told in (
        (["no-such-drawing.dxf"], "there is no file 'no-such-drawing.dxf'. Check the name"),
        (["--profile", "away", "gone.dxf"], "there is no file 'gone.dxf'. Check the name"),
        (["gone/case"], "there is no file 'gone/case'. Check the name and the folder."),
        (["nonsense"], "No such command 'nonsense'"),
    ):
        with pytest.raises(SystemExit) as ended:
            cli.main(words)
        assert ended.value.code == 2
        assert told in capsys.readouterr().err.replace("There", "there")
    assert opened == []
