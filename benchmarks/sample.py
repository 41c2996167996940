"""A machine record of realistic size for the benchmarks: 40 tools of 8 fields, zeros and positions; all made up."""

from __future__ import annotations

__all__ = ["profile_text"]

_HEAD = """\
# A made-up saw, as large as records get in a working shop.
profile: 2
machine: {{id: {id}, name: {name}, shop: {shop}, class: tilting-head bridge saw, maker: Oddleby, model: OB-500}}
units: {{length: mm, angle: deg}}
resolution: {{length: 0.001, angle: 0.01}}
axes:
  X: {{kind: linear, travel: [0, 3600], soft_limits: [-1.000, 3601.000], backlash: {backlash}}}
  Y: {{kind: linear, travel: [0, 2200], soft_limits: [-1.000, 2201.000], backlash: 0.020}}
  Z: {{kind: linear, travel: [-480, 0], soft_limits: [-481.000, 0.500], backlash: 0.010}}
  A: {{kind: tilt, travel: [0, 92]}}
  C: {{kind: swivel, travel: [-185, 185]}}
head: {{pivot_to_gauge_line: 160.000, spindle_level_at: 0.00, spindle_down_at: 90.00, swivel_zero_points: +Y}}
tables:
  main: {{surface: {surface}, surface_limit: -470.000, outline: [[100, 80], [3500, 80], [3500, 2080], [100, 2080]]}}
work_offsets:
{offsets}
tool_changes:
{changes}
tools:
{tools}
sources:
  "": {{how: read, date: 2026-03-04, by: R. Okonjo}}
"""
_POSITION = "  {name}: {{X: {x:.3f}, Y: {y:.3f}, Z: {z:.3f}, frame: machine, tool_length_active: false}}"
_TOOL = (
    "  {n}: {{id: {id}, name: disc {d}, kind: disc, length: {length:.3f}, diameter_in_control: {to},"
    " speed: {speed}, marked_speed: {marked}, safe_z: {safe:.3f}}}"
)


def profile_text(number: int = 0, tools: int = 40, *, surface: str = "-455.200") -> str:
    """The text of one record; another number gives another machine."""
    return _HEAD.format(
        id=f"m{number:07d}",
        name=f"saw-{number}",
        shop=f"shop-{number % 40}",
        backlash=f"0.0{30 + number % 5}",
        surface=surface,
        offsets="\n".join(
            _POSITION.format(name=f"G{54 + i}", x=100.5 + i + number % 7, y=88.25, z=0) for i in range(6)
        ),
        changes="\n".join(_POSITION.format(name=f"spot-{i}", x=1800.0 + i, y=60.5, z=-5.0) for i in range(5)),
        tools="\n".join(_tool(number, n) for n in range(1, tools + 1)),
    )


def _tool(number: int, n: int) -> str:
    length = 80 + n * 3.25 + number % 3 / 8
    return _TOOL.format(
        n=n, id=f"t{number % 9}{n:06d}", d=100 + n * 5, length=length, speed=1200 + n, marked=2400, safe=-150 + n / 4,
        to=f"{100 + n * 5:.2f}",
    )  # fmt: skip
