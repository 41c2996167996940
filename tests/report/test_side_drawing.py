"""The side view, measured on the paper it is drawn on."""

from __future__ import annotations

from math import hypot

import pytest

from profilekeeper.clearance import Frame, Head, Joints, Obstacle, Section, Straight, TipHeld, rectangle, slab_on
from profilekeeper.errors import InvalidShape
from profilekeeper.quantities import LengthUnit

# The story of the shop: tool-change spot at Z -60, g 185, blade's far face 34 from the nose, bin 140 high.
PIVOT_MM = -60 + 185


def test_two_nearest_points_are_as_far_apart_on_paper_as_the_gap_says(build):
    scene = build.scene()
    drawing = build.read(build.drawn(scene))

    (s, z), (other_s, other_z) = drawing.point("on tool"), drawing.point("on obstacle")

    assert hypot(s - other_s, z - other_z) == pytest.approx(scene.gap.high_mm, abs=0.002)
    assert hypot(s - other_s, z - other_z) == pytest.approx(315 - hypot(219, 200), abs=0.002)
    assert other_z == pytest.approx(-190, abs=0.001)
    assert "18.4" in drawing.words()


def test_lowest_point_of_the_swept_outline_is_the_closed_form_one(build):
    drawing = build.read(build.drawn())

    lowest = min(z for _, z in drawing.points(drawing.one("data-part", "swept")))

    assert lowest == pytest.approx(PIVOT_MM - hypot(219, 200), abs=0.001)
    assert "lowest point 158.4" in drawing.words()
    assert "pivot 455.0" in drawing.words()


def test_a_hit_says_by_how_much_and_how_far_to_raise(build):
    drawing = build.read(build.drawn(build.scene(build.query(sections=build.blade(250.0, "blade 500")))))
    (_, z), (_, top) = drawing.point("on tool"), drawing.point("on obstacle")

    assert "hits by 17.4" in drawing.words()
    assert top - z == pytest.approx(hypot(219, 250) - 315, abs=0.05)
    assert "raise Z by 17.5 mm or more" in " ".join(drawing.words())


@pytest.mark.parametrize("verdict", ["clear", "tight"])
def test_contact_is_never_drawn_as_room(build, verdict):
    with pytest.raises(InvalidShape, match="contact"):
        build.drawn(build.scene(build.query(sections=build.blade(250.0))), verdict=verdict)


def test_every_obstacle_is_there_where_it_stands(build):
    slab = slab_on(-330, 30, rectangle(300, 900, -400, 100), name="slab")
    far = Obstacle(name="post", outline_mm=rectangle(100, 160, 400, 460), from_mm=-330, to_mm=-100)
    drawing = build.read(build.drawn(build.scene(build.query(obstacles=(build.bin, slab, far)))))

    assert {e.get("data-name") for e in drawing.all("data-name")} == {"offcut bin", "slab", "post", "table"}
    corners = drawing.points(drawing.one("data-name", "slab"))
    assert sorted({round(z, 3) for _, z in corners}) == [-330, -300]
    assert sorted({round(s, 3) for s, _ in corners}) == [300, 900]
    assert "post (beside this plane)" in drawing.words()
    assert drawing.one("data-name", "slab").get("data-matter") == "stone"
    assert drawing.one("data-name", "post").get("data-matter") is None


def test_a_concave_obstacle_is_cut_into_its_stretches(build):
    outline = ((-160, -300), (330, -300), (330, 300), (200, 300), (200, -100), (0, -100), (0, 300), (-160, 300))
    fork = Obstacle(name="fork", outline_mm=outline, from_mm=-330, to_mm=-190)
    drawing = build.read(build.drawn(build.scene(build.query(obstacles=(fork,)))))

    stretches = [sorted({round(s, 3) for s, _ in drawing.points(e)}) for e in drawing.all("data-name", "fork")]

    assert stretches == [[-160, 0], [200, 330]]


def test_names_in_any_script_are_escaped_and_kept_whole_enough(build):
    name = 'Κάδος <&> "Контейнер" \x07石'
    bin_ = Obstacle(name=name, outline_mm=build.bin.outline_mm, from_mm=-330, to_mm=-190)
    svg = build.drawn(build.scene(build.query(obstacles=(bin_,))), words=build.title(machine="saw <2> & Co ]]>"))

    drawing = build.read(svg)

    assert 'Κάδος <&> "Контейнер" \N{REPLACEMENT CHARACTER}石' in drawing.words()
    assert any("saw <2> & Co ]]>" in words for words in drawing.words())


def test_long_names_stay_inside_their_boxes(build):
    long = "Brückensäge Мостовая пила Γεφυροπρίονο " * 8
    bin_ = Obstacle(name=long, outline_mm=build.bin.outline_mm, from_mm=-330, to_mm=-190)
    words = build.title(machine=long, tool=long, position=long, snapshot=long, date=long)

    drawing = build.read(build.drawn(build.scene(build.query(obstacles=(bin_,))), words=words))

    for element in drawing.root.iter():
        if element.tag.endswith("}text") and not element.get("text-anchor") and not element.get("transform"):
            end = float(element.get("x")) + 0.602 * float(element.get("font-size")) * len(element.text or "")
            assert end <= 297 - 7


def test_nothing_is_fetched_from_elsewhere_and_nothing_runs(build):
    svg = build.drawn()
    drawing = build.read(svg)

    tags = {e.tag.split("}")[1] for e in drawing.root.iter()}
    assert tags.isdisjoint({"script", "image", "use", "foreignObject", "a", "style"})
    assert not [k for e in drawing.root.iter() for k in e.attrib if "href" in k or k.startswith("on")]
    assert svg.count("http") == 1  # the name of the SVG namespace
    ids = {e.get("id") for e in drawing.root.iter() if e.get("id")}
    used = {v[5:-1] for e in drawing.root.iter() for v in e.attrib.values() if v.startswith("url(#")}
    assert used <= ids


def test_the_same_scene_gives_the_same_drawing_of_a_bounded_size(build):
    assert build.drawn() == build.drawn()
    assert len(build.drawn().encode()) < 150_000


def test_hatches_and_lines_are_black_so_that_colour_only_repeats_the_word(build):
    drawing = build.read(build.drawn())

    coloured = [e for e in drawing.root.iter() if {e.get("fill"), e.get("stroke")} - {None, "none", "#000", "#fff"}]

    assert [e.get("data-verdict") for e in coloured if not (e.get("fill") or "").startswith("url")] == ["tight"]
    assert "TIGHT" in drawing.words()


def test_an_inch_machine_is_dimensioned_in_inches(build):
    words = build.read(build.drawn(unit=LengthUnit.IN)).words()

    assert "0.725" in words  # 18.418 mm is 0.7251 in, never rounded up
    assert "pivot 17.913" in words
    assert "above the table, in" in words
    assert any(word.endswith(" in") and word[0].isdigit() for word in words)


def test_scale_bar_is_to_scale(build):
    drawing = build.read(build.drawn())

    bar = drawing.one("data-part", "scale bar")
    wide = sum(float(e.get("width")) for e in bar if e.tag.endswith("}rect"))
    (label,) = [e.text for e in bar if e.tag.endswith("}text")]

    assert wide * drawing.scale == pytest.approx(float(label.split()[0]), abs=0.01)
    assert f"1 : {drawing.scale:g}" in drawing.words()


def test_caution_and_every_cell_of_the_title_block_are_there(build):
    words = " ".join(build.read(build.drawn()).words())

    assert "verify at the machine at reduced speed" in words
    for cell in ("quayside/saw-1", "7: blade 400", "tool-change spot 1", "q4m7t2", "2026-03-04"):
        assert cell in words


def test_without_a_known_table_heights_are_readings_of_z(build):
    words = build.read(build.drawn(build.scene(also=(), table=""))).words()

    assert "Z, mm" in words
    assert "pivot 125.0" in words
    assert "offcut bin top −190.0" in words


def test_bristles_are_drawn_apart_from_what_is_hard(build):
    sections = (*build.blade()[:2], Section(from_mm=30, to_mm=90, radius_from_mm=80, radius_to_mm=120, soft=True))
    drawing = build.read(build.drawn(build.scene(build.query(sections=sections))))

    hard = min(z for _, z in drawing.points(drawing.one("data-part", "swept")))
    soft = min(z for _, z in drawing.points(drawing.one("data-part", "swept soft")))

    assert hard == pytest.approx(PIVOT_MM - hypot(185 + 30, 60), abs=0.001)
    assert soft == pytest.approx(PIVOT_MM - hypot(185 + 90, 120), abs=0.001)


def test_offset_axes_swing_as_far_as_the_trade_says(build):
    # D 219, r 250, spindle axis 60 off the tilt axis: 379.6 on one side, 289.9 on the other.
    head = Head(pivot_to_gauge_line_mm=185.0, tilt_to_spindle_mm=(60.0, 0.0))
    asked = build.query(head=head, sections=build.blade(250.0), motion=build.box(z=0.0, tilt=(-90.0, 180.0)))
    passed = build.scene(asked).turn.swept(asked.sections[2:])
    reach = [hypot(s, z - 185) for piece in passed.outline for s, z in piece]

    assert max(reach) == pytest.approx(379.6, abs=0.05)
    assert hypot(219, 250 - 60) == pytest.approx(289.9, abs=0.05)


@pytest.mark.parametrize("frame", list(Frame))
@pytest.mark.parametrize("table_axes", [frozenset(), frozenset("Y")], ids=["bridge moves", "table moves"])
def test_witness_is_true_to_the_gap_whatever_the_obstacle_rides_with(build, frame, table_axes):
    head = Head(pivot_to_gauge_line_mm=185.0, table_axes=table_axes)
    near = Obstacle(name="thing", outline_mm=rectangle(250, 320, -5000, 5000), from_mm=-2000, to_mm=-60, frame=frame)
    asked = build.query(head=head, obstacles=(near,), motion=build.box(x=-150.0, y=70.0, swivel=20.0, tilt=(60, 90)))
    scene = build.scene(asked, also=())
    drawing = build.read(build.drawn(scene, verdict="short"))

    on_tool = drawing.point("on tool")
    blade = drawing.points(drawing.one("data-section", "blade"))

    assert scene.gap.high_mm > 1
    apart = hypot(hypot(*(a - b for a, b in zip(scene.on_tool, scene.on_obstacle, strict=True))), _spread(scene))
    assert apart == pytest.approx(scene.gap.high_mm, abs=0.01)
    assert min(z for _, z in blade) - 0.01 <= on_tool[1] <= max(z for _, z in blade) + 0.01


def _spread(scene):
    """How far apart the two points are across the tilt plane, from the kernel's own frame of the obstacle."""
    total = sum((a - b) ** 2 for a, b in zip(scene.gap.point_on_tool_mm, scene.gap.point_on_obstacle_mm, strict=True))
    within = sum((a - b) ** 2 for a, b in zip(scene.on_tool, scene.on_obstacle, strict=True))
    return max(total - within, 0.0) ** 0.5


def test_with_compensation_on_the_tip_stands_still_on_paper(build):
    asked = build.query(tip_held=TipHeld(tip_mm=34.0, start_tilt_deg=90.0), motion=build.box(z=60.0, tilt=(30, 90)))
    scene = build.scene(asked)

    tips = [scene.turn.on_axis(34.0, tilt) for tilt in (30.0, 60.0, 90.0)]

    assert tips[0] == pytest.approx((-scene.turn.joints.x_mm, 60.0 - 34.0), abs=1e-6)
    assert tips[1:] == [pytest.approx(tips[0]), pytest.approx(tips[0])]
    assert scene.turn.pivot(90.0) == pytest.approx((tips[0][0], 60.0 + 185.0))
    assert any("compensation on" in words for words in build.read(build.drawn(scene)).words())


def test_a_move_that_is_no_turn_on_the_spot_says_so(build):
    start = Joints(x_mm=0, y_mm=0, z_mm=0, tilt_deg=0)
    move = Straight(start=start, end=Joints(x_mm=200, y_mm=0, z_mm=-40, tilt_deg=90))

    words = " ".join(build.read(build.drawn(build.scene(build.query(motion=move)))).words())

    assert "drawn at the place of the" in words


def test_a_scene_too_large_for_a_sheet_is_refused_in_a_sentence(build):
    asked = build.query(sections=(Section.cylinder(0, 90_000, 60_000),))

    with pytest.raises(InvalidShape, match="too large to draw"):
        build.drawn(build.scene(asked), verdict="hits")
