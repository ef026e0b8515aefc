"""Joints of a job: read from the command line, applied, listed, proved."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import shapely
from shapely.affinity import affine_transform

from lasernest.domain.contours import Point, Pose
from lasernest.domain.cutting import JointProof
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import Joint, JointKind, PanelLine, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.domain.stock import NOT_STATED
from lasernest.errors import BadValueError, NotFoundError, UsageError, Where
from lasernest.job import Job
from lasernest.joints.assembly import Assembly, assemble
from lasernest.joints.edges import JointError, edge_near, line_of
from lasernest.joints.faces import line_between, line_near
from lasernest.joints.joined import LEFT_OUT, Joined, apply_joints
from lasernest.joints.joint_proof import prove_joints
from lasernest.joints.laid import LaidJoint
from lasernest.joints.mates import propose_mates
from lasernest.services.joint_making import line_on_edge
from lasernest.services.lettered import lettered
from lasernest.units import format_mm, parse_length_mm

_PLACE = r"(?P<{0}>.+?)@(?P<{0}_at>[^@=:]+)"
_TEXT = re.compile(rf"^{_PLACE.format('a')}=(?!.*=.*@){_PLACE.format('b')}(?P<rest>(?::[^:]+)*)$")
_FORM = "PANEL@X,Y=PANEL@X,Y:KIND, such as front@50,0=floor@50,80:finger"


def parse_joint(text: str, panels: Sequence[Panel]) -> Joint:
    """Read a joint such as `front@50,0=floor@50,80:finger`.

    The points are in millimetres of each panel's drawing; the nearest straight
    edge is meant. For a slot or nut the second point lies on the face (see
    `faces.line_near`), or two points `X,Y..X,Y` give the line. More choices may
    follow the kind: `:width=9:interference=0.05:angle=120:shift=10:relief=0.5:
    chamfer=0.3:flush=0.1:screw=M4:bolts=2`.

    Args:
        text: as typed.
        panels: that may be named.

    Raises:
        UsageError: the text is not of that form.
        NotFoundError: no panel of that name.
        JointError: no edge there, or more than one.
    """
    match = _TEXT.match(text.strip())
    if match is None:
        raise UsageError(f"'{text}' is not a joint", todo=f"Write it like {_FORM}.")
    kind, choices = _choices(match["rest"], text)
    a_panel, b_panel = _named(match["a"], panels), _named(match["b"], panels)
    a_points, b_points = _points(match["a_at"], text), _points(match["b_at"], text)
    if len(a_points) > 1 or (len(b_points) > 1 and kind not in (JointKind.SLOT, JointKind.NUT)):
        raise UsageError(
            f"'{text}' gives two points for an edge",
            todo="Only the line of a slot or nut joint on a face is given by two points.",
        )
    a = _edge_line(a_panel, a_points[0], kind)
    if kind in (JointKind.SLOT, JointKind.NUT):
        b = (
            line_between(b_panel, b_points[0], b_points[1])
            if len(b_points) > 1
            else line_near(b_panel, b_points[0], a.length_mm)
        )
    else:
        b = _edge_line(b_panel, b_points[0], kind)
    return Joint(a, b, kind, **choices)


def _edge_line(panel: Panel, point: Point, kind: JointKind) -> PanelLine:
    return line_on_edge(panel, edge_near(panel, point), point, kind)


_LENGTHS = {
    "width": "target_width_mm",
    "interference": "interference_mm",
    "shift": "shift_mm",
    "relief": "relief_mm",
    "chamfer": "chamfer_mm",
    "flush": "flush_mm",
}


def _choices(rest: str, text: str) -> tuple[JointKind, dict[str, Any]]:
    kind = JointKind.FINGER
    choices: dict[str, Any] = {}
    readers: dict[str, tuple[str, Callable[[str], Any]]] = {
        **{key: (field, parse_length_mm) for key, field in _LENGTHS.items()},
        "angle": ("angle_deg", float),
        "bolts": ("bolts", int),
        "screw": ("screw", str),
    }
    for part in rest.split(":")[1:]:
        key, is_choice, value = part.partition("=")
        if not is_choice:
            if part.lower() not in {k.value for k in JointKind}:
                raise UsageError(
                    f"'{part}' is not a kind of joint",
                    todo=f"Use one of {', '.join(k.value for k in JointKind)}.",
                )
            kind = JointKind(part.lower())
            continue
        if key not in readers:
            raise UsageError(
                f"'{key}' is not a choice of a joint", todo=f"Use {', '.join(readers)}."
            )
        field, read = readers[key]
        try:
            choices[field] = read(value)
        except ValueError:
            raise UsageError(
                f"'{value}' in '{text}' is not a number", todo=f"Write {key}=NUMBER."
            ) from None
    return kind, choices


def _named(name: str, panels: Sequence[Panel]) -> Panel:
    for panel in panels:
        if panel.name == name.strip():
            return panel
    known = ", ".join(p.name for p in panels[:8]) or "none"
    raise NotFoundError(f"there is no panel {name}", todo=f"The panels are: {known}.")


def _points(text: str, whole: str) -> list[Point]:
    points: list[Point] = []
    for pair in text.split(".."):
        numbers = pair.split(",")
        if len(numbers) != 2:
            raise UsageError(
                f"'{pair}' in '{whole}' is not a point", todo="Write X,Y with decimal points."
            )
        try:
            points.append((parse_length_mm(numbers[0]), parse_length_mm(numbers[1])))
        except BadValueError as error:
            raise UsageError(error.what, todo="Write X,Y with decimal points.") from error
    return points


def _sheet_of_stock(job: Job, stock_name: str) -> PanelSheet:
    setup = job.setup.for_stock(stock_name)
    stock, kerf = setup.stock, setup.used_kerf
    thickness_mm = job.joint_rules.thickness_mm if job.setup.is_own(stock_name) else None
    if thickness_mm is None and stock is not None:
        thickness_mm = stock.working_thickness_mm
    if thickness_mm is None:
        raise BadValueError(
            "the thickness of the panels is not known",
            todo="Measure it and give it, or choose a stock: joints are cut to the thickness.",
        )
    return PanelSheet(
        thickness_mm,
        stock.material if stock else "",
        stock.thickness_u_mm if stock else None,
        kerf.u_mm if kerf else None,
        stock.fits if stock else None,
    )


def sheets_of(job: Job) -> dict[str, PanelSheet]:
    """By panel name, what each panel is cut from.

    Raises:
        BadValueError: neither a thickness nor a stock is known.
    """
    sheets = {name: _sheet_of_stock(job, name) for name in {p.stock_name for p in job.panels}}
    return {p.name: sheets[p.stock_name] for p in job.panels}


def join_job(job: Job) -> Joined:
    """The job's panels as they are cut: its joints applied, names engraved where wanted.

    Raises:
        BadValueError: there are joints, but neither a thickness nor a stock is known.
    """
    panels = [p.panel for p in job.panels]
    joined = Joined(tuple(panels), (), ())
    if job.joints:
        joined = apply_joints(panels, job.joints, rules=job.joint_rules, sheets=sheets_of(job))
        joined = replace(joined, findings=(*joined.findings, *_thickness_findings(job)))
    named, bare = lettered(joined.panels, job.cutting.names)
    return replace(joined, panels=named, findings=(*joined.findings, *bare))


def _thickness_findings(job: Job) -> tuple[Finding, ...]:
    """A word on joints for another thickness than the stock's.

    Of an unmeasured stock only the nominal thickness is known, which says little:
    standards let sheets differ from it by up to a quarter.
    """
    stock, thickness_mm = job.setup.stock, job.joint_rules.thickness_mm
    if stock is None or thickness_mm is None or stock.material == NOT_STATED:
        return ()
    measured = stock.measured_thickness_mm is not None
    within_mm = 0.005 if measured else 0.25 * stock.thickness_mm
    if abs(stock.working_thickness_mm - thickness_mm) <= within_mm:
        return ()
    verb = "measures" if measured else "is sold as"
    return (
        Finding(
            Severity.WARNING,
            "joint-thickness",
            f"the joints are for panels of {format_mm(thickness_mm)}, while {stock.name} "
            f"{verb} {format_mm(stock.working_thickness_mm)}",
            todo="Measure the sheet and set one of the two right.",
        ),
    )


def refuse_errors(joined: Joined) -> None:
    """Raise the first joint that could not be made, for those who want all or nothing.

    A joint that was made but gets in the way of a hole stays a finding.

    Raises:
        JointError: what could not be made, where, and what to do.
    """
    for finding in joined.findings:
        if finding.code in LEFT_OUT:
            raise JointError(
                finding.message,
                where=Where(panel=finding.panel, at_mm=finding.where_mm),
                todo=finding.todo,
                on_command_line=finding.on_command_line,
            )


def joint_row(laid: LaidJoint) -> dict[str, Any]:
    """One joint for the table and for JSON."""
    joint = laid.joint
    return {
        "a": joint.a.panel,
        "b": joint.b.panel,
        "kind": joint.kind.value,
        "fingers": laid.fingers,
        "width_mm": laid.width_mm,
        "depth_mm": laid.depth_mm,
        "interference_mm": laid.interference_mm,
        "angle_deg": laid.angle_deg,
        "a_line_mm": [list(laid.a.edge.start), list(laid.a.edge.end)],
        "b_line_mm": [list(laid.b.edge.start), list(laid.b.edge.end)],
    }


def proposed_joints(job: Job) -> tuple[Joint, ...]:
    """Finger joints between edges that look made for each other, best first.

    Edges that a joint has already are left alone.
    """
    panels = {p.name: p.panel for p in job.panels}
    taken = {line for j in job.joints for line in _places(j)}
    joints: list[Joint] = []
    for mate in propose_mates(list(panels.values())):
        joint = Joint(line_of(mate.a, panels[mate.a.panel]), line_of(mate.b, panels[mate.b.panel]))
        if not taken & set(_places(joint)):
            joints.append(joint)
    return tuple(joints)


def _places(joint: Joint) -> tuple[tuple[str, Point, Point], ...]:
    return tuple((line.panel, line.start, line.end) for line in (joint.a, joint.b))


def assemble_job(job: Job, joined: Joined | None = None) -> Assembly:
    """The job's case put together and checked.

    Args:
        job: whose panels are folded up.
        joined: its panels with joints, if they are at hand.
    """
    panels = [p.panel for p in job.panels]
    return assemble(panels, joined if joined is not None else join_job(job))


def finished_panels(
    sheets: Sequence[SheetPlan],
    finished: Sequence[Sequence[tuple[str, int, shapely.Polygon]]],
) -> dict[str, list[shapely.Polygon]]:
    """What the beam leaves, moved from the sheets back to the drawing of each panel.

    Args:
        sheets: as planned.
        finished: for each sheet the panel name, copy and shape, in sheet coordinates.
    """
    back: dict[str, list[shapely.Polygon]] = {}
    for sheet, pieces in zip(sheets, finished, strict=True):
        poses = {(p.panel_name, p.copy): p.pose for p in sheet.placements}
        for name, copy, shape in pieces:
            back.setdefault(name, []).append(_unposed(shape, poses[(name, copy)]))
    return back


def _unposed(shape: shapely.Polygon, pose: Pose) -> shapely.Polygon:
    """A shape on the sheet as it lies in its drawing; the inverse of `Pose.apply`."""
    a, b, c, d = pose.matrix()
    # Turns and mirrors are orthogonal: their inverse is the transpose.
    return affine_transform(
        shape,
        [
            a,
            c,
            b,
            d,
            -(a * pose.x_mm + c * pose.y_mm),
            -(b * pose.x_mm + d * pose.y_mm),
        ],
    )


def prove_job_joints(
    job: Job, joined: Joined, finished: Mapping[str, Sequence[shapely.Polygon]]
) -> tuple[tuple[JointProof, ...], tuple[str, ...]]:
    """What the beam leaves of the job's joints, and sentences on what is wrong.

    Args:
        job: the one that was cut.
        joined: its panels with joints, as they were cut.
        finished: by panel name, the copies the beam leaves, in the panel's drawing
            (see `finished_panels`).
    """
    if not joined.joints:
        return (), ()
    return prove_joints(joined.joints, finished, sheets_of(job))
