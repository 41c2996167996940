"""What the room promises as a whole."""

from __future__ import annotations

import subprocess
import sys

import profilekeeper.report as report
from profilekeeper.report.svg import clipped_text, number, text_width, wrapped


def test_every_name_it_lists_is_there():
    assert all(getattr(report, name) is not None for name in report.__all__)


def test_its_words_load_neither_numpy_nor_the_typesetter():
    program = "import sys, profilekeeper.report as r; r.VERDICT_COLOURS; print({'numpy', 'typst'} & set(sys.modules))"

    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "set()"


def test_numbers_are_short_and_never_minus_nothing():
    assert [number(v) for v in (1.0, -0.00001, 2.50004, -3.25, 1e6)] == ["1", "0", "2.5", "-3.25", "1000000"]


def test_text_fits_the_room_it_is_given():
    assert clipped_text("offcut bin", 3, 100) == "offcut bin"
    assert text_width(clipped_text("offcut bin beside the saw", 3, 20), 3) <= 20
    assert all(text_width(row, 3) <= 30 for row in wrapped("a bin 石材切断機石材切断機石材切断機 beside it", 3, 30))
    assert wrapped("", 3, 30) == []
