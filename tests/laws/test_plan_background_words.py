"""How a background that is not as wished is told to a photographer."""

from types import SimpleNamespace

import pytest

from tapemark.planning.plans.wishes import unmet
from tapemark.services import demo_lists
from tapemark.studio import brief_from_toml, changed

BRIEF = changed(
    brief_from_toml(demo_lists()["quillmere-brief.toml"]),
    {"mood": "any", "pattern": "any", "face": "any", "time_s": None},
)


def told(wanted: str, *, level: float, srgb: int, over: float | None, uneven: float) -> str:
    """Return what is said of a background; all else is as wished."""
    tone = SimpleNamespace(srgb=srgb, level=level, stops_over_key=over)
    seen = SimpleNamespace(mean=tone, darkest=tone, brightest=tone, evenness_stops=uneven)
    person = SimpleNamespace(
        exposure=SimpleNamespace(stops_over=0.0, aperture=BRIEF.aperture),
        modelling=SimpleNamespace(pattern="loop", face_side="short"),
    )
    judged = SimpleNamespace(
        framing=SimpleNamespace(crop=BRIEF.framing),
        people=(person,),
        findings=(),
        setup=SimpleNamespace(backdrop=None, camera=SimpleNamespace(aperture=BRIEF.aperture)),
        background=seen,
    )
    brief = changed(BRIEF, {"background": wanted})
    (lack,) = unmet(judged, brief=brief, minutes=10.0)
    assert (lack.wish, lack.wanted) == ("background", wanted)
    return lack.got


@pytest.mark.parametrize(
    ("wanted", "level", "srgb", "over", "uneven", "said"),
    [
        ("white", 0.002, 6, -7.5, 26.6, "too dark, nearly black, and uneven (sRGB 6)"),
        ("white", 0.3, 149, -1.2, 0.4, "too dark (sRGB 149)"),
        ("white", 2.1, 255, 1.5, 0.4, "too bright (sRGB 255)"),
        ("black", 0.1, 89, -2.0, 0.4, "too bright for black (sRGB 89)"),
        ("as seen", 0.1, 89, -1.5, 0.4, "1.5 stops under the key (sRGB 89)"),
        ("as seen", 0.0, 0, None, 0.0, "too dark, nearly black (sRGB 0)"),
    ],
)
def test_it_says_too_dark_or_uneven_and_no_stops_of_unevenness(
    wanted, level, srgb, over, uneven, said
):
    got = told(wanted, level=level, srgb=srgb, over=over, uneven=uneven)
    assert got == said
