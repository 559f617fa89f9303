"""Eyes as handbooks and surveys describe them: lids that follow, one catchlight in each."""

import numpy as np
import pytest

from tapemark.anatomy import eyes, head_pose, opening_outline
from tapemark.services.check import check_setup
from tapemark.studio import (
    GLASSES_PRESETS,
    Camera,
    Glasses,
    Head,
    Light,
    Modifier,
    Place,
    Room,
    Setup,
    Sitter,
)
from tapemark.units import INCH, MM

# SOURCE    [read-2006] vertical opening between the lids, primary gaze and 40 degrees down
# ASSUMES   young adults; we turn the eyes of the average face down by 40 degrees
# PRINTED   opening [mm]
AHEAD_MM, DOWN_MM = 9.7, 6.4
ATOL = 0.05 * MM  # half a unit in the last printed digit


@pytest.mark.parametrize(("down_deg", "printed_mm"), [(0.0, AHEAD_MM), (40.0, DOWN_MM)])
def test_lids_close_as_the_eyes_look_down(down_deg, printed_mm):
    sitter = Sitter(eye_height_m=1.2)
    far = 1000.0
    drop = far * np.tan(np.deg2rad(down_deg))
    both = eyes(sitter, pose=head_pose(sitter), looks_at=np.array([0.0, far, 1.2 - drop]))
    outline = opening_outline(eyes=both, outward=1.0, count=400)
    np.testing.assert_allclose(np.ptp(outline[:, 1]), printed_mm * MM, rtol=0, atol=ATOL)


# SOURCE    [navedtra-14209] p. 201, key start position; [army-ss0510] p. 17, a catch-light in
#           each eye
# ASSUMES   the key about 4 ft from the sitter and 2 ft above the eyes, 45 degrees from the lens
#           axis; camera straight on at eye level; glasses from our presets
# PRINTED   distance and height [in], angle [deg]
DISTANCE_IN, ABOVE_IN, ASIDE_DEG = 48.0, 24.0, 45.0


@pytest.mark.parametrize("glasses", [None, *GLASSES_PRESETS])
@pytest.mark.parametrize("modifier", ["medium softbox 60x90 cm", "beauty dish 55 cm"])
def test_key_at_the_handbook_start_puts_a_catchlight_in_each_eye(glasses, modifier):
    key = Light(
        name="key",
        head=Head(preset="400 Ws studio head"),
        modifier=Modifier(preset=modifier),
        place=Place(
            distance_m=DISTANCE_IN * INCH, side_deg=ASIDE_DEG, height_m=1.2 + ABOVE_IN * INCH
        ),
        power_stops=-3.0,
    )
    setup = Setup(
        room=Room(width_m=6.0, length_m=7.0, height_m=3.0),
        sitter=Sitter(eye_height_m=1.2, glasses=glasses and Glasses(preset=glasses)),
        camera=Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0),
        lights=(key,),
    )
    seen = {one.side: one for one in check_setup(setup).catchlights if one.visible}
    assert set(seen) == {"right", "left"}
    assert all(9.5 <= one.clock <= 11.5 for one in seen.values())
