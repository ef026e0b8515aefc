from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from lasernest.folders import HOME_VARIABLE, data_folder, documents_folder


def test_the_variable_chooses_the_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "second profile"))
    assert data_folder() == tmp_path / "second profile"


@pytest.mark.parametrize("value", ["", "  "])
def test_without_it_the_users_own_folder(monkeypatch: pytest.MonkeyPatch, value: str) -> None:
    monkeypatch.setenv(HOME_VARIABLE, value)
    assert data_folder() == platformdirs.user_data_path("lasernest", appauthor=False)
    assert data_folder().name == "lasernest"


def test_documents_are_the_users_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(platformdirs, "user_documents_path", lambda: tmp_path)
    assert documents_folder() == tmp_path
    monkeypatch.setattr(platformdirs, "user_documents_path", lambda: tmp_path / "none")
    assert documents_folder() == Path.home()
