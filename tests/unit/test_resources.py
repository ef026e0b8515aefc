"""Files that come with the program are found in a checkout and in an installed package."""

from __future__ import annotations

from pathlib import Path

import pytest

from lasernest import resources
from lasernest.errors import NotFoundError


def test_checkout_finds_the_top_level_folders(sample_panels: Path) -> None:
    assert resources.sample_panels() == sample_panels
    assert resources.resource("changes.md").read_text("utf-8").startswith("# What changed")


def test_installed_package_ignores_strangers_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "lasernest"
    (package / "shipped" / "resources").mkdir(parents=True)
    (tmp_path / "resources").mkdir()
    for folder in (package / "shipped" / "resources", tmp_path / "resources"):
        (folder / "stock.toml").write_text("")
    monkeypatch.setattr(resources, "_PACKAGE", package)
    assert resources.resource("stock.toml") == package / "shipped" / "resources" / "stock.toml"


def test_missing_file_is_told_in_words() -> None:
    with pytest.raises(NotFoundError) as told:
        resources.resource("no-such-file.txt")
    assert told.value.sentence() == (
        "a file that comes with lasernest is missing: resources/no-such-file.txt. "
        "Install lasernest again."
    )
