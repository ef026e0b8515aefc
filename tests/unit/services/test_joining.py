from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.joints import EdgeMeaning, JointKind, JointRules, PanelSheet
from lasernest.domain.panels import Mark, Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError, LasernestError, NotFoundError, UsageError
from lasernest.job import Job, JobPanel, Setup
from lasernest.joints.edges import JointError
from lasernest.services.joining import (
    assemble_job,
    finished_panels,
    join_job,
    joint_row,
    parse_joint,
    proposed_joints,
    prove_job_joints,
    refuse_errors,
    sheets_of,
)
from lasernest.services.stock_exchange import CutPanelsFrom
from tests.joint_kit import box_joints, box_panels, plate, polygon_of

PANELS = [plate("front", 100, 40), plate("floor", 100, 80), plate("a=b@c", 100, 30)]
PLY = Stock("ply", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18, u_mm=0.005),
            measured_thickness_mm=3.05, thickness_u_mm=0.01)  # fmt: skip


def job(*joints, stock=None, **rules):
    return Job(
        panels=tuple(JobPanel(p) for p in PANELS),
        joints=tuple(parse_joint(j, PANELS) for j in joints),
        setup=Setup(stock=stock),
        joint_rules=JointRules(**rules),
    )


def test_the_plain_form_is_a_finger_joint_of_the_nearest_edges():
    joint = parse_joint("front@50,1=floor@50,79", PANELS)
    assert joint.kind is JointKind.FINGER
    assert (joint.a.start, joint.a.end) == ((0.0, 0.0), (100.0, 0.0))
    assert (joint.b.start, joint.b.end) == ((100.0, 80.0), (0.0, 80.0))


def test_kinds_choices_and_units():
    joint = parse_joint("front@2in,1=floor@50,79:finger:width=9:angle=120:relief=0.5", PANELS)
    assert (joint.target_width_mm, joint.angle_deg, joint.relief_mm) == (9.0, 120.0, 0.5)
    bolted = parse_joint("front@50,1=floor@20,40..80,40:nut:screw=M4:bolts=1", PANELS)
    assert (bolted.kind, bolted.screw, bolted.bolts) == (JointKind.NUT, "M4", 1)
    assert (bolted.b.start, bolted.b.end) == ((20.0, 40.0), (80.0, 40.0))
    lap = parse_joint("front@25,40=floor@75,0:lap", PANELS)
    assert (lap.a.at_share, lap.b.at_share) == (0.75, 0.75)


def test_names_may_hold_the_signs_of_the_form():
    assert parse_joint("a=b@c@50,1=floor@50,79", PANELS).a.panel == "a=b@c"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("front", "'front' is not a joint."),
        ("front@1=floor@1,2", "'1' in 'front@1=floor@1,2' is not a point."),
        ("front@50,1=floor@50,79:dovetail", "'dovetail' is not a kind of joint."),
        ("front@50,1=floor@50,79:colour=red", "'colour' is not a choice of a joint."),
        ("front@50,1=floor@50,79:angle=x", "'x' in"),
        ("front@50,x=floor@50,79", "'x' is not a length."),
        ("front@50,1..60,1=floor@50,79", "gives two points for an edge"),
        ("front@50,1=floor@50,79:lap:bolts=1.5", "'1.5' in"),
    ],
)
def test_wrong_texts_are_wrong_usage(text, sentence):
    with pytest.raises(UsageError) as error:
        parse_joint(text, PANELS)
    assert sentence in error.value.sentence()


def test_unknown_panels_and_unclear_places():
    with pytest.raises(NotFoundError, match="there is no panel lid"):
        parse_joint("lid@1,2=floor@50,79", PANELS)
    with pytest.raises(JointError, match="as near to one edge"):
        parse_joint("front@0,0=floor@50,79", PANELS)
    with pytest.raises(JointError, match="does not lie on the panel"):
        parse_joint("front@50,1=floor@150,40:slot", PANELS)


def test_a_slot_line_spans_the_panel_where_it_fits_else_follows_the_nearest_edge():
    shelf = plate("shelf", 60, 80)
    side = plate("side", 200, 80)
    across = parse_joint("shelf@60,40=side@70,40:slot", [shelf, side]).b
    assert (across.start, across.end) == ((70.0, 0.0), (70.0, 80.0))
    narrow = parse_joint("shelf@30,80=side@70,30:slot", [shelf, side]).b
    assert (narrow.start, narrow.end) == ((40.0, 30.0), (100.0, 30.0))


def test_a_score_line_under_the_point_is_the_line():
    shelf = plate("shelf", 60, 50)
    marks = (Mark(Contour.polyline([(50.0, 20.0), (110.0, 50.0)])),)
    side = Panel.of("side", Contour.rectangle(0, 0, 200, 80), marks=marks)
    line = parse_joint("shelf@60,25=side@70,30.2:slot", [shelf, side]).b
    assert line.middle == pytest.approx((80.0, 35.0))
    assert line.length_mm == pytest.approx(50.0)


def test_thickness_from_the_rules_or_the_measured_stock():
    joints = ("front@50,1=floor@50,79",)
    assert join_job(job(*joints, stock=PLY)).joints[0].depth_mm == pytest.approx(3.05)
    given = join_job(job(*joints, stock=PLY, thickness_mm=2.7))
    assert given.joints[0].depth_mm == pytest.approx(2.7)
    assert [f.message for f in given.findings] == [
        "the joints are for panels of 2.70 mm, while ply measures 3.05 mm"
    ]
    nominal = replace(PLY, measured_thickness_mm=None)
    assert join_job(job(*joints, stock=nominal, thickness_mm=2.7)).findings == ()
    assert join_job(job(*joints, stock=nominal, thickness_mm=4.1)).findings[0].message == (
        "the joints are for panels of 4.10 mm, while ply is sold as 3.00 mm"
    )


def _depths(panel, *, y_mm):
    """The least and the greatest height that the outline reaches near a drawn edge."""
    ys = [v.y_mm for v in panel.outer.vertices if abs(v.y_mm - y_mm) < 10.0]
    return [min(ys), max(ys)]


def test_a_joint_of_two_stocks_is_as_deep_as_the_mate_is_thick():
    cast = Stock("cast", "cast acrylic", 6.0, (SheetSize(600, 400),), Kerf.same(0.2, u_mm=0.01),
                 measured_thickness_mm=6.1)  # fmt: skip
    plain = job("front@50,1=floor@50,79", stock=PLY)
    mixed = CutPanelsFrom(("floor",), cast).apply(plain)
    joined = join_job(mixed)
    (laid,) = joined.joints
    assert (laid.a.thickness_mm, laid.b.thickness_mm) == (3.05, 6.1)
    # The drawn edges are the outer faces: gaps are as deep as the mate is thick.
    assert _depths(joined.panel("front"), y_mm=0.0) == pytest.approx([0.0, 6.1])
    assert _depths(joined.panel("floor"), y_mm=80.0) == pytest.approx([80.0 - 3.05, 80.0])
    assert sheets_of(mixed)["front"] == PanelSheet(3.05, "birch plywood", 0.01, 0.005)
    assert sheets_of(mixed)["floor"] == PanelSheet(6.1, "cast acrylic", None, 0.01)
    # Where two materials meet, the one that takes less decides: acrylic takes no press.
    assert laid.interference_mm < join_job(plain).joints[0].interference_mm
    # A thickness given for the job is that of its own stock only.
    given = replace(mixed, joint_rules=JointRules(thickness_mm=2.7))
    assert {name: s.thickness_mm for name, s in sheets_of(given).items()} == {
        "front": 2.7, "floor": 6.1, "a=b@c": 2.7,
    }  # fmt: skip


def test_joints_without_a_thickness_are_refused_and_panels_without_joints_need_none():
    with pytest.raises(BadValueError) as error:
        join_job(job("front@50,1=floor@50,79"))
    assert error.value.sentence() == (
        "the thickness of the panels is not known. Measure it and give it, or choose a stock: "
        "joints are cut to the thickness."
    )
    assert join_job(job()).panels == tuple(PANELS)


def test_the_row_of_a_joint():
    joined = join_job(job("front@50,1=floor@50,79:finger:width=10", thickness_mm=3.05,
                          interference_mm=0.08, meaning=EdgeMeaning.INSIDE))  # fmt: skip
    row = joint_row(joined.joints[0])
    assert {k: row[k] for k in ("a", "b", "kind", "fingers", "interference_mm")} == {
        "a": "front", "b": "floor", "kind": "finger", "fingers": 9, "interference_mm": 0.08,
    }  # fmt: skip
    assert row["width_mm"] == pytest.approx(100 / 9)
    assert row["depth_mm"] == pytest.approx(3.05)


def test_shapes_on_the_sheet_go_back_to_their_drawing():
    joined = join_job(job("front@50,1=floor@50,79", thickness_mm=3.05))
    front = joined.panel("front")
    poses = [Pose(210.0, 33.0, 90.0), Pose(400.0, 20.0, 37.5, mirrored=True)]
    plan = SheetPlan(
        Sheet(600, 400), tuple(Placement("front", k + 1, p) for k, p in enumerate(poses))
    )
    lying = [("front", k + 1, polygon_of(front.posed(p))) for k, p in enumerate(poses)]
    back = finished_panels([plan], [lying])
    for shape in back["front"]:
        assert shape.symmetric_difference(polygon_of(front)).area < 1e-6


def test_mates_are_proposed_for_edges_that_are_free():
    panels = box_panels(120, 80, 50)
    one = Job(panels=tuple(JobPanel(p) for p in panels.values()))
    joints = proposed_joints(one)
    assert len(joints) >= 8
    again = proposed_joints(one.changed(joints=joints[:3]))
    taken = {(line.panel, line.start) for j in joints[:3] for line in (j.a, j.b)}
    assert not taken & {(line.panel, line.start) for j in again for line in (j.a, j.b)}


def test_a_jobs_case_is_put_together():
    panels = box_panels(120, 80, 50)
    one = Job(
        panels=tuple(JobPanel(p) for p in panels.values()),
        joints=tuple(box_joints(panels)),
        joint_rules=JointRules(thickness_mm=3.0, interference_mm=0.0),
    )
    assert assemble_job(one).goes_together


def test_all_or_nothing():
    joined = join_job(job("front@50,1=floor@50,79:finger:angle=170", thickness_mm=3.0))
    with pytest.raises(LasernestError) as error:
        refuse_errors(joined)
    assert error.value.sentence().startswith(
        "panel front, at 50.00, 0.00 mm: panels that meet at 170.0 degrees cannot be held"
    )


def test_the_proof_of_a_jobs_joints():
    one = job("front@50,1=floor@50,79", stock=PLY, interference_mm=0.05)
    joined = join_job(one)
    finished = {p.name: [polygon_of(p)] for p in joined.panels}
    proofs, problems = prove_job_joints(one, joined, finished)
    assert problems == ()
    (proof,) = proofs
    assert proof.interference_mm == pytest.approx(0.05, abs=1e-9)
    assert proof.u_mm == pytest.approx(0.01)
    assert proof.fit == "press"
    assert prove_job_joints(replace(one, joints=()), join_job(replace(one, joints=())), {}) == (
        (), (),
    )  # fmt: skip
