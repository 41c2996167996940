"""Simple polygons cut into convex pieces, with exact turns.

Source: docs/clearance-method.md#convex-pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from math import isfinite

from profilekeeper.errors import InvalidShape

__all__ = ["Point", "convex_pieces", "turn"]

Point = tuple[float, float]
# Forward error of the 2 x 2 determinant in doubles (two roundings of each difference and product).
_DETERMINANT_ERROR = 4.5e-16


def turn(a: Point, b: Point, c: Point) -> int:
    """+1 where a to b to c turns left, -1 where it turns right, 0 on one line: exact."""
    left = (b[0] - a[0]) * (c[1] - a[1])
    right = (b[1] - a[1]) * (c[0] - a[0])
    difference = left - right
    if abs(difference) > _DETERMINANT_ERROR * (abs(left) + abs(right)):
        return 1 if difference > 0 else -1
    ax, ay = Fraction(a[0]), Fraction(a[1])
    exact = (Fraction(b[0]) - ax) * (Fraction(c[1]) - ay) - (Fraction(b[1]) - ay) * (Fraction(c[0]) - ax)
    return (exact > 0) - (exact < 0)


@lru_cache(maxsize=4096)
def convex_pieces(outline: tuple[Point, ...]) -> tuple[tuple[Point, ...], ...]:
    """Convex polygons, counter-clockwise, that together fill a simple outline and nothing else.

    Shapes:  three corners or more; either way round; the last need not repeat the first.
    Raises:  InvalidShape, if the outline crosses or touches itself or encloses no area.
    >>> len(convex_pieces(((0, 0), (4, 0), (4, 4), (1, 4), (1, 1), (0, 1))))
    2
    """
    corners = _tidied(outline)
    _refuse_crossing(corners)
    if _doubled_area(corners) < 0:
        corners.reverse()
    return tuple(tuple(piece) for piece in _merged(_triangles(corners)))


def _tidied(outline: Sequence[Point]) -> list[Point]:
    if not all(isfinite(value) for point in outline for value in point):
        raise InvalidShape("an outline's corners must be finite numbers")
    corners = [point for i, point in enumerate(outline) if point != outline[i - 1] or len(outline) == 1]
    count = len(corners)
    kept = [corners[i] for i in range(count) if not _is_between(corners[i - 1], corners[i], corners[(i + 1) % count])]
    if len(kept) < 3:
        raise InvalidShape("an outline needs three corners that are not on one line")
    return kept


def _is_between(a: Point, b: Point, c: Point) -> bool:
    """Whether b is no corner: on the straight way from a to c."""
    onward = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return turn(a, b, c) == 0 and onward >= 0


def _doubled_area(corners: Sequence[Point]) -> Fraction:
    total = Fraction(0)
    for i, (x, y) in enumerate(corners):
        before_x, before_y = corners[i - 1]
        total += Fraction(before_x) * Fraction(y) - Fraction(x) * Fraction(before_y)
    return total


def _refuse_crossing(corners: Sequence[Point]) -> None:
    count = len(corners)
    for i in range(count):
        a, b = corners[i], corners[(i + 1) % count]
        if turn(a, b, corners[(i + 2) % count]) == 0:
            raise InvalidShape(f"the outline runs back over itself at corner {(i + 1) % count + 1} {b}")
        for j in range(i + 2, count if i else count - 1):
            if _meet(a, b, corners[j], corners[(j + 1) % count]):
                raise InvalidShape(
                    f"the outline crosses or touches itself: its side {i + 1}, from {a} to {b}, "
                    f"meets its side {j + 1}, from {corners[j]} to {corners[(j + 1) % count]}"
                )


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    turns = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    spots = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(sign == 0 and _in_box(*spot) for sign, spot in zip(turns, spots, strict=True))


def _in_box(a: Point, b: Point, p: Point) -> bool:
    return all(min(a[k], b[k]) <= p[k] <= max(a[k], b[k]) for k in (0, 1))


def _triangles(corners: list[Point]) -> list[list[Point]]:
    """Ears cut off one by one; a simple outline always has one (two ears theorem, Meisters 1975)."""
    rest, found = list(corners), []
    while len(rest) > 3:
        at = next((i for i in range(len(rest)) if _is_ear(rest, i)), None)
        if at is None:  # pragma: no cover - the theorem forbids it; should it ever fail, a sentence says so
            raise InvalidShape("the outline cannot be cut into convex pieces; check its corners")
        found.append([rest[at - 1], rest[at], rest[(at + 1) % len(rest)]])
        del rest[at]
    if turn(*rest) != 0:
        found.append(rest)
    return found


def _is_ear(rest: Sequence[Point], at: int) -> bool:
    a, b, c = rest[at - 1], rest[at], rest[(at + 1) % len(rest)]
    if turn(a, b, c) <= 0:
        return False
    return not any(min(turn(a, b, p), turn(b, c, p), turn(c, a, p)) >= 0 for p in rest if p not in (a, b, c))


def _merged(pieces: list[list[Point]]) -> list[list[Point]]:
    """Pieces joined over a common side for as long as the union stays convex."""
    done: list[list[Point]] = []
    waiting = list(pieces)
    while waiting:
        piece = waiting.pop()
        partner = next((k for k, other in enumerate(waiting) if _union(piece, other)), None)
        if partner is None:
            done.append(piece)
            continue
        joined = _union(piece, waiting.pop(partner))
        waiting.append(joined)
    return done


def _union(one: Sequence[Point], other: Sequence[Point]) -> list[Point]:
    """The convex union over one common side, or nothing."""
    for i, start in enumerate(one):
        end = one[(i + 1) % len(one)]
        for j, meets in enumerate(other):
            if meets == end and other[(j + 1) % len(other)] == start:
                joined = [*one[: i + 1], *_inner(other, j), *one[i + 1 :]]
                return joined if _is_convex(joined) else []
    return []


def _inner(other: Sequence[Point], at: int) -> list[Point]:
    """The corners of `other` but the two of its side at `at`, from the far one on."""
    count = len(other)
    return [other[(at + 2 + k) % count] for k in range(count - 2)]


def _is_convex(corners: Sequence[Point]) -> bool:
    count = len(corners)
    return all(turn(corners[i - 1], corners[i], corners[(i + 1) % count]) >= 0 for i in range(count))
