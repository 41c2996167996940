"""What rides along, against shapely: two upright prisms are apart by hypot(plan distance, height gap)."""

from __future__ import annotations

from math import hypot
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate, translate

from profilekeeper.clearance import (
    AngleMap,
    Frame,
    Head,
    JointBox,
    Joints,
    Obstacle,
    RiderQuery,
    Straight,
    rectangle,
    rider_gap,
    rider_gaps,
)
from profilekeeper.errors import InvalidShape

HEAD = Head(pivot_to_gauge_line_mm=185.0, swivel=AngleMap(sense=-1.0, zero_deg=30.0))
QUICK = settings(max_examples=30, deadline=None)


def planned(block: Obstacle, joints: Joints) -> tuple[Polygon, float, float]:
    """Where a block stands, seen from the floor: worked out here a second time, frame by frame."""
    shift = {
        Frame.FLOOR: (0.0, 0.0, 0.0),
        Frame.BRIDGE: (joints.x_mm, 0.0, 0.0),
        Frame.CARRIAGE: (joints.x_mm, joints.y_mm, 0.0),
        Frame.RAM: (joints.x_mm, joints.y_mm, joints.z_mm),
        Frame.SWIVEL: (joints.x_mm, joints.y_mm, joints.z_mm),
    }[block.frame]
    plan = Polygon(block.outline_mm)
    if block.frame is Frame.SWIVEL:
        plan = rotate(plan, HEAD.swivel.sense * joints.swivel_deg, origin=(0, 0))
    return translate(plan, shift[0], shift[1]), block.from_mm + shift[2], block.to_mm + shift[2]


def planar(one: Obstacle, other: Obstacle, joints: Joints) -> float:
    (plan, low, high), (plan_2, low_2, high_2) = planned(one, joints), planned(other, joints)
    return hypot(plan.distance(plan_2), max(low - high_2, low_2 - high, 0.0))


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 3))


@st.composite
def blocks(draw: st.DrawFn, frames: list[Frame]) -> Obstacle:
    x, y, z = draw(numbers(-400, 400)), draw(numbers(-400, 400)), draw(numbers(-300, 300))
    w, h, t = draw(numbers(5, 300)), draw(numbers(5, 300)), draw(numbers(0, 200))
    outline = rectangle(x, x + w, y, y + h)
    if draw(st.booleans()):
        outline = (*outline[:3], (x + w / 4, y + h / 4))
    return Obstacle(name="b", outline_mm=outline, from_mm=z, to_mm=z + t, frame=draw(st.sampled_from(frames)))


@st.composite
def poses(draw: st.DrawFn) -> Joints:
    return Joints(
        x_mm=draw(numbers(-300, 300)),
        y_mm=draw(numbers(-300, 300)),
        z_mm=draw(numbers(-200, 200)),
        tilt_deg=0.0,
        swivel_deg=draw(numbers(-200, 200)),
    )


riding = blocks([Frame.SWIVEL, Frame.RAM, Frame.CARRIAGE])
standing = blocks([Frame.FLOOR, Frame.BRIDGE, Frame.SWIVEL])


@QUICK
@given(riding, standing, poses())
def test_a_pose_has_the_planar_distance(rider: Obstacle, block: Obstacle, pose: Joints) -> None:
    found = rider_gap(
        RiderQuery(head=HEAD, riders=(rider,), obstacles=(block,), motion=JointBox.at(pose), width_mm=1e-3)
    )

    true = planar(rider, block, pose)
    assert found.low_mm - 1e-5 <= true <= found.high_mm + 1e-5


@QUICK
@given(riding, standing, poses(), poses(), st.floats(0, 1), st.booleans())
def test_no_pose_of_a_motion_is_nearer_than_its_least_gap(
    rider: Obstacle, block: Obstacle, start: Joints, end: Joints, share: float, straight: bool
) -> None:
    motion = Straight(start=start, end=end) if straight else JointBox.between(start, end)
    found = rider_gap(RiderQuery(head=HEAD, riders=(rider,), obstacles=(block,), motion=motion))

    assert found.settled
    assert found.high_mm - found.low_mm <= 0.1
    assert found.low_mm <= planar(rider, block, Straight(start=start, end=end).at(share)) + 1e-5
    assert found.low_mm - 1e-5 <= planar(rider, block, found.joints) <= found.high_mm + 1e-5


def test_a_guard_on_the_ram_clears_the_slab_by_its_height(build: SimpleNamespace) -> None:
    guard = build.wall(name="guard", x=(-300, 300), y=(-20, 20), z=(-50, 100), frame=Frame.RAM)
    slab = build.wall(name="slab", z=(-400, -300), frame=Frame.TABLE)

    found = rider_gap(
        RiderQuery(head=HEAD, riders=(guard,), obstacles=(slab,), motion=build.box(x=(0, 900), z=(-180, 0)))
    )

    assert found.low_mm <= 70 <= found.high_mm
    assert found.joints.z_mm == pytest.approx(-180)
    assert (found.rider.name, found.obstacle.name) == ("guard", "slab")
    assert found.boxes == 1


def test_a_camera_on_the_swivel_meets_a_post_only_when_it_turns(build: SimpleNamespace) -> None:
    camera = build.wall(name="camera", x=(200, 260), y=(-30, 30), z=(-50, 50), frame=Frame.SWIVEL)
    post = build.wall(name="post", x=(-10, 10), y=(220, 240), z=(-500, 500))

    held, free = rider_gaps(
        [
            RiderQuery(head=HEAD, riders=(camera,), obstacles=(post,), motion=build.box(swivel=swivel))
            for swivel in (0.0, (0.0, 360.0))
        ]
    )

    assert held.low_mm > 100
    assert free.is_contact


def test_a_question_without_riders_is_refused(build: SimpleNamespace) -> None:
    with pytest.raises(InvalidShape):
        RiderQuery(head=HEAD, riders=(), obstacles=(build.wall(),), motion=build.box())
    with pytest.raises(InvalidShape):
        RiderQuery(head=HEAD, riders=(build.wall(),), obstacles=(build.wall(),), motion=build.box(), width_mm=0)
    assert rider_gaps([]) == ()
