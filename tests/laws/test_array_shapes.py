"""Every kernel on arrays: same numbers in any leading shape, NaN through, empty in, empty out."""

import numpy as np
import pytest

from tapemark import geometry, optics, photometry
from tapemark.optics import lens_trace

RNG = np.random.default_rng(20)
COUNT = 6


def unit(values):
    return values / np.sqrt(np.sum(values * values, axis=-1))[..., None]


# Six cases of everything a kernel may ask for; all different, so that a swap would show.
POINTS = RNG.uniform(-0.02, 0.02, (COUNT, 3))
STARTS = POINTS + RNG.uniform(0.5, 2.0, (COUNT, 3))
RAYS = unit(POINTS - STARTS)
NORMALS = unit(RNG.normal(size=(COUNT, 3)))
OTHERS = unit(RNG.normal(loc=(0.0, 3.0, 0.0), size=(COUNT, 3)))
PLANE = RNG.uniform(-0.02, 0.02, (COUNT, 2))
A = RNG.uniform(0.1, 0.9, COUNT)
B = RNG.uniform(1.1, 1.9, COUNT)
C = RNG.uniform(2.1, 3.9, COUNT)
AXES = geometry.rotation_from_yaw_pitch_roll(0.4, pitch=-0.2, roll=0.1)
FACE = np.array([[0.0, 1.0, 0.0], [0.5, 1.0, 0.0], [0.5, 1.0, 0.8], [0.0, 1.0, 0.8]])
TORIC = {"curvature_a": 7.0, "curvature_b": 12.0, "axis_angle": 0.6, "vertex_y": -0.002}

# name -> kernel of its array arguments, those arguments
KERNELS = {
    "dot": (geometry.dot, [POINTS, STARTS]),
    "length": (geometry.length, [STARTS]),
    "normalize": (geometry.normalize, [STARTS]),
    "cross": (geometry.cross, [POINTS, STARTS]),
    "angle_between": (geometry.angle_between, [POINTS, STARTS]),
    "to_world": (lambda p: geometry.to_world(p, origin=(1.0, 2.0, 3.0), axes=AXES), [POINTS]),
    "to_local": (lambda p: geometry.to_local(p, origin=(1.0, 2.0, 3.0), axes=AXES), [POINTS]),
    "turn_to_world": (lambda d: geometry.turn_to_world(d, axes=AXES), [RAYS]),
    "turn_to_local": (lambda d: geometry.turn_to_local(d, axes=AXES), [RAYS]),
    "intersect_plane": (
        lambda o, d, n: geometry.intersect_plane(o, d, point=(0.0, 0.0, 0.0), normal=n),
        [STARTS, RAYS, OTHERS],
    ),
    "intersect_sphere": (
        lambda o, d: np.stack(
            geometry.intersect_sphere(o, d, center=(0.0, 0.01, 0.0), radius=0.1), axis=-1
        ),
        [STARTS, RAYS],
    ),
    "center_of_mass": (
        lambda m, p: geometry.center_of_mass(
            np.stack([m, 2.0 * m], axis=-1), places=np.stack([p, 3.0 * p], axis=-2)
        )[1],
        [A, POINTS],
    ),
    "support_margin": (
        lambda p, r, n: geometry.support_margin(p, leg_radius=r, legs=n, leg_turn=0.3),
        [PLANE, A, C],
    ),
    "tipping_angle": (lambda m, h: geometry.tipping_angle(m, height=h), [A, B]),
    "tipping_force": (
        lambda m, k, h: geometry.tipping_force(m, mass_kg=k, height=h),
        [A, C, B],
    ),
    "ballast_for_angle": (
        lambda m, k, h, b: geometry.ballast_for_angle(
            m - 0.5, mass_kg=k, height=h, angle=0.2, ballast_margin=b, ballast_height=0.3
        ),
        [A, C, B, A + 0.2],
    ),
    "rectangle_margin": (
        lambda p: geometry.rectangle_margin(p, width=0.03, height=0.02),
        [PLANE],
    ),
    "disc_margin": (lambda p: geometry.disc_margin(p, diameter=0.03), [PLANE]),
    "regular_polygon_margin": (
        lambda p: geometry.regular_polygon_margin(p, diameter=0.03, sides=8),
        [PLANE],
    ),
    "superellipse_margin": (
        lambda p: geometry.superellipse_margin(
            p, half_width=0.026, half_height=0.019, exponent=2.7, taper=0.1
        ),
        [PLANE],
    ),
    "almond_margin": (
        lambda p: geometry.almond_margin(
            p, half_width=0.0135, upper_height=0.006, lower_height=0.0037
        ),
        [PLANE],
    ),
    "reflect": (lambda d, n: optics.reflect(d, normal=n), [RAYS, NORMALS]),
    "refract": (
        lambda d, n, i: optics.refract(d, normal=n, index_from=1.0, index_to=i),
        [RAYS, NORMALS, B],
    ),
    "fresnel_reflectance": (
        lambda c, i: np.stack(optics.fresnel_reflectance(c, index_from=1.0, index_to=i), axis=-1),
        [A, B],
    ),
    "unpolarised_reflectance": (
        lambda c, i: optics.unpolarised_reflectance(c, index_from=1.0, index_to=i),
        [A, B],
    ),
    "normal_reflectance": (optics.normal_reflectance, [B]),
    "brewster_angle": (optics.brewster_angle, [B]),
    "surface_reflectance": (
        lambda c, i: optics.surface_reflectance(c, index=i, coating_reflectance=0.01),
        [A, B],
    ),
    "intersect_spherical": (
        lambda o, d, c: optics.intersect_spherical(o, d, curvature=c, vertex_y=-0.001),
        [STARTS, RAYS, C],
    ),
    "spherical_normal": (lambda p, c: optics.spherical_normal(p, curvature=c), [POINTS, C]),
    "intersect_toric": (
        lambda o, d: optics.intersect_toric(o, d, **TORIC),
        [STARTS, RAYS],
    ),
    "toric_normal": (lambda p: optics.toric_normal(p, **TORIC), [POINTS]),
    "front_radius_m": (optics.front_radius_m, [C]),
    "front_curvature": (optics.front_curvature, [C]),
    "front_power_d": (lambda b, i: optics.front_power_d(b, index=i), [C, B]),
    "vogel_base_curve": (optics.vogel_base_curve, [C - 3.0]),
    "spherical_equivalent_d": (
        lambda s, c: optics.spherical_equivalent_d(s, cylinder_d=c),
        [C, -A],
    ),
    "center_thickness_m": (
        lambda p, i: optics.center_thickness_m(p, index=i, diameter_m=0.06),
        [C, B],
    ),
    "back_surface_power_d": (
        lambda p, f, i: optics.back_surface_power_d(
            p, front_power_d=f, center_thickness_m=0.002, index=i
        ),
        [-C, C, B],
    ),
    "back_curvature": (lambda p, i: optics.back_curvature(p, index=i), [-C, B]),
    "ground_back": (
        lambda p, b, i: np.stack(
            optics.ground_back(np.stack([p, p - 0.5]), base_curve_d=b, diameter_m=0.06, index=i)[1],
            axis=-1,
        ),
        [A, C, B],
    ),
    "back_vertex_power_d": (
        lambda f, b, i: optics.back_vertex_power_d(
            front_power_d=f, back_surface_power_d=b, center_thickness_m=0.002, index=i
        ),
        [C, -A, B],
    ),
    "front_mirror_power_d": (optics.front_mirror_power_d, [C]),
    "back_mirror_power_d": (
        lambda f, b, i: optics.back_mirror_power_d(
            front_curvature=f, back_curvature=b, center_thickness_m=0.002, index=i
        ),
        [C, A, B],
    ),
    "convex_image_distance": (lambda d, r: optics.convex_image_distance(d, radius_m=r), [C, A]),
    "convex_magnification": (lambda d, r: optics.convex_magnification(d, radius_m=r), [C, A]),
    "radius_from_magnification": (
        lambda m, d: optics.radius_from_magnification(m, object_distance_m=d),
        [A, C],
    ),
    "keratometer_radius": (
        lambda m, d: optics.keratometer_radius(m, distance_to_image_m=d),
        [A, C],
    ),
    "purkinje_image_depth": (lambda r, d: optics.purkinje_image_depth(r, distance_m=d), [A, C]),
    "catchlight_size": (
        lambda w, d: optics.catchlight_size(w, distance_m=d, corneal_radius_m=0.0078),
        [A, C],
    ),
    "pupil_diameter": (lambda v, a: optics.pupil_diameter(v, age_years=a), [100.0 * A, 20.0 * C]),
    "image_distance": (lambda s, f: optics.image_distance(s, focal_length_m=f), [C, A]),
    "magnification": (lambda s, f: optics.magnification(s, focal_length_m=f), [C, A]),
    "conjugate_distances": (
        lambda m, f: np.stack(optics.conjugate_distances(m, focal_length_m=f), axis=-1),
        [A, B],
    ),
    "focal_length_for": (lambda m, s: optics.focal_length_for(m, object_distance_m=s), [A, C]),
    "field_size": (
        lambda s, f, d: optics.field_size(s, focal_length_m=f, side_m=d),
        [C, A, B],
    ),
    "hyperfocal_distance": (
        lambda f, n, c: optics.hyperfocal_distance(f, f_number=n, circle_m=c),
        [A, C, 1e-2 * B],
    ),
    "depth_of_field_limits": (
        lambda s, f, h: optics.depth_of_field_limits(s, focal_length_m=f, hyperfocal_m=h),
        [B, 0.1 * A, C],
    ),
    "blur_circle": (
        lambda d, s, f, n: optics.blur_circle(d, focused_at_m=s, focal_length_m=f, f_number=n),
        [C, B, 0.1 * A, 4.0 * B],
    ),
    "perspective_ratio": (lambda d, g: optics.perspective_ratio(d, depth_m=g), [C, A]),
    "exposure_value": (lambda n, t: photometry.exposure_value(n, shutter_s=t), [C, A]),
    "illuminance_from_exposure_value": (photometry.illuminance_from_exposure_value, [C]),
    "exposure_value_from_illuminance": (photometry.exposure_value_from_illuminance, [C]),
    "required_flash_exposure": (
        lambda n, s: photometry.required_flash_exposure(n, iso=s),
        [C, 100.0 * B],
    ),
    "aperture_from_exposure": (
        lambda h, s: photometry.aperture_from_exposure(h, iso=s),
        [C, 100.0 * B],
    ),
    "stops_between": (lambda a, b: photometry.stops_between(a, reference=b), [A, C]),
    "highlight_to_shadow_ratio": (
        lambda a, b: photometry.highlight_to_shadow_ratio(a, fill=b),
        [A, C],
    ),
    "source_ratio": (lambda a, b: photometry.source_ratio(a, fill=b), [A, C]),
    "ratio_from_key_over_fill": (photometry.ratio_from_key_over_fill, [A]),
    "key_over_fill_stops": (lambda a: photometry.key_over_fill_stops(a + 1.0), [A]),
    "equal_heads_ratio": (
        lambda a, b: photometry.equal_heads_ratio(a, fill_distance_m=b),
        [A, C],
    ),
    "disc_on_axis_factor": (
        lambda r, d: photometry.disc_on_axis_factor(r, distance_m=d),
        [A, B],
    ),
    "rectangle_parallel_factor": (
        lambda w, h, d: photometry.rectangle_parallel_factor(w, height_m=h, distance_m=d),
        [A, B, C],
    ),
    "rectangle_perpendicular_factor": (
        lambda w, h, d: photometry.rectangle_perpendicular_factor(w, height_m=h, distance_m=d),
        [A, B, C],
    ),
    "patch_illuminance": (
        lambda s, d, c: photometry.patch_illuminance(
            s, distance_m=d, cos_emitted=c, cos_received=0.7
        ),
        [B, C, A],
    ),
    "polygon_illuminance": (
        lambda p, n: photometry.polygon_illuminance(FACE, point=p, normal=n),
        [POINTS, NORMALS],
    ),
    "flash_light_output": (
        lambda e, k: photometry.flash_light_output(e, efficacy_lm_per_w=k),
        [C, B],
    ),
    "face_luminance": (
        lambda q, s: photometry.face_luminance(q, efficiency=0.4, area_m2=s),
        [C, A],
    ),
    "bare_tube_intensity": (
        lambda q, g: photometry.bare_tube_intensity(q, axial_gain=g),
        [C, B],
    ),
    "guide_number_m": (lambda i, s: photometry.guide_number_m(i, iso=s), [C, 100.0 * B]),
    "intensity_from_guide_number": (
        lambda g, s: photometry.intensity_from_guide_number(g, iso=s),
        [C, 100.0 * B],
    ),
    "beam_exponent": (photometry.beam_exponent, [A]),
    "beam_intensity": (lambda q, n: photometry.beam_intensity(q, exponent=n), [C, B]),
    "beam_light": (lambda i, n: photometry.beam_light(i, exponent=n), [C, B]),
    "guide_number_at": (
        lambda g, s, p: photometry.guide_number_at(g, from_iso=100.0, to_iso=s, power_stops=-p),
        [C, 100.0 * B, A],
    ),
    "honeycomb_share": (
        lambda c, a: photometry.honeycomb_share(np.cos(c), acceptance=a),
        [A, B],
    ),
    "dome_share": (lambda c: photometry.dome_share(c - 1.0), [A]),
    "mixed_exposure": (
        lambda h, e, t: photometry.mixed_exposure(h, illuminance_lx=e, shutter_s=t),
        [C, B, A],
    ),
    "stops_of_pops": (photometry.stops_of_pops, [C]),
    "ambient_stops_under": (lambda s, e: photometry.ambient_stops_under(s, scene_ev=e), [C, B]),
    "share_at_stops_under": (photometry.share_at_stops_under, [B]),
    "shutter_for_stops_under": (
        lambda s, h, e: photometry.shutter_for_stops_under(s, flash_lx_s=h, illuminance_lx=e),
        [A, C, B],
    ),
    "room_exposure": (
        lambda q, r, a: photometry.room_exposure(q, reflectance=r / 4.0, surface_m2=a),
        [C, A, B],
    ),
    "room_lift": (lambda r: photometry.room_lift(r / 4.0), [A]),
    "mired_from_kelvin": (photometry.mired_from_kelvin, [1000.0 * C]),
    "kelvin_from_mired": (photometry.kelvin_from_mired, [100.0 * A]),
    "mired_shift": (lambda k, t: photometry.mired_shift(k, to_k=t), [1000.0 * C, 2000.0 * B]),
    "shifted_color_k": (
        lambda k, s: photometry.shifted_color_k(k, shift_mired=s),
        [1000.0 * C, 20.0 * B],
    ),
    "black_body_xyz": (photometry.black_body_xyz, [1000.0 * C]),
    "color_temperature": (
        lambda p: photometry.color_temperature(np.ones_like(p) + 0.1 * p)[0],
        [POINTS],
    ),
    "bounced_exposure": (
        lambda q, d: photometry.bounced_exposure(q, reflectance=0.8, distance_m=d),
        [B, C],
    ),
}
NOT_ARRAY_KERNELS = {
    *("FloatArray", "FloatLike", "Vec3", "join_components", "split_components", "stacked"),
    "STANDARD_GRAVITY",
    *("axes_facing", "rotation_from_yaw_pitch_roll"),  # tested in test_frames.py
    *("almond_points", "disc_points", "rectangle_points"),
    *("regular_polygon_points", "superellipse_points"),
    *("LEAST_BASE_CURVE_D", "transpose_prescription", "DIAGONAL_PER_CIRCLE"),
    *("DOME", "FLAT", "NOMINAL_APERTURES", "TYPICAL_EFFICACY_LM_PER_W"),
    *("HIGHEST_K", "LOWEST_K", "glow_srgb"),
    # a whole table of a lamp at once: laws/test_photometric_files.py, cross/test_luminaire_flux.py
    *("Distribution", "distribution_from_table", "luminous_flux", "zonal_flux", "beam_angle_rad"),
    *("exact_aperture", "nominal_aperture", "nominal_iso", "nominal_shutter_s"),
}


def test_every_kernel_is_covered_here():
    public = {*geometry.__all__, *optics.__all__, *photometry.__all__}
    # The lens trace takes a lens, not arrays: cross/test_golden_rays.py.
    public -= {name for name in vars(lens_trace) if name in optics.__all__ and name not in KERNELS}
    assert public - NOT_ARRAY_KERNELS == set(KERNELS)


@pytest.mark.parametrize("name", KERNELS)
def test_leading_shape_does_not_change_the_numbers(name):
    kernel, arguments = KERNELS[name]
    flat = kernel(*arguments)
    assert flat.shape[0] == COUNT
    for row in range(COUNT):
        single = kernel(*(argument[row] for argument in arguments))
        assert np.shape(single) == flat.shape[1:]
        np.testing.assert_allclose(single, flat[row], rtol=1e-14, atol=1e-16)
    block = kernel(*(argument.reshape(2, 3, *argument.shape[1:]) for argument in arguments))
    np.testing.assert_allclose(block, flat.reshape(2, 3, *flat.shape[1:]), rtol=1e-14, atol=1e-16)


@pytest.mark.parametrize("name", KERNELS)
def test_nan_goes_through_and_touches_no_other_row(name):
    kernel, arguments = KERNELS[name]
    clean = kernel(*arguments)
    for place in range(len(arguments)):
        spoilt = [argument.copy() for argument in arguments]
        spoilt[place][2] = np.nan
        result = kernel(*spoilt)
        assert np.all(np.isnan(result[2]))
        others = np.arange(COUNT) != 2
        np.testing.assert_array_equal(result[others], clean[others])


@pytest.mark.parametrize("name", KERNELS)
def test_empty_input_gives_empty_output(name):
    kernel, arguments = KERNELS[name]
    full = kernel(*arguments)
    assert kernel(*(argument[:0] for argument in arguments)).shape == (0, *full.shape[1:])
