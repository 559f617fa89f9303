"""A sightline map against looking at its places one by one with the analyses of a check.

The map lays whole families of rays down at once; a check traces what each lens shows with the
light at one place. Places are drawn with fixed seeds.
"""

from dataclasses import replace

import numpy as np
import pytest

from tapemark.analysis import (
    build_scenes,
    catchlights,
    cover_map,
    face_light,
    frame_clearances,
    lens_glare,
    light_face,
    modelling,
)
from tapemark.analysis.light_faces import BowlFace, FlatFace
from tapemark.geometry import axes_facing
from tapemark.planning import MapPlace, sightline_map
from tapemark.planning.footprints import footprints
from tapemark.planning.sightlines.place_rows import LitShape, PlaceRows, lit_shape
from tapemark.services import demo_setup_text
from tapemark.studio import GLASSES_PRESETS, Place, changed, setup_from_toml

CM = 0.01
#: Rows and sides of a map are so far apart at most; closed and open may differ only nearer than
#: that to the limit.
STEP_M, STEP_DEG = 3.4 * CM, 1.0
#: A reflection on skin is seen down to a twentieth of it, -4.3 stops; so much over is barely seen.
BARELY_STOPS = -3.5
ALL_ROUND = np.linspace(-90.0, 90.0, 181)


def library(**changes):
    """The demo's first try with its key alone, so that a check tells the same of it."""
    setup = setup_from_toml(demo_setup_text("quillmere-troubled"))
    key = changed(setup.lights[0], changes.pop("light", {}))
    sitter = changed(setup.sitter, changes.pop("sitter", {}))
    return changed(setup, {"lights": (key,), "sitter": sitter, **changes})


CASES = {
    "softbox, mild minus": {},
    "octagon, strong minus": {
        "light": {"modifier": "octagonal box 110 cm"},
        "sitter": {"glasses": {"preset": "strong short-sighted, small frame"}},
    },
    "umbrella, sport wrap": {
        "light": {"modifier": "reflected umbrella 110 cm"},
        "sitter": {"glasses": {"preset": "sport wrap"}},
    },
    "softbox, turned head, progressive": {
        "sitter": {"glasses": {"preset": "everyday progressive"}, "turn_deg": 20.0}
    },
}


def places_of(sheet, *, count, seed):
    """Numbers of places where a light can be, half of them within two steps of the limit."""
    random = np.random.default_rng(seed)
    able = ~(sheet.limits.wall | sheet.limits.person | sheet.limits.ceiling)
    near = able & (np.abs(np.log(np.maximum(sheet.excess, 1e-6))) < 0.7)
    chosen = [np.argwhere(mask) for mask in (able, near)]
    return [
        tuple(own[index])
        for own in chosen
        for index in random.choice(len(own), min(count // 2, len(own)), replace=False)
    ]


def setup_at(found, sheet, row, side):
    """The setup with the light at a place of a sheet, its power as the map says."""
    rows = sheet.rows
    return found.moved(
        MapPlace(
            distance_m=float(rows.distance_m[row]),
            side_deg=float(rows.side_deg[side]),
            height_m=float(rows.height_m[row]),
            power_stops=float(sheet.power_stops[row]),
            verdict="clear",
            veil=0.0,
            lens_cover=0.0,
            pattern="",
            against=(),
        )
    )


def lenses_at(found, sheet, row, side, *, view):
    """What a check finds on both lenses of the sitter."""
    scene = build_scenes(setup_at(found, sheet, row, side))[0]
    return lens_glare(view, cover_map(scene, view, light=face_light(scene)))


def barely_seen(lenses):
    """Whether the reflection is so faint that a little light more or less hides it."""
    peaks = [part.stops_over_skin for one in lenses for part in one.reflections]
    return bool(peaks) and max(peaks) < BARELY_STOPS


def view_of(setup):
    from tapemark.analysis import lattice_for, view_lenses

    scene = build_scenes(setup)[0]
    columns, rows = lattice_for(scene.lenses, points=2_000)
    return view_lenses(scene, scene.lenses, columns=columns, rows=rows)


@pytest.mark.parametrize("case", CASES)
def test_veil_cover_and_verdict_agree_with_a_check_at_places_of_both_sheets(case):
    # Measured over 480 places of these cases, half of them near the limit: lens cover within
    # 0.017 (rms 0.002), veil within 0.044 where an edge crosses the eye (rms 0.006); where a
    # large light on coated lenses is barely seen, within 0.03 and 0.16. One verdict differs,
    # at a place next to one of the other kind.
    found = sightline_map(library(**CASES[case]), "key")
    view, gaps = view_of(found.setup), []
    for sheet in (found.heights, found.floor):
        for row, side in places_of(sheet, count=24, seed=7):
            lenses = lenses_at(found, sheet, row, side, view=view)
            told = sheet.lens_cover[0, :, row, side], sheet.veil[0, :, row, side]
            own = [one.lens_cover for one in lenses], [one.veil for one in lenses]
            gap = [np.abs(np.subtract(a, b)).max() for a, b in zip(told, own, strict=True)]
            gaps.append((*gap, barely_seen(lenses)))
            closed = any(one.verdict != "clear" for one in lenses)
            around = sheet.closed[max(row - 1, 0) : row + 2, max(side - 1, 0) : side + 2]
            assert closed in around, (case, row, side, own, told)
    cover, veil, barely = np.array(gaps).T
    seen = barely == 0
    assert cover[seen].max() < 0.02
    assert veil[seen].max() < 0.07
    assert cover.max() < 0.03
    assert veil.max() < 0.2
    assert np.sqrt((cover[seen] ** 2).mean()) < 0.004
    assert np.sqrt((veil[seen] ** 2).mean()) < 0.01


def test_rows_and_sides_are_as_close_as_that_margin_says():
    found = sightline_map(library(), "key")
    rows = found.heights.rows
    assert rows.shape[0] >= 80
    assert rows.shape[1] >= 180
    assert np.diff(rows.height_m).max() < STEP_M
    assert np.diff(rows.side_deg).max() == pytest.approx(STEP_DEG)


@pytest.mark.parametrize(
    ("face", "tolerance_m"),
    [
        (
            FlatFace(
                center=np.zeros(3), axes=np.eye(3), shape="rectangle", width_m=0.6, height_m=0.9
            ),
            1.0 * CM,
        ),
        (
            FlatFace(center=np.zeros(3), axes=np.eye(3), shape="disc", width_m=1.1, height_m=1.1),
            1.0 * CM,
        ),
        (
            FlatFace(
                center=np.zeros(3), axes=np.eye(3), shape="octagon", width_m=1.2, height_m=1.2
            ),
            1.5 * CM,
        ),
    ],
    ids=["rectangle", "disc", "octagon"],
)
@pytest.mark.parametrize("origin", [(0.0, 0.0, 1.2), (0.7, -0.3, 1.35)], ids=["sitter", "beside"])
def test_a_footprint_holds_the_sides_at_which_a_ray_meets_the_face(face, tolerance_m, origin):
    rows = PlaceRows(
        distance_m=np.full(81, 1.5),
        height_m=np.linspace(0.3, 2.75, 81),
        side_deg=ALL_ROUND,
        eye_height_m=1.2,
    )
    origin = np.array(origin)
    prints = footprints(rows, lit_shape(face), origin=origin)
    random = np.random.default_rng(3)
    row = random.integers(0, 81, 4000)
    azimuth, up = random.uniform(-1.2, 1.2, 4000), random.uniform(-0.6, 0.7, 4000)
    side = random.uniform(-np.pi / 2, np.pi / 2, 4000)
    middle, half = prints.stretches(azimuth, up, row)
    inside = np.abs(side - middle) < half
    along = np.stack([np.cos(up) * np.sin(azimuth), np.cos(up) * np.cos(azimuth), np.sin(up)], -1)
    worst, met = 0.0, 0
    for number in range(len(row)):
        center = np.array(
            [1.5 * np.sin(side[number]), 1.5 * np.cos(side[number]), rows.height_m[row[number]]]
        )
        axes = axes_facing(np.array([0.0, 0.0, 1.2]) - center)
        ahead = float(along[number] @ axes[:, 1])
        gone = float((center - origin) @ axes[:, 1]) / ahead
        place = (origin + gone * along[number] - center) @ axes
        margin = float(face.margin(place[[0, 2]])) if gone > 0 and ahead < 0 else -np.inf
        met += margin >= 0
        if (margin >= 0) != inside[number]:
            worst = max(worst, abs(margin))
    assert met > 100
    assert worst < (tolerance_m if origin[0] == 0.0 else 2.5 * CM)


def test_an_umbrella_is_seen_as_its_opening():
    bowl = BowlFace(
        center=np.zeros(3), axes=np.eye(3), diameter_m=1.1, depth_m=0.24, hollow_front=True
    )
    assert lit_shape(bowl) == LitShape(kind="disc", width_m=1.1, height_m=1.1)
    random = np.random.default_rng(5)
    start = np.array([0.02, 1.6, -0.03])
    through = np.stack(
        [random.uniform(-0.7, 0.7, 2000), np.zeros(2000), random.uniform(-0.7, 0.7, 2000)], -1
    )
    along = (through - start) / np.linalg.norm(through - start, axis=1, keepdims=True)
    hits = bowl.hits(np.broadcast_to(start, along.shape), along)
    met = np.isfinite(hits.distance) & hits.from_front
    as_opening = np.hypot(through[:, 0], through[:, 2]) < 0.55
    assert (met == as_opening).mean() > 0.995


def test_a_companion_is_mapped_as_well_as_the_sitter():
    tom = {
        "name": "Tom",
        "across_m": 0.6,
        "back_m": 0.2,
        "eye_height_m": 1.55,
        "posture": "standing",
        "glasses": {"preset": "large fashion frame, plano"},
    }
    found = sightline_map(library(companions=(tom,)), "key")
    assert found.people[1] == "Tom"
    sheet, gaps = found.heights, []
    from tapemark.analysis import lattice_for, view_lenses

    person = build_scenes(found.setup)[1]
    columns, rows = lattice_for(person.lenses, points=2_000)
    view = view_lenses(person, person.lenses, columns=columns, rows=rows)
    for row, side in places_of(sheet, count=24, seed=11):
        scene = build_scenes(setup_at(found, sheet, row, side))[1]
        lenses = lens_glare(view, cover_map(scene, view, light=face_light(scene)))
        told = sheet.lens_cover[1, :, row, side]
        gaps.append(np.abs(told - [one.lens_cover for one in lenses]).max())
    assert max(gaps) < 0.025
    assert np.sqrt(np.mean(np.square(gaps))) < 0.008


def test_limits_eyes_and_patterns_agree_with_a_check_at_most_places():
    # Looked at from few nodes and interpolated. Measured here: frame 48 of 48, catchlights 94 of
    # 96, patterns 43 of 48; what differs lies where one turns into the other.
    found = sightline_map(
        library(light={"place": Place(distance_m=1.6, side_deg=38.0, height_m=2.1)}), "key"
    )
    same = {"frame": [], "catchlight": [], "pattern": []}
    for sheet in (found.heights, found.floor):
        for row, side in places_of(sheet, count=24, seed=13):
            scene = build_scenes(setup_at(found, sheet, row, side))[0]
            light = face_light(scene)
            lives = {one.side for one in catchlights(scene, light=light) if one.visible}
            for index, eye in enumerate(("right", "left")):
                same["catchlight"].append((eye in lives) == sheet.catchlight[0, index, row, side])
            (clearance,) = [one for one in frame_clearances(scene) if one.name == "key"] or [None]
            in_frame = clearance is not None and clearance.in_frame
            same["frame"].append(in_frame == sheet.limits.frame[row, side])
            model = modelling(scene, light=light)
            same["pattern"].append(model.pattern == sheet.pattern_at(row, side))
    shares = {what: float(np.mean(each)) for what, each in same.items()}
    assert shares["frame"] > 0.95, shares
    assert shares["catchlight"] > 0.93, shares
    assert shares["pattern"] > 0.85, shares


def test_brightness_at_the_face_is_kept_from_every_place():
    found = sightline_map(library(), "key")
    aim = np.array([[0.0, 0.0, found.setup.sitter.eye_height_m]])
    exposures = []
    for row, side in places_of(found.floor, count=12, seed=17):
        (emitter,) = [
            one
            for one in build_scenes(setup_at(found, found.floor, row, side))[0].emitters
            if one.name == "key"
        ]
        towards = emitter.face.center - aim[0]
        exposures.append(
            float(emitter.exposure_at(aim, normal=(towards / np.linalg.norm(towards))[None])[0])
        )
    kept = [one for one in exposures if one > 0]
    full = [one for one in kept if abs(one / max(kept) - 1) > 0.01]
    # beyond full power the light cannot follow: those places are limited by power
    assert len(full) <= int(found.floor.limits.power.any(axis=1).sum())
    np.testing.assert_allclose([one for one in kept if one not in full], max(kept), rtol=0.01)


def test_the_map_of_each_preset_is_open_high_up_and_closed_beside_the_camera():
    for name in GLASSES_PRESETS:
        found = sightline_map(library(sitter={"glasses": {"preset": name}}), "key")
        row, side = found.heights.nearest(side_deg=10.0, distance_m=1.5, height_m=1.25)
        assert found.heights.closed[row, side], name


def test_nothing_but_the_light_moves():
    found = sightline_map(library(), "key")
    assert found.best is not None
    moved = found.moved(found.best)
    assert changed(moved, {"lights": ()}) == changed(found.setup, {"lights": ()})
    face = light_face(moved.lights[0], moved)
    assert replace(face, center=face.center) is not face
    towards = np.array([0.0, 0.0, moved.sitter.eye_height_m]) - face.center
    np.testing.assert_allclose(face.axes[:, 1], towards / np.linalg.norm(towards), atol=1e-9)
