"""`tapemark sheet` and `tapemark export`: what an assistant and other programs are handed."""

import io
import json
import struct
from dataclasses import replace
from importlib.resources import files
from xml.etree import ElementTree as ET

import cv2
import numpy as np
import pytest
import trimesh
from tests.commands.pdf_text import pages

from tapemark.drawing import typeface
from tapemark.drawing.paper import rig_page
from tapemark.drawing.paper.day_page import day_page_count, day_pages
from tapemark.drawing.paper.qr import qr_svg
from tapemark.drawing.paper.rig_elevation import rig_elevation
from tapemark.drawing.paper.rig_page import MARGIN_PT
from tapemark.drawing.paper.rig_plan import rig_plan
from tapemark.drawing.paper.typst_pages import breakable
from tapemark.drawing.text_width import text_width
from tapemark.planning import Watch
from tapemark.planning.run_orders.day_sheet import DayLine, DaySheet
from tapemark.services import (
    check_setup,
    day_sheet_of,
    demo_setup_text,
    export_drawing,
    export_set,
    order_sitters,
    sheet_bytes,
    sheet_of,
)
from tapemark.services.editing.edits import apply_edits
from tapemark.services.paper.sheet import paper_for
from tapemark.studio import changed, setup_from_toml

LINK = "http://192.168.1.20:8470/paper/5f3a9c?from=phone"
SVG = "{http://www.w3.org/2000/svg}"
SITTERS = files("tapemark.services").joinpath("examples", "quillmere-sitters.csv")


@pytest.fixture(scope="module")
def checked():
    return check_setup(setup_from_toml(demo_setup_text("quillmere-cured"), name="cured"))


@pytest.fixture(scope="module")
def pdf(checked):
    return sheet_bytes(checked, link=LINK)


@pytest.fixture(scope="module")
def picture(checked):
    """The sheet as a picture, as its pixels in grey."""
    data = sheet_bytes(checked, form="png", link=LINK)
    return cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE)


def test_sheet_is_written_where_it_is_wanted_and_always_the_same(run, setups, tmp_path, pdf):
    target = tmp_path / "monday.pdf"
    answer = run("sheet", setups["cured"], "-o", target, "--paper", "a4", "--link", LINK)
    assert answer.code == 0
    assert answer.err == f"wrote {target}\n"
    assert target.read_bytes() == pdf


def test_paper_goes_by_units(checked):
    assert paper_for(checked.scene.setup) == "a4"
    assert paper_for(changed(checked.scene.setup, {"units": "us"})) == "letter"


def test_the_page_says_everything_the_sheet_knows(checked, pdf):
    (page,) = pages(pdf)
    assert (page.width, page.height) == (595.28, 841.89)
    rig, told = sheet_of(checked), page.text.replace(" ,", ",")
    wanted = [rig.title, rig.camera, rig.base, rig.defers, *rig.build, *rig.test]
    wanted += [f"{one.count} × {one.what}" for one in rig.packing]
    for one in rig.lines:
        wanted += [one.name, one.gear, one.first, one.second, one.side, one.height, one.power]
        wanted += [one.stand_height, one.aim, one.stand, one.reading]
    assert [words for words in wanted if words not in told] == []
    assert "\ufffd" not in page.text


def test_no_line_of_text_leaves_its_page(pdf):
    (page,) = pages(pdf)
    for run_ in page.runs:
        if run_.x is None:
            continue  # inside a drawing: see below
        weight = 600 if run_.bold else 400
        wide = text_width(run_.text.rstrip(), size_pt=run_.size, weight=weight)
        assert run_.x >= MARGIN_PT - 0.1
        assert run_.x + wide <= page.width - MARGIN_PT + 0.5, run_.text
        assert MARGIN_PT - 0.1 <= run_.y <= page.height - MARGIN_PT + 0.1


def test_nothing_runs_into_the_margin(picture):
    edge = int((MARGIN_PT - 3.0) / 595.28 * picture.shape[1])
    inner = picture.copy()
    inner[edge:-edge, edge:-edge] = 255
    assert inner.min() == 255
    assert picture.min() < 60  # and there is ink inside


def test_a_phone_reads_the_link_off_the_page(picture):
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert text == LINK


def test_the_code_has_free_paper_around_it():
    # SOURCE    [qr-code] four modules; from memory
    svg = ET.fromstring(qr_svg(LINK))
    side = int(svg.get("viewBox").split()[-1])
    page = np.full((side, side), 255, np.uint8)
    for run_ in svg.find(f"{SVG}path").get("d").removeprefix("M").split("M"):
        place, length = run_.split("h")[:2]
        x, y = map(int, place.split())
        page[y, x : x + int(length.split("v")[0])] = 0
    for edge in (page[:4], page[-4:], page[:, :4], page[:, -4:]):
        assert edge.min() == 255
    assert page[4, 4] == page[4, -5] == page[-5, 4] == 0
    large = cv2.resize(page, None, fx=6, fy=6, interpolation=cv2.INTER_NEAREST)
    assert cv2.QRCodeDetector().detectAndDecode(large)[0] == LINK


def test_it_still_reads_in_black_and_white(picture):
    ink = (picture < 128).mean()
    assert 0.02 < ink < 0.35
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.where(picture < 128, 0, 255).astype("u1"))
    assert text == LINK


@pytest.mark.parametrize("size", [(300.0, 210.0)])
def test_drawings_keep_all_their_text_and_name_every_light(checked, size):
    rig = sheet_of(checked)
    for draw in (rig_plan, rig_elevation):
        svg = ET.fromstring(draw(checked.scene, rig, size_pt=size))
        words = []
        for text in svg.iter(f"{SVG}text"):
            wide = text_width(text.text, size_pt=float(text.get("font-size")))
            left = float(text.get("x"))
            left -= {"middle": wide / 2, "end": wide}.get(text.get("text-anchor"), 0.0)
            if text.get("transform") is None:
                assert left >= -0.5
                assert left + wide <= size[0] + 0.5
            assert 0 < float(text.get("y")) < size[1]
            words.append(text.text)
        assert {"1 key", "2 fill"} <= set(words)
        if draw is rig_plan:
            (key,) = [one for one in rig.lines if one.name == "key"]
            assert {f"S {key.first}", f"C {key.second}"} <= set(words)


def test_typed_text_is_never_markup():
    odd = "#strong[x] $y$ \\ @z <b> `c` *d* _e_ = ( ) //"
    about = {"name": odd, "about": odd, "changes": (odd,)}
    line = DayLine(number=1, time="9:00", change_time="", notes=(), free="", **about)
    day = DaySheet(title=odd, span=odd, begins_with=(odd,), trouble=(), lines=(line,), notes=(odd,))
    (page,) = pages(day_pages(day, paper="a4", form="pdf")[0])
    assert page.text.count(odd) == 8  # the title stands at the foot as well


def test_letters_that_no_font_here_has_are_stood_in_for(monkeypatch):
    assert typeface.has_all("Žofia Ines Жанна ½ × 38° – “f/8”")
    assert not typeface.has_all("李娜")
    monkeypatch.setattr(typeface, "_letters_elsewhere", frozenset)
    assert typeface.drawable({"name": ["李娜 Ines"]}) == {"name": ["?? Ines"]}
    whole = "\N{WOMAN}\N{ZERO WIDTH JOINER}\N{PERSONAL COMPUTER} Ines"
    assert typeface.drawable(whole) == "? Ines"  # one letter to whoever reads it
    monkeypatch.setattr(typeface, "_letters_elsewhere", lambda: frozenset(map(ord, "李娜")))
    assert typeface.drawable("李娜 Ines") == "李娜 Ines"


def test_a_long_word_is_never_broken_within_what_is_seen_as_one_letter():
    family = "\N{WOMAN}\N{ZERO WIDTH JOINER}\N{GIRL}\N{ZERO WIDTH JOINER}\N{BOY}"
    for before in range(12, 17):
        word = "x" * before + family + "e\N{COMBINING ACUTE ACCENT}" * 9
        pieces = breakable(word).split("\u200b")
        assert "".join(pieces) == word
        assert len(pieces) > 1
        assert sum(family in one for one in pieces) == 1
        assert not any(one.startswith("\N{COMBINING ACUTE ACCENT}") for one in pieces)


def test_a_name_read_from_the_right_leaves_the_numbers_beside_it_where_they_are(
    checked, monkeypatch
):
    told = {}
    monkeypatch.setattr(rig_page, "set_pages", lambda _, data, form: told.update(data) or (b"",))
    name = "נועה 7"
    setup = apply_edits(checked.scene.setup, [{"set": "sitter.name", "value": name}])
    sheet_bytes(setup)
    apart = f"\N{FIRST STRONG ISOLATE}{name}\N{POP DIRECTIONAL ISOLATE}"
    assert told["people"].startswith(f"{apart}: ")
    assert apart in json.dumps(told["lines"], ensure_ascii=False)


def test_a_wrong_ending_is_told(run, setups, tmp_path):
    answer = run("sheet", setups["cured"], "-o", tmp_path / "sheet.doc")
    assert answer.code == 2
    assert "sheet.doc: write a name that ends in .pdf, .svg, .png" in answer.err


def test_an_endless_link_is_told(run, setups):
    answer = run("sheet", setups["cured"], "--link", "x" * 501)
    assert answer.code == 2
    assert "501 characters" in answer.err


@pytest.mark.parametrize(
    ("form", "start"), [("svg", b"<svg"), ("png", b"\x89PNG"), ("pdf", b"%PDF-")]
)
def test_any_drawing_comes_in_any_form(checked, form, start):
    data = export_drawing(checked, "plan", form)
    assert data.startswith(start)
    if form == "pdf":
        (page,) = pages(data)
        assert (page.width, page.height) == (841.89, 595.28)


def test_export_writes_a_drawing_or_says_which_there_are(run, setups, tmp_path):
    target = tmp_path / "light.svg"
    assert run("export", setups["cured"], "-o", target, "--what", "elevation").code == 0
    assert target.read_text("utf-8").startswith("<svg")
    answer = run("export", setups["cured"], "-o", target, "--what", "roof")
    assert answer.code == 2
    assert "there are plan, elevation, camera, face, distance" in answer.err
    answer = run("export", setups["cured"], "-o", tmp_path / "x.glb", "--what", "plan")
    assert answer.code == 2


# ---------------------------------------------------------------- the set as a model

COMPONENTS = {5126: ("<f4", 4), 5125: ("<u4", 4)}
KINDS = {"SCALAR": 1, "VEC3": 3}


def parsed(data):
    """The JSON and the numbers of a binary glTF, its frame checked on the way."""
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON"
    assert size % 4 == 0
    tree = json.loads(data[20 : 20 + size])
    more, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert kind == b"BIN\0"
    assert more % 4 == 0
    assert 28 + size + more == len(data)
    return tree, data[28 + size :]


def values_of(tree, buffer, index):
    accessor = tree["accessors"][index]
    view = tree["bufferViews"][accessor["bufferView"]]
    form, width = COMPONENTS[accessor["componentType"]]
    count = accessor["count"] * KINDS[accessor["type"]]
    assert view["byteOffset"] % width == 0
    assert count * width <= view["byteLength"]
    assert view["byteOffset"] + view["byteLength"] <= tree["buffers"][0]["byteLength"]
    found = np.frombuffer(buffer, form, count=count, offset=view["byteOffset"])
    found = found.reshape(accessor["count"], -1)
    np.testing.assert_array_equal(found.min(axis=0), np.array(accessor["min"], form))
    np.testing.assert_array_equal(found.max(axis=0), np.array(accessor["max"], form))
    return found


def test_the_model_keeps_the_rules_of_gltf():
    # SOURCE    [gltf-2-0] sections 3 and 4; from memory
    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="cured")
    data = export_set(setup)
    tree, buffer = parsed(data)
    assert tree["asset"]["version"] == "2.0"
    assert tree["buffers"][0]["byteLength"] <= len(buffer)
    assert sorted(tree["scenes"][0]["nodes"]) == list(range(len(tree["nodes"])))
    names = [node["name"] for node in tree["nodes"]]
    assert len(set(names)) == len(names)
    for mesh in tree["meshes"]:
        (part,) = mesh["primitives"]
        points = values_of(tree, buffer, part["attributes"]["POSITION"])
        across = values_of(tree, buffer, part["attributes"]["NORMAL"])
        corners = values_of(tree, buffer, part["indices"])
        assert len(points) == len(across)
        assert np.isfinite(points).all()
        np.testing.assert_allclose(np.linalg.norm(across, axis=1), 1.0, atol=1e-5)
        assert len(corners) % 3 == 0
        assert corners.max() == len(points) - 1
        assert 0 <= part["material"] < len(tree["materials"])


def test_the_model_reads_back_with_everything_in_its_place(checked):
    setup = checked.scene.setup
    model = trimesh.load(io.BytesIO(export_set(checked)), file_type="glb")
    names = set(model.graph.nodes_geometry)
    for light in setup.lights:
        assert {f"{light.name}: {part}" for part in ("lit face", "modifier", "head", "stand")} <= (
            names
        )
        face = placed(model, f"{light.name}: lit face")
        x, y, z = light.place.position_m
        middle = (face.min(axis=0) + face.max(axis=0)) / 2
        np.testing.assert_allclose(middle, (-x, z, y), atol=0.13)  # a bowl is deep
    assert {"floor", "backdrop", "camera: lens", "Ines, reader services: head"} <= names
    floor = placed(model, "floor")
    np.testing.assert_allclose(np.ptp(floor, axis=0), (5.4, 0.0, 7.0), atol=1e-6)
    eyes = placed(model, "Ines, reader services: right lens").mean(axis=0)
    assert eyes[0] < 0  # the sitter's right is camera-left, on the left of who looks with it
    assert abs(eyes[1] - 1.2) < 0.03


def placed(model, name):
    turn, shape = model.graph[name]
    return trimesh.transform_points(model.geometry[shape].vertices, turn)


def test_solids_are_closed_outwards_and_lit_faces_shine(checked):
    tree, buffer = parsed(export_set(checked))
    for node in tree["nodes"]:
        if "mesh" not in node:
            continue
        (part,) = tree["meshes"][node["mesh"]]["primitives"]
        material = tree["materials"][part["material"]]
        assert ("emissiveFactor" in material) == node["name"].endswith("lit face")
        if node["name"].endswith((": head", ": stand", ": trunk", ": stool", ": tripod", ": lens")):
            points = values_of(tree, buffer, part["attributes"]["POSITION"]).astype(float)
            corners = values_of(tree, buffer, part["indices"]).reshape(-1, 3)
            a, b, c = (points[corners[:, k]] - points.mean(axis=0) for k in range(3))
            assert (a * np.cross(b, c)).sum() > 0, node["name"]


def test_the_camera_of_the_model_sees_the_sitter(checked):
    tree, _ = parsed(export_set(checked))
    (node,) = [one for one in tree["nodes"] if "camera" in one]
    pose = np.array(node["matrix"]).reshape(4, 4).T
    eyes = np.linalg.inv(pose) @ (0.0, 1.2, 0.0, 1.0)
    assert eyes[2] < 0  # in front of it: it looks along -z
    lens = tree["cameras"][0]["perspective"]
    assert abs(eyes[1] / eyes[2]) < np.tan(lens["yfov"] / 2)
    assert lens["aspectRatio"] == pytest.approx(24 / 36)


def test_lights_that_are_off_do_not_shine_in_the_model(checked):
    setup = checked.scene.setup
    key, fill = setup.lights
    dark = changed(setup, {"lights": (key, changed(fill, {"on": False}))})
    tree, _ = parsed(export_set(dark))
    shines = {
        node["name"]
        for node in tree["nodes"]
        if "mesh" in node
        and "emissiveFactor"
        in tree["materials"][tree["meshes"][node["mesh"]]["primitives"][0]["material"]]
    }
    assert shines == {"key: lit face"}


# ---------------------------------------------------------------- the day on paper


def test_the_day_is_written_as_pages_to_work_down(run, setups, tmp_path):
    sitters = tmp_path / "few.csv"
    sitters.write_text(
        "name,eye height,posture,glasses,from,to\n"
        "Tova,1.17 m,seated,none,,\n"
        "Jory,1.72 m,standing,none,,\n"
        "Aurel,1.27 m,seated,none,9:00,9:30\n",
        encoding="utf-8",
    )
    target = tmp_path / "day.pdf"
    answer = run("order", sitters, "--setup", setups["cured"], "--sheet", target)
    assert answer.code == 0
    assert f"wrote {target}" in answer.err
    (page,) = pages(target.read_bytes())
    assert all(name in page.text for name in ("Tova", "Jory", "Aurel", "9:00", "done"))
    assert "Before the first change: stool in" in page.text


def test_the_pages_of_the_day_tell_every_sitter_and_every_change(setups, tmp_path):
    path = tmp_path / "sitters.csv"
    path.write_bytes(SITTERS.read_bytes())
    watch = Watch(stopped=True)
    report = order_sitters(path, setup=setups["cured"], start_s=32400, sitting_s=480, watch=watch)
    day = day_sheet_of(report)
    turns = report.plan.turns
    assert [one.name for one in day.lines] == [turn.appointment.name for turn in turns]
    assert len(day.lines) == 14
    assert [len(one.changes) for one in day.lines] == [len(turn.changes) for turn in turns]
    assert day.trouble[0].startswith("Interrupted")
    data = day_pages(day, paper="letter", form="pdf")[0]
    assert data == day_pages(day, paper="letter", form="pdf")[0]
    told = " ".join(page.text for page in pages(data))
    for one in day.lines:
        assert f"{one.number} {one.name}" in told
        assert all(change in told for change in one.changes)
    many = replace(day, lines=day.lines * 3)
    assert day_page_count(many, paper="letter") == len(
        pages(day_pages(many, paper="letter", form="pdf")[0])
    )
