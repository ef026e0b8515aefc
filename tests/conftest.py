"""What every test shares: a throwaway shop, no display, and the outside checks' folder."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# A change is judged on the same examples as main was; new ones are searched for on demand with
# `--hypothesis-profile=search`, and what they find becomes a test of its own.
settings.register_profile("steady", derandomize=True)
settings.register_profile("search", derandomize=False)
settings.load_profile("steady")

REPOSITORY = Path(__file__).resolve().parents[1]
SHARED = REPOSITORY.parent / "shared"


@pytest.fixture(autouse=True)
def _throwaway_shop(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No test ever touches the user's own shop book."""
    monkeypatch.setenv("LASERNEST_HOME", str(tmp_path_factory.mktemp("shop")))


@pytest.fixture
def sample_panels() -> Path:
    return REPOSITORY / "sample_panels"
