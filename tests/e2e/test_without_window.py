"""Everything but the window works where Qt is not installed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]
SCRIPT = """
import importlib, pkgutil, sys
sys.modules["PySide6"] = None  # any import of it now fails
import lasernest
count = 0
for module in pkgutil.walk_packages(lasernest.__path__, "lasernest.", onerror=lambda name: None):
    if not module.name.startswith("lasernest.gui") and module.name != "lasernest.__main__":
        importlib.import_module(module.name)
        count += 1
print(count)
"""


def test_all_other_rooms_import_without_qt() -> None:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env=os.environ | {"PYTHONPATH": str(REPOSITORY)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    package = REPOSITORY / "lasernest"
    outside_gui = [
        path
        for path in package.rglob("*.py")
        if path.relative_to(package).parts[0] not in ("gui", "__init__.py", "__main__.py")
    ]
    assert int(done.stdout) == len(outside_gui)
