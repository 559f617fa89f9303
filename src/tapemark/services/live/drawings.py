"""The drawings of a live view, and how a page is told what of them is new to it."""

from collections.abc import Collection
from functools import lru_cache
from hashlib import blake2b

from tapemark.analysis import aperture_text
from tapemark.drawing.set_screen.elevation import set_elevation
from tapemark.drawing.set_screen.plan import set_plan
from tapemark.drawing.set_screen.things import SetPerson, SetShown
from tapemark.drawing.set_screen.view import ViewPerson, set_view
from tapemark.services.editing.limits import height_limits
from tapemark.services.live.seen import PersonSeen
from tapemark.services.plain import Plain


def drawings_of(people: tuple[PersonSeen, ...], wants: frozenset[str]) -> dict[str, Plain]:
    """Return the drawings wanted, each with its box, its SVG fragment and the fragment's parts."""
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
            "svg": "".join(view.parts),
            "parts": view.parts,
        }
    return drawn


def drawing_told(drawing: Plain, known: Collection[str]) -> Plain:
    """Return a drawing as a page is told it: the mark of each part, and the parts it lacks.

    Parameters
    ----------
    drawing : dict
        Of `drawings_of`.
    known : collection of str
        Marks of the parts that the page has.

    Returns
    -------
    dict
        The boxes, ``marks`` in the order of drawing, and ``parts``: SVG texts by their marks.
    """
    texts = {mark_of(text): text for text in drawing["parts"]}
    told = {name: value for name, value in drawing.items() if name.endswith("box")}
    told["marks"] = [mark_of(text) for text in drawing["parts"]]
    told["parts"] = {mark: text for mark, text in texts.items() if mark not in known}
    return told


@lru_cache(maxsize=2048)
def mark_of(text: str) -> str:
    """Return a short mark by which a part of a drawing is known, the same in every process."""
    return blake2b(text.encode(), digest_size=6).hexdigest()


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


def _told(box: tuple[float, float, float, float], parts: tuple[str, ...]) -> Plain:
    return {"box": [round(one, 3) for one in box], "svg": "".join(parts), "parts": parts}
