"""A light taken out of a setup, so that it can be put anywhere: what stays, and its power."""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import (
    Emitter,
    FaceLight,
    LensView,
    Scene,
    SteadyLight,
    build_scenes,
    checked_view,
    face_light,
    steady_light,
)
from tapemark.analysis.light_faces import modifier_face
from tapemark.errors import Problem, SetupError
from tapemark.geometry import FloatArray, axes_facing, normalize
from tapemark.planning.lens_rays import LensRays, lens_rays
from tapemark.studio import Light, Setup, changed
from tapemark.units import as_typed

HALF_TURN_DEG = 90.0  # to either side of the middle of a map
#: With less than so much of what it would give if aimed at the face, it lights other things.
LEAST_AT_FACE = 0.01
#: For these the light at the face is worked out; between them it is interpolated. [log m]
_LOG_LENGTHS = np.linspace(np.log(0.1), np.log(70.0), 60)


@dataclass(frozen=True, kw_only=True, eq=False)
class MappedPerson:
    """One person without the light.

    Attributes
    ----------
    scene : Scene
        About them, without the light.
    light : FaceLight
        All other light on their face.
    steady : tuple of SteadyLight
        The same from each emitter.
    view : LensView or None
        The camera's view of their lenses; None without glasses.
    rays : LensRays or None
        That leave their lenses.
    """

    scene: Scene
    light: FaceLight
    steady: tuple[SteadyLight, ...]
    view: LensView | None
    rays: LensRays | None


@dataclass(frozen=True, kw_only=True, eq=False)
class MappedLight:
    """A light and everything that stays.

    Attributes
    ----------
    setup, light : Setup, Light
        The light aimed at the face.
    emitter : Emitter
        The light where it is.
    face_exposure : float
        What it puts on the face, square on, kept everywhere. [lx·s]
    unit_exposure : (n,) array
        What it would put there at brightness 1 from some lengths. [lx·s]
    people : tuple of MappedPerson
        The sitter, then everybody else.
    """

    setup: Setup
    light: Light
    emitter: Emitter
    face_exposure: float
    unit_exposure: FloatArray
    people: tuple[MappedPerson, ...]

    def brightness(self, length_m: FloatArray) -> FloatArray:
        """Return the brightness that keeps the exposure from so far off, (n,) [cd·s/m²]."""
        unit = np.exp(np.interp(np.log(length_m), _LOG_LENGTHS, np.log(self.unit_exposure)))
        return np.asarray(self.face_exposure / unit)

    def power_stops(self, length_m: FloatArray) -> FloatArray:
        """Return the power that keeps the exposure from so far off, (n,) [stops]."""
        return np.asarray(
            self.light.power_stops + np.log2(self.brightness(length_m) / self.emitter.brightness)
        )


def mapped_light(setup: Setup, name: str) -> MappedLight:
    """Return a light of a setup, taken out of everybody's scene.

    Raises
    ------
    SetupError
        There is no such light, it is off, or it is not aimed at the sitter.
    """
    light = _aimed(setup, name)
    scenes = build_scenes(setup)
    emitter = next(one for one in scenes[0].emitters if one.name == light.name)
    aim = np.array([0.0, 0.0, setup.sitter.eye_height_m])
    towards = normalize(emitter.face.center - aim)
    exposure = float(emitter.exposure_at(aim[None], normal=towards[None])[0])
    unit = _unit_exposure(emitter, light)
    length = float(np.linalg.norm(emitter.face.center - aim))
    square_on = float(np.exp(np.interp(np.log(length), _LOG_LENGTHS, np.log(unit))))
    if exposure < LEAST_AT_FACE * square_on * emitter.brightness:
        raise _refused(
            name,
            allowed="a light that lights the face directly; this one is aimed past it",
            advice='aim it there with aim = "face" in the setup file, then map it',
        )
    return MappedLight(
        setup=setup,
        light=light,
        emitter=emitter,
        face_exposure=exposure,
        unit_exposure=unit,
        people=tuple(_person(scene, light) for scene in scenes),
    )


def _unit_exposure(emitter: Emitter, light: Light) -> FloatArray:
    """Return the light of a face of brightness 1 straight in front of it, (n,) [lx·s]."""
    face = modifier_face(
        light.modifier, center=np.zeros(3), axes=axes_facing(np.array([0.0, 1.0, 0.0]))
    )
    unit = replace(emitter, face=face, brightness=1.0, back_brightness=0.0)
    at = np.exp(_LOG_LENGTHS)[:, None] * (0.0, 1.0, 0.0)
    return unit.exposure_at(at, normal=np.broadcast_to((0.0, -1.0, 0.0), at.shape))


def _aimed(setup: Setup, name: str) -> Light:
    """Return a light by its name, aimed at the face, if a map of it makes sense."""
    found = [one for one in setup.lights if one.name.casefold() == name.casefold()]
    names = ", ".join(as_typed(one.name) for one in setup.lights)
    advice = ""
    if not found:
        allowed, advice = (names or "none: the setup has no lights"), "name one of them"
    elif not found[0].on:
        allowed, advice = "a light that is on", "switch it on in the setup file"
    elif isinstance(found[0].aim, str) and found[0].aim != "face":
        allowed = f'a light aimed at the face; this one is aimed at "{found[0].aim}"'
        advice = "a map asks where its own face may stand: map a light that lights the sitter"
    if advice:
        raise _refused(name, allowed=allowed, advice=advice)
    light = found[0]
    if light.stand is not None and light.stand.base is not None:
        light = changed(light, {"stand": changed(light.stand, {"base": None})})
    return changed(light, {"aim": "face"})


def _refused(name: str, *, allowed: str, advice: str) -> SetupError:
    problem = Problem(key="light", given=as_typed(name), allowed=allowed, advice=advice)
    return SetupError((problem,), name="map")


def _person(scene: Scene, light: Light) -> MappedPerson:
    others = tuple(one for one in scene.emitters if one.name != light.name)
    scene = replace(scene, emitters=others)
    view, rays = checked_view(scene), None
    if view is not None:
        rays = lens_rays(
            scene,
            view,
            middle_rad=float(np.deg2rad(middle_side_deg(light))),
            range_m=light.place.distance_m,
        )
    steady = steady_light(scene)
    light_of_others = face_light(scene, steady=steady)
    return MappedPerson(scene=scene, light=light_of_others, steady=steady, view=view, rays=rays)


def middle_side_deg(light: Light) -> float:
    """Return the middle of the half of the room that a map of a light shows [deg]."""
    return 0.0 if abs(light.place.side_deg) <= HALF_TURN_DEG else 180.0
