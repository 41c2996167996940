"""What must hold of every certified gap, whatever the scene."""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin, sqrt

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from profilekeeper.clearance import (
    AngleMap,
    Gap,
    Head,
    JointBox,
    Joints,
    Obstacle,
    Query,
    Section,
    Span,
    Straight,
    TipHeld,
    gap,
    gaps,
    rectangle,
)

quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SHAKY_MM = 1e-5  # two certified ends may differ by their outward rounding


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 3))


@st.composite
def spans(draw: st.DrawFn, low: float, high: float) -> Span:
    return Span.between(draw(numbers(low, high)), draw(numbers(low, high)))


@st.composite
def heads(draw: st.DrawFn) -> Head:
    offsets = draw(st.booleans())
    pair = st.tuples(numbers(-60, 60), numbers(-60, 60))
    return Head(
        pivot_to_gauge_line_mm=draw(numbers(0, 200)),
        swivel=AngleMap(sense=draw(st.sampled_from([1.0, -1.0])), zero_deg=draw(numbers(-90, 90))),
        swivel_to_tilt_mm=draw(pair) if offsets else (0.0, 0.0),
        tilt_to_spindle_mm=draw(pair) if offsets else (0.0, 0.0),
    )


@st.composite
def sections(draw: st.DrawFn) -> Section:
    begin = draw(numbers(-50, 100))
    return Section(
        from_mm=begin,
        to_mm=begin + draw(numbers(0, 80)),
        radius_from_mm=draw(numbers(0, 200)),
        radius_to_mm=draw(numbers(0, 200)),
    )


@st.composite
def blocks(draw: st.DrawFn) -> Obstacle:
    x, y, z = draw(numbers(-400, 400)), draw(numbers(-400, 400)), draw(numbers(-800, 0))
    w, h, t = draw(numbers(5, 500)), draw(numbers(5, 500)), draw(numbers(0, 400))
    outline = rectangle(x, x + w, y, y + h)
    if draw(st.booleans()):
        outline = (*outline[:3], (x + w / 4, y + h / 4))
    return Obstacle(name="block", outline_mm=outline, from_mm=z, to_mm=z + t)


@st.composite
def boxes(draw: st.DrawFn) -> JointBox:
    return JointBox(
        x_mm=draw(spans(-200, 200)),
        y_mm=draw(spans(-200, 200)),
        z_mm=draw(spans(-100, 100)),
        tilt_deg=draw(spans(-5, 95)),
        swivel_deg=draw(st.one_of(numbers(-200, 200).map(Span.at), spans(-200, 200))),
    )


@st.composite
def queries(draw: st.DrawFn) -> Query:
    return Query(
        head=draw(heads()),
        sections=tuple(draw(st.lists(sections(), min_size=1, max_size=2))),
        obstacles=tuple(draw(st.lists(blocks(), min_size=1, max_size=2))),
        motion=draw(boxes()),
    )


def agree(one: Gap, other: Gap) -> bool:
    """Two intervals of the same truth overlap."""
    return max(one.low_mm, other.low_mm) <= min(one.high_mm, other.high_mm) + SHAKY_MM


@quick
@given(queries())
def test_every_answer_is_as_narrow_as_asked_and_not_negative(asked: Query) -> None:
    found = gap(asked)

    assert 0.0 <= found.low_mm <= found.high_mm
    assert found.settled
    assert found.width_mm <= asked.width_mm


@quick
@given(queries(), numbers(-5000, 5000), numbers(-5000, 5000), numbers(-900, 900))
def test_shifting_the_whole_scene_changes_nothing(asked: Query, dx: float, dy: float, dz: float) -> None:
    motion = asked.motion
    assert isinstance(motion, JointBox)
    moved = replace(
        asked,
        motion=replace(motion, x_mm=motion.x_mm.moved(dx), y_mm=motion.y_mm.moved(dy), z_mm=motion.z_mm.moved(dz)),
        obstacles=tuple(
            replace(
                block,
                outline_mm=tuple((x + dx, y + dy) for x, y in block.outline_mm),
                from_mm=block.from_mm + dz,
                to_mm=block.to_mm + dz,
            )
            for block in asked.obstacles
        ),
    )

    assert agree(gap(asked), gap(moved))


@quick
@given(queries(), numbers(-180, 180))
def test_turning_the_whole_scene_about_z_changes_nothing(asked: Query, by_deg: float) -> None:
    c, s = cos(radians(by_deg)), sin(radians(by_deg))
    motion = asked.motion
    assert isinstance(motion, JointBox)
    still = replace(motion, x_mm=Span.at(0.0), y_mm=Span.at(0.0))
    turned = replace(
        asked,
        head=replace(asked.head, swivel=replace(asked.head.swivel, zero_deg=asked.head.swivel.zero_deg + by_deg)),
        motion=still,
        obstacles=tuple(
            replace(block, outline_mm=tuple((c * x - s * y, s * x + c * y) for x, y in block.outline_mm))
            for block in asked.obstacles
        ),
    )

    assert agree(gap(replace(asked, motion=still)), gap(turned))


@quick
@given(queries(), st.floats(0.05, 0.95))
def test_cutting_an_obstacle_in_two_changes_nothing(asked: Query, share: float) -> None:
    block = asked.obstacles[0]
    level = block.from_mm + share * (block.to_mm - block.from_mm)
    cut = (replace(block, to_mm=level), replace(block, from_mm=level), *asked.obstacles[1:])

    assert agree(gap(asked), gap(replace(asked, obstacles=cut)))


@quick
@given(queries(), blocks(), sections())
def test_more_to_keep_clear_never_adds_room(asked: Query, block: Obstacle, section: Section) -> None:
    few, more, longer = gaps(
        [
            asked,
            replace(asked, obstacles=(*asked.obstacles, block)),
            replace(asked, sections=(*asked.sections, section)),
        ]
    )

    assert more.low_mm <= few.high_mm
    assert longer.low_mm <= few.high_mm


@quick
@given(queries(), spans(-5, 95), spans(-400, 400))
def test_a_longer_range_never_adds_room(asked: Query, tilt: Span, swivel: Span) -> None:
    motion = asked.motion
    assert isinstance(motion, JointBox)
    wider = replace(
        motion,
        tilt_deg=Span(low=min(motion.tilt_deg.low, tilt.low), high=max(motion.tilt_deg.high, tilt.high)),
        swivel_deg=Span(low=min(motion.swivel_deg.low, swivel.low), high=max(motion.swivel_deg.high, swivel.high)),
    )

    short, long = gaps([asked, replace(asked, motion=wider)])

    assert long.low_mm <= short.high_mm


@quick
@given(queries(), st.floats(0.1, 0.9))
def test_splitting_a_range_in_two_gives_the_same_least_gap(asked: Query, share: float) -> None:
    motion = asked.motion
    assert isinstance(motion, JointBox)
    middle = motion.tilt_deg.low + share * (motion.tilt_deg.high - motion.tilt_deg.low)
    halves = [
        replace(motion, tilt_deg=Span(low=motion.tilt_deg.low, high=middle)),
        replace(motion, tilt_deg=Span(low=middle, high=motion.tilt_deg.high)),
    ]

    whole, one, other = gaps([asked, *(replace(asked, motion=half) for half in halves)])

    assert max(whole.low_mm, min(one.low_mm, other.low_mm)) <= min(whole.high_mm, one.high_mm, other.high_mm) + 1e-5


@st.composite
def moves(draw: st.DrawFn) -> Straight:
    ends = [
        Joints(
            x_mm=draw(numbers(-600, 600)),
            y_mm=draw(numbers(-600, 600)),
            z_mm=draw(numbers(-100, 100)),
            tilt_deg=draw(numbers(-5, 95)),
            swivel_deg=draw(numbers(-200, 200)),
        )
        for _ in range(2)
    ]
    return Straight(start=ends[0], end=ends[1])


@quick
@given(queries(), moves(), st.floats(0.1, 0.9))
def test_splitting_a_move_in_two_gives_the_same_least_gap(asked: Query, move: Straight, share: float) -> None:
    parts = (move, move.part(0.0, share), move.part(share, 1.0))

    whole, one, other = gaps([replace(asked, motion=part) for part in parts])

    assert max(whole.low_mm, min(one.low_mm, other.low_mm)) <= min(whole.high_mm, one.high_mm, other.high_mm) + 1e-5
    assert whole.settled


@quick
@given(queries(), moves(), st.lists(st.floats(0, 1), min_size=5, max_size=5))
def test_no_pose_of_a_move_is_nearer_than_its_least_gap(asked: Query, move: Straight, shares: list[float]) -> None:
    poses = [JointBox.at(move.at(share)) for share in shares]

    whole, box, *still = gaps(
        [replace(asked, motion=motion) for motion in (move, JointBox.between(move.start, move.end), *poses)]
    )

    assert box.low_mm <= whole.high_mm
    assert all(whole.low_mm <= pose.high_mm for pose in still)


@quick
@given(queries(), st.lists(st.tuples(*[st.floats(0, 1)] * 5), min_size=6, max_size=6), numbers(-50, 200), st.booleans())
def test_no_pose_of_a_box_is_nearer_than_its_least_gap(
    asked: Query, shares: list[tuple[float, ...]], tip: float, compensated: bool
) -> None:
    motion = asked.motion
    assert isinstance(motion, JointBox)
    held = TipHeld(tip_mm=tip, start_tilt_deg=90.0, start_swivel_deg=10.0) if compensated else None
    sides = (motion.x_mm, motion.y_mm, motion.z_mm, motion.tilt_deg, motion.swivel_deg)
    poses = []
    for share in shares:
        x, y, z, tilt, swivel = (
            side.low + part * (side.high - side.low) for side, part in zip(sides, share, strict=True)
        )
        pose = Joints(x_mm=x, y_mm=y, z_mm=z, tilt_deg=tilt, swivel_deg=swivel)
        poses.append(pose if held is None else followed(asked.head, held, pose))

    whole, *still = gaps([replace(asked, tip_held=held), *(replace(asked, motion=JointBox.at(pose)) for pose in poses)])

    assert all(whole.low_mm <= pose.high_mm for pose in still)


def followed(head: Head, held: TipHeld, pose: Joints) -> Joints:
    """The readings once X, Y, Z have kept the tip where it was at the start."""
    start = replace(pose, tilt_deg=held.start_tilt_deg, swivel_deg=held.start_swivel_deg)
    moved = [
        before - after
        for before, after in zip(head.axis_point(start, held.tip_mm), head.axis_point(pose, held.tip_mm), strict=True)
    ]
    return replace(pose, x_mm=pose.x_mm + moved[0], y_mm=pose.y_mm + moved[1], z_mm=pose.z_mm + moved[2])


@quick
@given(queries())
def test_the_pose_and_points_found_bear_the_answer_out(asked: Query) -> None:
    found = gap(asked)

    at_pose = gap(replace(asked, motion=JointBox.at(found.joints), width_mm=1e-4))
    apart = sqrt(sum((a - b) ** 2 for a, b in zip(found.point_on_tool_mm, found.point_on_obstacle_mm, strict=True)))

    assert at_pose.low_mm <= found.high_mm + 1e-4
    assert found.low_mm <= at_pose.high_mm
    assert abs(apart - found.high_mm) <= 1e-4
    assert found.obstacle.from_mm - 1e-6 <= found.point_on_obstacle_mm[2] <= found.obstacle.to_mm + 1e-6


@quick
@given(queries(), numbers(-100, 100), numbers(-100, 100))
def test_a_gap_changes_by_no_more_than_the_head_is_moved(asked: Query, dx: float, dy: float) -> None:
    motion = asked.motion
    assert isinstance(motion, JointBox)
    moved = replace(motion, x_mm=motion.x_mm.moved(dx), y_mm=motion.y_mm.moved(dy))

    here, there = gaps([asked, replace(asked, motion=moved)])

    assert there.low_mm <= here.high_mm + sqrt(dx * dx + dy * dy) + SHAKY_MM
    assert here.low_mm <= there.high_mm + sqrt(dx * dx + dy * dy) + SHAKY_MM
