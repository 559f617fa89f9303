"""Every page: text that can be read, labels that keep apart, alike everywhere."""

import re
import struct
from itertools import combinations

import pytest

from tapemark.drawing import svg_to_png
from tapemark.drawing.style import LEAST_TEXT_PT, PAPER, contrast
from tapemark.drawing.text_width import ASCENT, DESCENT, text_width

KINDS = ("plan", "elevation", "camera", "face", "distance")
SVG = "{http://www.w3.org/2000/svg}"


def box_of(element, text):
    """Left, top, right and bottom of a line of text [pt]."""
    size = float(element.get("font-size"))
    width = text_width(text, size_pt=size, weight=int(element.get("font-weight", 400)))
    x, y = float(element.get("x")), float(element.get("y"))
    left = x - width * {"start": 0, "middle": 0.5, "end": 1}[element.get("text-anchor", "start")]
    return (left, y - ASCENT * size, left + width, y + DESCENT * size)


def boxes_of(drawn):
    """Boxes of all upright text with the text."""
    return [
        (box_of(element, text), text)
        for element, text in drawn.texts()
        if element.get("transform") is None
    ]


def overlap_pt(a, b):
    """How far two boxes reach into each other [pt]."""
    return min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])


@pytest.fixture(params=KINDS)
def pages(request, library):
    """One kind of drawing for a simple, a crowded and a US setup."""
    draw = getattr(library, request.param)
    return [draw(), draw(more=library.crowded, turn="20 deg camera-left"), draw(units="us")]


def test_every_page_has_a_title_and_a_description(pages):
    for drawn in pages:
        assert drawn.root.get("role") == "img"
        assert drawn.root.find(f"{SVG}title").text.endswith("Quillmere Library, reading room")
        assert len(drawn.root.find(f"{SVG}desc").text) > 40


def test_a_page_is_an_a4_sheet(pages):
    for drawn in pages:
        sides = sorted(float(drawn.root.get(key).removesuffix("mm")) for key in ("width", "height"))
        assert sides == pytest.approx([210.0, 297.0], abs=0.02)


def test_text_is_large_and_dark_enough(pages):
    for drawn in pages:
        for element, _text in drawn.texts():
            assert float(element.get("font-size")) >= LEAST_TEXT_PT >= 9.0
            assert contrast(element.get("fill"), PAPER) >= 4.5


def test_all_text_is_in_the_shipped_typeface_first(pages):
    for drawn in pages:
        families = {one.get("font-family") for one in drawn.root.iter() if one.get("font-family")}
        assert len(families) == 1
        first, *_, last = families.pop().split(", ")
        assert (first, last) == ("'Source Sans Pro'", "sans-serif")


def test_no_text_lies_on_another(pages):
    for drawn in pages:
        for (a, first), (b, second) in combinations(boxes_of(drawn), 2):
            across, down = overlap_pt(a, b)
            assert across < 0.5 or down < 3.0, (first, second)  # lines of one label are set close


def test_no_text_leaves_the_page(pages):
    for drawn in pages:
        width, height = drawn.size
        for (left, top, right, bottom), text in boxes_of(drawn):
            assert left >= 0, text
            assert top >= 0, text
            assert right <= width, text
            assert bottom <= height, text


def test_every_label_found_room(pages):
    for drawn in pages:
        assert [word for word in drawn.words() if word.startswith("No room")] == []


def test_a_page_is_plain_shapes_only(pages):
    allowed = {"svg", "title", "desc", "defs", "clipPath", "pattern", "g"}
    allowed |= {"path", "rect", "circle", "text"}
    for drawn in pages:
        assert {one.tag.removeprefix(SVG) for one in drawn.root.iter()} <= allowed
        assert "href" not in drawn.svg


@pytest.mark.parametrize("kind", KINDS)
def test_long_names_with_markup_stay_text_on_the_page(library, kind):
    name = "A & B <script>alert('x')</script> " + "W" * 25
    drawn = getattr(library, kind)(key_name=name, sitter="M. <b> & Co", title="Day & <n> " * 19)
    assert "<script" not in drawn.svg
    assert any("<script>" in word for word in drawn.words())
    width, _ = drawn.size
    assert max(box[2] for box, _text in boxes_of(drawn)) <= width


@pytest.mark.parametrize("kind", KINDS)
def test_png_has_the_width_asked_for_and_is_the_same_each_time(library, kind):
    drawn = getattr(library, kind)()
    first, second = (svg_to_png(drawn.svg, width_px=500) for _ in range(2))
    assert first[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", first[16:24])
    assert width == 500
    assert height == pytest.approx(500 * drawn.size[1] / drawn.size[0], abs=1)
    assert first == second


def test_png_text_is_set_from_the_shipped_files():
    page = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="20mm" viewBox="0 0 100 20" '
        "font-family=\"'Source Sans Pro', sans-serif\">{}</svg>"
    )
    blank = svg_to_png(page.format(""), width_px=200)
    regular = svg_to_png(page.format('<text x="2" y="15">key</text>'), width_px=200)
    bold = svg_to_png(page.format('<text x="2" y="15" font-weight="600">key</text>'), width_px=200)
    assert len({blank, regular, bold}) == 3


def test_drawing_twice_gives_the_same_text(library):
    from tapemark.drawing import plan_drawing

    scene = library.scene()
    assert plan_drawing(scene) == plan_drawing(scene) == library.plan().svg


def test_numbers_are_written_to_a_hundredth_of_a_point(pages):
    for drawn in pages:
        for path in drawn.root.iter(f"{SVG}path"):
            assert re.search(r"\.\d{3}|nan|inf|e-", path.get("d")) is None
