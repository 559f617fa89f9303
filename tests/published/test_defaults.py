"""Defaults of the sitter and of glasses against the surveys they are taken from."""

import pytest

from tapemark.studio import FaceMeasures, Glasses, Sitter

# SOURCE    [ansur-ii-2012] public data files, men (4082) and women (1986)
# ASSUMES   our sitter is anybody, so the mean of the two sexes is taken, rounded to 1 mm
# PRINTED   measure, mean of men [mm], mean of women [mm]
MEANS_MM = [
    ("head_breadth_mm", 154.3, 147.8),
    ("head_length_mm", 199.5, 189.8),
    ("face_height_mm", 122.6, 113.1),
    ("bizygomatic_mm", 142.6, 133.8),
]
ROUNDED_MM = 0.5  # we round to whole millimetres


@pytest.mark.parametrize(("measure", "men_mm", "women_mm"), MEANS_MM)
def test_face_measures_are_the_mean_of_men_and_women(measure, men_mm, women_mm):
    default_mm = getattr(FaceMeasures(), measure)
    assert default_mm == pytest.approx((men_mm + women_mm) / 2, abs=ROUNDED_MM)


# SOURCE    [dodgson-2004] abstract: mean adult interpupillary distance, rounded by the author
# PRINTED   63 mm; the vast majority of adults 50 to 75 mm
# SOURCE    [ansur-ii-2012] interpupillary breadth
# PRINTED   men 64.0, women 61.7 mm
# ASSUMES   of both: eyes that look far; our sitter is anybody, so the mean of the two sexes
def test_eye_distance_is_that_of_the_survey():
    default_mm = FaceMeasures().interpupillary_mm
    assert default_mm == 63.0
    assert default_mm == pytest.approx((64.0 + 61.7) / 2, abs=ROUNDED_MM)


# SOURCE    [read-2006] palpebral fissure of white young adults looking ahead
# ASSUMES   our sitter looks ahead too, and is taken to be like them
# PRINTED   horizontal 27.1 +- 1.5 mm, vertical 9.7 +- 1.2 mm
def test_eye_opening_is_that_of_the_survey():
    face = FaceMeasures()
    assert (face.eye_opening_width_mm, face.eye_opening_height_mm) == (27.1, 9.7)


# SOURCE    [rufer-2005] horizontal white-to-white, 390 eyes
# ASSUMES   the visible iris is a circle of that width; we give one decimal
# PRINTED   11.71 +- 0.42 mm
def test_iris_is_that_of_the_survey():
    assert FaceMeasures().iris_mm == pytest.approx(11.71, abs=0.05)  # we give one decimal


# SOURCE    [ansur-ii-2012] eye height sitting above the seat, stature, and top of the head above
#           the eye (sitting height less eye height sitting)
# ASSUMES   standing eye height is stature less the last; it was not measured
# PRINTED   sex: eye height sitting, stature, crown to eye [mm]
EYE_HEIGHTS_MM = {"men": (804.5, 1756.2, 113.8), "women": (747.7, 1628.5, 108.9)}
SAME_SEX_M = 0.005  # the mean of the sexes and each sex differ by less, once scaled by stature
SHOES_M = 0.025  # ours, for somebody standing


@pytest.mark.parametrize("sex", EYE_HEIGHTS_MM)
def test_eye_height_follows_from_body_height(sex):
    sitting_mm, stature_mm, crown_mm = EYE_HEIGHTS_MM[sex]
    seated = Sitter(posture="seated", body_height_m=stature_mm / 1000, seat_height_m=0.5)
    standing = Sitter(posture="standing", body_height_m=stature_mm / 1000)
    assert seated.eye_height_m == pytest.approx(0.5 + sitting_mm / 1000, abs=SAME_SEX_M)
    barefoot_m = (stature_mm - crown_mm) / 1000
    assert standing.eye_height_m - SHOES_M == pytest.approx(barefoot_m, abs=SAME_SEX_M)


def test_eye_height_without_body_height_is_the_mean():
    sitting = [sitting_mm for sitting_mm, _, _ in EYE_HEIGHTS_MM.values()]
    standing = [stature_mm - crown_mm for _, stature_mm, crown_mm in EYE_HEIGHTS_MM.values()]
    assert Sitter(seat_height_m=0.5).eye_height_m == pytest.approx(
        0.5 + sum(sitting) / 2000, abs=ROUNDED_MM / 1000
    )
    assert Sitter(posture="standing").eye_height_m - SHOES_M == pytest.approx(
        sum(standing) / 2000, abs=ROUNDED_MM / 1000
    )


# SOURCE    [cooksey-2017] inner forearm of 100 people, integrated to luminous reflectance
#           (CIE 1931, D65) from the published spectra
# ASSUMES   a face reflects as a forearm does; we give two decimals
# PRINTED   mean 0.359, standard deviation 0.063, smallest 0.133, largest 0.461
def test_skin_reflectance_is_the_mean_of_the_survey():
    assert Sitter().skin_reflectance == pytest.approx(0.359, abs=0.005)  # we give two decimals
    for reflectance in (0.133, 0.461):
        assert Sitter(skin_reflectance=reflectance).skin_reflectance == reflectance


# SOURCE    [masaryk-spectacle-technique] ch. 02_04; [gka-model-eye] vertex distance
# ASSUMES   we take 8 degrees, at which frames are said to be fitted, and 13 mm
# PRINTED   pantoscopic tilt usually 10 degrees, 5 to 15; vertex distance typically 12 to 14 mm
def test_fit_of_glasses_is_within_what_opticians_call_usual():
    glasses = Glasses(lens_width_mm=52.0, lens_height_mm=37.0, bridge_mm=18.0)
    assert 5.0 <= glasses.pantoscopic_tilt_deg <= 15.0
    assert 12.0 <= glasses.vertex_distance_mm <= 14.0


# SOURCE    [wilson-2012] refractive index of hard resin, helium d line
# ASSUMES   "standard plastic" is hard resin
# PRINTED   1.498
def test_standard_plastic_is_hard_resin():
    glasses = Glasses(lens_width_mm=52.0, lens_height_mm=37.0, bridge_mm=18.0)
    assert glasses.refractive_index == 1.498
