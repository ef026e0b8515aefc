"""The first compile of the kernels, so that a window can do it in the background."""

from __future__ import annotations

from lasernest.domain.control import QuietControl
from lasernest.nesting.instances import instance_of, pack


def warm_up() -> None:
    """Compile the kernels, or load them from the cache on disk.

    About half a minute the first time after an installation or a change, a
    fraction of a second later.
    """
    ell = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]]
    item = {"id": 0, "demand": 3, "allowed_rotations_deg": [0, 180], "polygon": ell}
    instance = instance_of({"name": "warm-up", "strip_height": 3, "items": [item]})
    pack(instance, control=QuietControl(), work=2000)
