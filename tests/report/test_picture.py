"""Pictures: true to size, the same each time, drawn without a system font."""

from __future__ import annotations

import struct
import zlib

import pytest

from profilekeeper.errors import FormatError
from profilekeeper.report import pdf_of, png_of

pytest.importorskip("typst")


def _grey(png):
    """Width, height, and the raw bytes of the rows (PNG specification, chunks IHDR and IDAT)."""
    wide, tall = struct.unpack(">II", png[16:24])
    data, at = b"", 8
    while at < len(png):
        (size,) = struct.unpack(">I", png[at : at + 4])
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + size]
        at += size + 12
    return wide, tall, zlib.decompress(data)


def test_png_has_the_size_of_the_paper_and_ink_on_it(build):
    wide, tall, rows = _grey(png_of(build.drawn(), dpi=100))

    assert (wide, tall) == (pytest.approx(297 / 25.4 * 100, abs=1), pytest.approx(210 / 25.4 * 100, abs=1))
    assert len(set(rows)) > 2


def test_letters_are_drawn_without_any_font_of_the_system(build):
    with_words = png_of(build.drawn(words=build.title(tool="Диск Δίσκος Säge")), dpi=100)

    assert with_words != png_of(build.drawn(words=build.title(tool="")), dpi=100)


def test_same_drawing_same_picture(build):
    assert png_of(build.drawn(), dpi=60) == png_of(build.drawn(), dpi=60)


def test_pdf_is_one_page_of_a4_lying(build):
    pdf = pdf_of(build.drawn())

    assert pdf.startswith(b"%PDF-")
    assert b"841.8" in pdf
    assert b"595.2" in pdf


@pytest.mark.parametrize("dpi", [0, 10_000])
def test_a_senseless_number_of_dots_is_refused(build, dpi):
    with pytest.raises(FormatError, match="dots an inch"):
        png_of(build.drawn(), dpi=dpi)
