import math

import pytest

from lasernest.domain.joints import Joint, JointRules, PanelLine, PanelSheet
from lasernest.errors import BadValueError

BOX = (0.0, 0.0, 100.0, 60.0)
A = PanelLine("front", (0.0, 0.0), (100.0, 0.0), BOX)
B = PanelLine("floor", (0.0, 0.0), (60.0, 80.0), BOX)


def test_a_line_knows_its_length_and_middle():
    assert B.length_mm == 100.0
    assert B.middle == (30.0, 40.0)


def test_a_line_needs_length_and_a_crossing_on_it():
    with pytest.raises(BadValueError, match="without length"):
        PanelLine("lid", (1.0, 1.0), (1.0, 1.0), BOX)
    with pytest.raises(BadValueError, match="beside it"):
        PanelLine("lid", (0.0, 0.0), (1.0, 1.0), BOX, at_share=1.2)


def test_a_panel_is_not_joined_to_itself():
    with pytest.raises(BadValueError) as error:
        Joint(A, A)
    assert error.value.sentence() == (
        "panel front, at 50.00, 0.00 mm: the panel front cannot be joined to itself. "
        "Name two panels; a second copy needs a name of its own."
    )


@pytest.mark.parametrize(
    "choices",
    [
        {"interference_mm": math.nan},
        {"interference_mm": 3.0},
        {"angle_deg": 180.0},
        {"angle_deg": 0.0},
        {"flush_mm": -0.1},
        {"chamfer_mm": math.inf},
        {"relief_mm": -1.0},
        {"target_width_mm": 0.0},
        {"bolts": 0},
    ],
)
def test_choices_that_cannot_be_are_refused(choices):
    with pytest.raises(BadValueError):
        Joint(A, B, **choices)


def test_rules_and_sheets_refuse_nonsense():
    with pytest.raises(BadValueError):
        JointRules(interference_mm=-2.5)
    with pytest.raises(BadValueError):
        PanelSheet(0.0)
    with pytest.raises(BadValueError):
        PanelSheet(math.inf)
