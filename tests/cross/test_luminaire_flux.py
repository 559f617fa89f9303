"""All the light of a lamp, its intensities and what they put on a face, in two ways each.

The other programs' readings are in authorities/photometric_files.json, written through
scripts/photometric_second_opinion.py from [photompy] and [eulumdat-py].
"""

import json
from pathlib import Path

import numpy as np
import pytest

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.emitters import emitters
from tapemark.analysis.head_output import head_output
from tapemark.analysis.light_faces import FlatFace
from tapemark.photometry import (
    Distribution,
    distribution_from_table,
    luminous_flux,
    polygon_illuminance,
)
from tapemark.store import read_luminaire
from tapemark.studio import Camera, Head, Light, Luminaire, Modifier, Place, Room, Setup

AUTHORITY = json.loads(
    (Path(__file__).parents[2] / "authorities" / "photometric_files.json").read_text("utf-8")
)
LAMPS = {lamp["name"]: lamp for lamp in AUTHORITY["lamps"]}
IES = [name for name in LAMPS if name.endswith(".ies")]
LDT = [name for name in LAMPS if name.endswith(".ldt")]
PER_KLM = AUTHORITY["lamp_lumens_of_eulumdat"] / 1000.0
PRINTED_CD = 1e-6  # both the files and the readings have 9 decimals or 10 digits
DIFFUSE_CD = 1000.0


@pytest.fixture(scope="module")
def read(tmp_path_factory):
    """Read one of the lamps of the authority."""
    folder = tmp_path_factory.mktemp("lamps")

    def reader(name):
        path = folder / name
        path.write_text(LAMPS[name]["text"], encoding="ascii")
        return shine(read_luminaire(path))

    return reader


def shine(lamp) -> Distribution:
    return distribution_from_table(
        lamp.candela,
        photometry=lamp.photometry,
        vertical_rad=np.deg2rad(lamp.vertical_deg),
        horizontal_rad=np.deg2rad(lamp.horizontal_deg),
    )


def towards(vertical_deg, horizontal_deg):
    """Directions of type C in the frame of the lamp."""
    vertical, around = np.deg2rad(vertical_deg), np.deg2rad(horizontal_deg)
    aside = np.sin(vertical)
    return np.stack(
        np.broadcast_arrays(aside * np.cos(around), np.cos(vertical), aside * np.sin(around)), -1
    )


@pytest.mark.parametrize("name", IES)
def test_intensities_between_the_angles_are_those_of_another_program(read, name):
    found = read(name).intensity(towards(*np.array(AUTHORITY["towards"]).T))
    np.testing.assert_allclose(found, LAMPS[name]["candela"], rtol=0, atol=PRINTED_CD)


@pytest.mark.parametrize("name", LDT)
def test_intensities_of_every_plane_are_those_of_another_program(read, name):
    lamp = LAMPS[name]
    planes = np.array(lamp["planes_deg"])[:, None]
    found = read(name).intensity(towards(np.array(lamp["vertical_deg"]), planes))
    expected = np.array(lamp["candela_per_klm"]) * PER_KLM
    np.testing.assert_allclose(found, expected, rtol=0, atol=PRINTED_CD)


# The measured gap: the other program gives each angle the band halfway to its neighbours.
@pytest.mark.parametrize("name", IES)
def test_all_the_light_is_that_of_another_program_within_its_rule(read, name):
    ratio = luminous_flux(read(name)) / LAMPS[name]["flux_lm"]
    assert 1.0 < ratio < 1.006


@pytest.mark.parametrize(
    ("ies", "ldt"),
    [
        ("diffuse.ies", "symmetry 1.ldt"),
        ("quarter.ies", "symmetry 4.ldt"),
        ("half.ies", "symmetry 2.ldt"),
        ("full.ies", "symmetry 0.ldt"),
    ],
)
def test_ies_and_eulumdat_files_of_one_lamp_agree(read, ies, ldt):
    # Both files have it every 15 degrees from the axis; around it one has 15, the other 30.
    vertical, around = np.meshgrid(np.arange(0.0, 89.0, 4.0), np.arange(0.0, 360.0, 30.0))
    directions = towards(vertical, around)
    first, second = read(ies), read(ldt)
    found = second.intensity(directions)
    np.testing.assert_allclose(found, first.intensity(directions), rtol=1e-8, atol=PRINTED_CD)
    np.testing.assert_allclose(luminous_flux(second), luminous_flux(first), rtol=1e-9)


# Straight lines between angles cut a cosine by 1 - (step)^2/12 or so; trapezoids cut more.
@pytest.mark.parametrize(
    ("step_deg", "worst"), [(15.0, 0.0058), (5.0, 0.00064), (1.0, 0.000026), (0.25, 1.6e-6)]
)
def test_diffuse_lamp_gives_pi_times_its_intensity(step_deg, worst):
    angles = np.arange(0.0, 90.0 + step_deg / 2, step_deg)
    lamp = power_of_cosine(1.0, angles)
    short = 1.0 - luminous_flux(lamp) / (np.pi * DIFFUSE_CD)
    assert 0.0 < short < worst


@pytest.mark.parametrize("photometry", ["A", "B"])
def test_diffuse_lamp_gives_the_same_light_about_any_polar_axis(photometry):
    angles = np.linspace(-90.0, 90.0, 181)
    up, aside = np.meshgrid(angles, angles)
    lamp = distribution_from_table(
        DIFFUSE_CD * np.abs(np.cos(np.deg2rad(up)) * np.cos(np.deg2rad(aside))),
        photometry=photometry,
        vertical_rad=np.deg2rad(angles),
        horizontal_rad=np.deg2rad(angles),
    )
    np.testing.assert_allclose(luminous_flux(lamp), np.pi * DIFFUSE_CD, rtol=1e-4)
    directions = towards(np.array([0.0, 20.0, 50.0, 80.0]), np.array([0.0, 75.0, 160.0, 290.0]))
    expected = DIFFUSE_CD * directions[:, 1]
    np.testing.assert_allclose(lamp.intensity(directions), expected, rtol=0, atol=0.2)


@pytest.mark.parametrize("photometry", ["A", "B"])
def test_angles_from_zero_on_stand_for_both_sides(photometry):
    whole, half = np.linspace(-90.0, 90.0, 37), np.linspace(0.0, 90.0, 19)

    def lamp(angles):
        up, aside = np.deg2rad(np.meshgrid(angles, angles))
        table = np.abs(np.cos(up) ** 3 * np.cos(aside) ** 7)
        return distribution_from_table(
            table,
            photometry=photometry,
            vertical_rad=np.deg2rad(angles),
            horizontal_rad=np.deg2rad(angles),
        )

    directions = np.random.default_rng(7).normal(size=(50, 3))
    first, second = lamp(whole), lamp(half)
    np.testing.assert_allclose(
        first.intensity(directions), second.intensity(directions), atol=1e-12
    )
    np.testing.assert_allclose(luminous_flux(first), luminous_flux(second), rtol=1e-12)


@pytest.mark.parametrize("photometry", ["A", "B"])
def test_vertical_is_up_and_horizontal_to_the_right_from_behind(photometry):
    # A narrow lobe at V = 20, H = 40 degrees, sought over all directions.
    angles = np.arange(-90.0, 91.0, 5.0)
    table = np.zeros((angles.size, angles.size))
    table[angles == 40.0, angles == 20.0] = 1.0  # a row for each horizontal angle
    lamp = distribution_from_table(
        table,
        photometry=photometry,
        vertical_rad=np.deg2rad(angles),
        horizontal_rad=np.deg2rad(angles),
    )
    up, aside = np.deg2rad(20.0), np.deg2rad(40.0)
    polar = {
        "A": [np.cos(up) * np.sin(aside), np.cos(up) * np.cos(aside), np.sin(up)],
        "B": [np.sin(aside), np.cos(aside) * np.cos(up), np.cos(aside) * np.sin(up)],
    }[photometry]
    np.testing.assert_allclose(lamp.intensity(np.array(polar)), 1.0, rtol=1e-9)
    assert lamp.intensity(np.array(polar) * [-1.0, 1.0, 1.0]) == 0.0
    assert lamp.intensity(np.array(polar) * [1.0, 1.0, -1.0]) == 0.0


@pytest.mark.parametrize("name", ["full.ies", "quarter.ies", "symmetry 3.ldt"])
def test_all_the_light_is_the_mean_intensity_over_the_sphere(read, name):
    lamp = read(name)
    # Places spread evenly over the ball by the golden angle.
    count = 40_000
    out = 1.0 - (2.0 * np.arange(count) + 1.0) / count
    around = np.arange(count) * np.pi * (3.0 - np.sqrt(5.0))
    aside = np.sqrt(1.0 - out**2)
    ball = np.stack([aside * np.cos(around), out, aside * np.sin(around)], axis=-1)
    spread = 4.0 * np.pi * lamp.intensity(ball).mean()
    np.testing.assert_allclose(luminous_flux(lamp), spread, rtol=1e-4)


# A lamp in a studio.


def power_of_cosine(power, angles):
    candela = DIFFUSE_CD * np.maximum(np.cos(np.deg2rad(angles)), 0.0) ** power
    return distribution_from_table(
        [candela], photometry="C", vertical_rad=np.deg2rad(angles), horizontal_rad=[0.0]
    )


@pytest.mark.parametrize("distance_m", [0.15, 0.4, 1.5, 6.0])
def test_measured_diffuse_lamp_lights_like_an_even_face_near_and_far(distance_m):
    face = FlatFace(
        center=np.zeros(3), axes=np.eye(3), shape="rectangle", width_m=0.5, height_m=0.3
    )
    lamp = power_of_cosine(1.0, np.linspace(0.0, 90.0, 361))
    emitter = Emitter(name="", kind="light", face=face, brightness=7.0, distribution=lamp)
    points = distance_m * towards(np.array([0.0, 25.0, 50.0]), np.array([0.0, 70.0, 200.0]))
    normals = -points / distance_m
    exact = 7.0 * polygon_illuminance(face.outline(), point=points, normal=normals)
    found = emitter.exposure_at(points, normal=normals)
    np.testing.assert_allclose(found, exact, rtol=2e-3)  # 0.2 %: 0.003 stops


SPOT = Luminaire(
    vertical_deg=tuple(np.arange(0.0, 91.0, 2.5)),
    horizontal_deg=(0.0, 30.0, 60.0, 90.0),
    candela=tuple(
        tuple(float(value) for value in 2000.0 * np.cos(np.deg2rad(np.arange(0, 91, 2.5))) ** power)
        for power in (8.0, 10.0, 14.0, 16.0)
    ),
)


def light(*, kind="continuous", modifier=None, **head):
    bare = Modifier(kind="bare", diameter_m=0.12)
    return Light(
        name="key",
        head=Head(kind=kind, luminaire=SPOT, **head),
        modifier=modifier or bare,
        place=Place(distance_m=2.0, side_deg=0.0, height_m=1.2),
        aim="face",
    )


def setup(one):
    return Setup(
        room=Room(width_m=6.0, length_m=8.0, height_m=3.0, floor_reflectance=0.1),
        camera=Camera(place=Place(distance_m=3.0, height_m=1.2), focal_length_mm=85.0),
        lights=(one,),
    )


def test_candela_of_the_file_arrive_by_the_inverse_square_law():
    scene = setup(light())
    shutter_s = scene.camera.shutter_s
    (key,) = emitters(scene)
    axes, center = key.face.axes, key.face.center
    local = towards(np.array([0.0, 10.0, 25.0, 40.0]), np.array([0.0, 20.0, 160.0, 285.0]))
    distance_m = 9.0
    leaving = local @ axes.T
    found = key.exposure_at(center + distance_m * leaving, normal=-leaving)
    expected = shine(SPOT).intensity(local) / distance_m**2 * shutter_s
    np.testing.assert_allclose(found, expected, rtol=1e-3)


def test_lit_ball_around_the_lamp_receives_all_its_light():
    scene = setup(light())
    (key,) = emitters(scene)
    count, radius_m = 20_000, 0.7
    out = (np.arange(count) + 0.5) / count
    around = np.arange(count) * np.pi * (3.0 - np.sqrt(5.0))
    aside = np.sqrt(1.0 - out**2)
    half_ball = (
        np.stack([aside * np.cos(around), out, aside * np.sin(around)], -1) @ key.face.axes.T
    )
    received = key.exposure_at(key.face.center + radius_m * half_ball, normal=-half_ball)
    total = received.mean() * 2.0 * np.pi * radius_m**2
    expected = luminous_flux(shine(SPOT)) * scene.camera.shutter_s
    np.testing.assert_allclose(total, expected, rtol=2e-3)


def test_stated_light_scales_the_candela_and_a_preset_does_not():
    camera = setup(light()).camera
    own = luminous_flux(shine(SPOT))
    as_filed = head_output(light(), camera=camera)
    doubled = head_output(light(lumens=2.0 * own), camera=camera)
    np.testing.assert_allclose(as_filed.intensity_cd_s, 2000.0 * camera.shutter_s, rtol=1e-9)
    np.testing.assert_allclose(doubled.intensity_cd_s, 2.0 * as_filed.intensity_cd_s, rtol=1e-9)
    assert (as_filed.known_by, doubled.known_by) == ("photometric file", "stated light")


def test_flash_takes_only_the_shape_from_the_file():
    camera = setup(light()).camera
    flash = head_output(light(kind="flash", guide_number_m=60.0), camera=camera)
    without = Light(
        name="key",
        head=Head(kind="flash", guide_number_m=60.0),
        modifier=Modifier(kind="bare", diameter_m=0.12, beam_deg=70.0),
        place=Place(distance_m=2.0, side_deg=0.0, height_m=1.2),
    )
    plain = head_output(without, camera=camera)
    np.testing.assert_allclose(flash.intensity_cd_s, plain.intensity_cd_s, rtol=1e-9)
    stored = head_output(light(kind="flash", energy_j=100.0), camera=camera)
    more = head_output(light(kind="flash", energy_j=200.0), camera=camera)
    np.testing.assert_allclose(more.intensity_cd_s, 2.0 * stored.intensity_cd_s, rtol=1e-9)


def test_another_modifier_spreads_the_light_of_the_file_anew():
    box = Modifier(kind="softbox", width_m=0.6, height_m=0.9, efficiency=0.5)
    camera = setup(light()).camera
    through = head_output(light(modifier=box), camera=camera)
    expected = 0.5 * luminous_flux(shine(SPOT)) * camera.shutter_s
    np.testing.assert_allclose(through.light_lm_s, expected, rtol=1e-9)
    assert through.known_by == "photometric file carried over"
    (key,) = emitters(setup(light(modifier=box)))
    assert key.distribution is None
