"""Certified swing answers against coal inside a best-first Lipschitz search of equal width.

Run:  python benchmarks/bench_clearance.py [repeats]
40 tools x 6 positions x 8 zones, tilt 0 to 90 with the swivel held, then with the swivel free.
The competitor prunes by bounding spheres and stops as soon as its interval is 0.1 mm wide: gap at a pose
less the farthest any point of the pair moves inside the box is a sound lower bound. Where coal (the extra
`[oracle]`) is missing, only our own times are printed. Ratios are the result; absolute times (CPU) are this machine's.
"""

from __future__ import annotations

import heapq
import random
import sys
import time
from importlib.util import find_spec
from math import cos, hypot, radians, sin

import numpy as np

from profilekeeper.clearance import Head, JointBox, Obstacle, Query, Section, Span, gaps, rectangle

WIDTH_MM = 0.1


def queries(seed: int, free_swivel: bool) -> list[Query]:
    """240 questions: every tool at every position against all zones."""
    rng = random.Random(seed)
    head = Head(pivot_to_gauge_line_mm=185.0)
    body = Section.cylinder(-310, 0, 95, name="body")
    zones = tuple(_zone(rng, number) for number in range(8))
    places = [(rng.uniform(0, 3000), rng.uniform(0, 1800), rng.uniform(-60, 0)) for _ in range(6)]
    swivel = Span(low=-180, high=180) if free_swivel else Span.at(0)
    found = []
    for _ in range(40):
        radius, length = rng.uniform(50, 260), rng.uniform(60, 220)
        tool = (Section.cylinder(0, 0.6 * length, 40), Section.cylinder(0.6 * length, length, radius), body)
        for x, y, z in places:
            box = JointBox(
                x_mm=Span.at(x), y_mm=Span.at(y), z_mm=Span.at(z),
                tilt_deg=Span(low=0, high=90), swivel_deg=swivel,
            )  # fmt: skip
            found.append(Query(head=head, sections=tool, obstacles=zones, motion=box, width_mm=WIDTH_MM))
    return found


def _zone(rng: random.Random, number: int) -> Obstacle:
    x, y = rng.uniform(-600, 3000), rng.uniform(-300, 1800)
    outline = rectangle(x, x + rng.uniform(50, 600), y, y + rng.uniform(50, 600))
    return Obstacle(name=f"zone {number}", outline_mm=outline, from_mm=-400, to_mm=rng.uniform(-350, -150))


class Competitor:
    """coal, one question at a time: a heap of boxes, least lower bound first."""

    def __init__(self) -> None:
        import coal

        self.coal = coal
        self.request, self.result = coal.DistanceRequest(), coal.DistanceResult()
        self.calls = 0

    def interval(self, query: Query) -> tuple[float, float]:
        box = query.motion
        assert isinstance(box, JointBox)
        reach = query.head.pivot_to_gauge_line_mm
        pivot = np.array([box.x_mm.low, box.y_mm.low, box.z_mm.low + reach])
        pairs = [self._pair(s, o, reach, pivot) for s in query.sections for o in query.obstacles]
        pairs.sort(key=lambda pair: pair[0])
        tilt = (radians(box.tilt_deg.low), radians(box.tilt_deg.high))
        turn = (radians(box.swivel_deg.low), radians(box.swivel_deg.high))
        heap = [(pair[0], k, tilt, turn) for k, pair in enumerate(pairs)]
        high, low_done = float("inf"), float("inf")
        heapq.heapify(heap)
        while heap and high > 0:
            low, k, tilt, turn = heapq.heappop(heap)
            if low >= high - WIDTH_MM:
                low_done = min(low_done, low)
                break
            gap, arm = self._distance(pairs[k], tilt, turn, pivot), pairs[k][2]
            high = min(high, max(gap, 0.0))
            low = max(low, gap - arm * ((tilt[1] - tilt[0]) + (turn[1] - turn[0])) / 2)
            if low >= high - WIDTH_MM:
                low_done = min(low_done, low)
                continue
            for part in _halves(tilt, turn):
                heapq.heappush(heap, (low, k, *part))
        return (0.0, 0.0) if high <= 0 else (min(low_done, high), high)

    def _pair(self, section: Section, obstacle: Obstacle, reach: float, pivot: np.ndarray) -> tuple:
        begin, end = reach + section.from_mm, reach + section.to_mm
        arm = hypot(max(abs(begin), abs(end)), section.radius_to_mm)
        (x0, y0), (x1, y1) = obstacle.outline_mm[0], obstacle.outline_mm[2]
        low, high = np.array([x0, y0, obstacle.from_mm]), np.array([x1, y1, obstacle.to_mm])
        outside = np.maximum(np.maximum(low - pivot, pivot - high), 0.0)
        wall = self.coal.Box(*(high - low))
        place = self.coal.Transform3s(np.eye(3), (low + high) / 2)
        tool = self.coal.Cylinder(section.radius_to_mm, end - begin)
        return (float(np.sqrt(outside @ outside)) - arm, tool, arm, (begin + end) / 2, wall, place)

    def _distance(self, pair: tuple, tilt: tuple, turn: tuple, pivot: np.ndarray) -> float:
        _, tool, _, along, wall, place = pair
        a, c = (tilt[0] + tilt[1]) / 2, (turn[0] + turn[1]) / 2
        ca, sa, cc, sc = cos(a), sin(a), cos(c), sin(c)
        axes = np.array([[sa * cc, -sc, ca * cc], [sa * sc, cc, ca * sc], [ca, 0.0, -sa]])
        pose = self.coal.Transform3s(axes, pivot + along * axes[:, 2])
        self.calls += 1
        self.result.clear()
        return float(self.coal.distance(tool, pose, wall, place, self.request, self.result))


def _halves(tilt: tuple[float, float], turn: tuple[float, float]) -> list[tuple]:
    if tilt[1] - tilt[0] >= turn[1] - turn[0]:
        middle = (tilt[0] + tilt[1]) / 2
        return [((tilt[0], middle), turn), ((middle, tilt[1]), turn)]
    middle = (turn[0] + turn[1]) / 2
    return [(tilt, (turn[0], middle)), (tilt, (middle, turn[1]))]


def _timed(work: object, repeats: int) -> tuple[float, object]:
    best, answer = float("inf"), None
    for _ in range(repeats):
        begin = time.process_time()
        answer = work()
        best = min(best, time.process_time() - begin)
    return best, answer


def main(repeats: int) -> int:
    """Print times, box counts and ratios; 1 where the two intervals do not overlap somewhere."""
    wrong = 0
    for free in (False, True):
        asked = queries(5, free)
        gaps(asked[:8])
        ours_s, ours = _timed(lambda asked=asked: gaps(asked), repeats)
        boxes = sorted(found.boxes for found in ours)
        print(f"swivel {'free' if free else 'held'}: {len(asked)} answers, ours {ours_s * 1e3:.1f} ms, "
              f"boxes median {boxes[len(boxes) // 2]}, most {boxes[-1]}, "
              f"{sum(found.is_contact for found in ours)} in contact")  # fmt: skip
        if find_spec("coal") is None:
            print("  coal is not installed: no ratio")
            continue
        rival = Competitor()
        rival_s, theirs = _timed(
            lambda asked=asked, rival=rival: [rival.interval(q) for q in asked], 1 if free else repeats
        )
        apart = [k for k, (mine, (low, high)) in enumerate(zip(ours, theirs, strict=True))
                 if mine.low_mm > high + 1e-4 or low > mine.high_mm + 1e-4]  # fmt: skip
        wrong += len(apart)
        print(f"  coal, best-first Lipschitz: {rival_s * 1e3:.1f} ms; ratio {rival_s / ours_s:.1f}; "
              f"{len(apart)} intervals that do not overlap")  # fmt: skip
    return min(wrong, 1)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
