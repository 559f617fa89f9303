"""The drawings of a live view."""

from tapemark.analysis import aperture_text
from tapemark.drawing.set_screen.elevation import set_elevation
from tapemark.drawing.set_screen.plan import set_plan
from tapemark.drawing.set_screen.things import SetPerson, SetShown
from tapemark.drawing.set_screen.view import ViewPerson, set_view
from tapemark.services.editing.limits import height_limits
from tapemark.services.live.seen import PersonSeen
from tapemark.services.plain import Plain


def drawings_of(people: tuple[PersonSeen, ...], wants: frozenset[str]) -> dict[str, Plain]:
    """Return the drawings wanted, each with its box and its SVG fragment."""
    shown = _shown(people)
    drawn: dict[str, Plain] = {}
    if "plan" in wants:
        drawn["plan"] = _told(*set_plan(shown))
    if "side" in wants:
        drawn["side"] = _told(*set_elevation(shown))
    if "view" in wants:
        view = set_view(tuple(_in_view(one) for one in people))
        drawn["view"] = {
            "box": [round(one) for one in view.box],
            "eyes_box": [round(one) for one in view.eyes_box],
            "svg": view.svg,
        }
    return drawn


def _in_view(one: PersonSeen) -> ViewPerson:
    return ViewPerson(
        scene=one.scene,
        light=one.light,
        key=one.key,
        view=one.view,
        lenses=one.lenses,
        outlines=one.outlines,
        catchlights=one.catchlights,
    )


def _shown(people: tuple[PersonSeen, ...]) -> SetShown:
    setup = people[0].scene.setup
    limits = {light.name: height_limits(light, setup) for light in setup.lights}
    return SetShown(
        people=tuple(SetPerson(scene=one.scene, lenses=one.lenses) for one in people),
        readings={
            one.name: " · ".join(
                part
                for part in ("" if one.aperture is None else aperture_text(one.aperture), one.dial)
                if part
            )
            for one in people[0].exposure.lights
        },
        reach_m={name: (one.lowest_m, one.highest_m) for name, one in limits.items()},
    )


def _told(box: tuple[float, float, float, float], svg: str) -> Plain:
    return {"box": [round(one, 3) for one in box], "svg": svg}
