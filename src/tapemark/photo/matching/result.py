"""What a photo says about the setup it was taken in: results, in the units that people type."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tapemark.photo.reading import ShotReading, Side
from tapemark.studio import Setup

UNKNOWN = "unknown"
Shown = Literal["front", "back"]
What = Literal["height", "side", "distance"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Estimate:
    """A number with how far it may be off.

    Attributes
    ----------
    value : float
        The best guess, in the unit that its owner's name says.
    spread : float
        One standard deviation. Same unit.
    """

    value: float
    spread: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FittedPose:
    """How the head was held, as fitted to the photo.

    Attributes
    ----------
    yaw_deg, pitch_deg, roll_deg : Estimate
        As `turn`, `chin` and `tip` of a setup: to camera-left, up, and tipped to camera-left are
        positive. [deg]
    across_m, forward_m, height_m : Estimate
        Middle between the eyes: to camera-left of the mark, towards the camera, over the floor.
        [m]
    """

    yaw_deg: Estimate
    pitch_deg: Estimate
    roll_deg: Estimate
    across_m: Estimate
    forward_m: Estimate
    height_m: Estimate


@dataclass(frozen=True, kw_only=True, slots=True)
class FittedGlasses:
    """How the glasses are made and sit, as fitted to the photo.

    Attributes
    ----------
    base_curve_d : Estimate
        Front curve of both lenses as opticians label it. [D]
    front_radius_mm : Estimate
        The same as a radius. [mm]
    pantoscopic_tilt_deg, face_form_deg : Estimate
        Lower rim towards the cheek, outer ends swept back. [deg]
    vertex_distance_mm, pupil_height_mm, slipped_mm : Estimate
        Lens to eye, pupil over the bottom of the lens box, how far down the nose. [mm]
    lens_width_mm, lens_height_mm, bridge_mm : Estimate
        Boxed size. [mm]
    """

    base_curve_d: Estimate
    front_radius_mm: Estimate
    pantoscopic_tilt_deg: Estimate
    face_form_deg: Estimate
    vertex_distance_mm: Estimate
    pupil_height_mm: Estimate
    slipped_mm: Estimate
    lens_width_mm: Estimate
    lens_height_mm: Estimate
    bridge_mm: Estimate


@dataclass(frozen=True, kw_only=True, slots=True)
class NamedReflection:
    """One reflection that was read, and whose it is.

    Attributes
    ----------
    index : int
        Which of the `reflections` of that lens in the reading, from 0.
    side : str
        The sitter's own ``right`` or ``left`` lens.
    light : str
        Name of the light, or of what else of the setup shines; ``unknown`` for something that the
        setup does not have.
    surface : str
        Which surface of the lens shows it, ``front`` or ``back``; ``front`` where both do, and
        where the light is not known.
    both_surfaces : bool
        Whether the images of both surfaces lie in it.
    also : tuple of str
        What else shows in the same reflection, where two run into each other.
    probability : float
        That it is this light, or this one mostly, 0 to 1.
    runner_up : str
        What else it may be: a name or ``unknown``; empty where there is nothing.
    runner_up_probability : float
        0 to 1.
    side_deg, height_m : float or None
        Where what shows in its middle stands, seen from the sitter, were it as far off as
        `distance_m`: degrees to camera-left, and over the floor. None where no ray gets there.
    distance_m : float or None
        Along the floor: of the named light, or of the nearest light where it is not known. [m]
    """

    index: int
    side: Side
    light: str
    surface: Shown
    both_surfaces: bool
    also: tuple[str, ...]
    probability: float
    runner_up: str
    runner_up_probability: float
    side_deg: float | None
    height_m: float | None
    distance_m: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Contradiction:
    """Where the photo shows a light elsewhere than the setup says.

    Attributes
    ----------
    light : str
        Its name.
    what : str
        ``height``, ``side`` or ``distance``.
    written, shown : float
        What the setup says and what the photo shows; metres, degrees to camera-left for a side.
    spread : float
        One standard deviation of `shown`, in the same unit.
    written_text, shown_text : str
        The same in the user's units.
    text : str
        In a sentence: ``key is 20 cm lower than written``.
    """

    light: str
    what: What
    written: float
    shown: float
    spread: float
    written_text: str
    shown_text: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LensEstimate:
    """A lens measured by the reflection of a light of known size, as a keratometer does.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left`` lens.
    light : str
        Whose reflection it was.
    front_radius_mm : Estimate
        Radius of the front surface. [mm]
    base_curve_d : Estimate
        The same as opticians label it. [D]
    tilt_deg : Estimate
        Pantoscopic tilt of this lens. [deg]
    magnification : float
        Size of the image over size of the light. [-]
    """

    side: Side
    light: str
    front_radius_mm: Estimate
    base_curve_d: Estimate
    tilt_deg: Estimate
    magnification: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LearnedGlasses:
    """What was learned about one sitter's glasses, kept for the next frames.

    Attributes
    ----------
    base_curve_d, pantoscopic_tilt_deg, face_form_deg : Estimate
        Front curve [D] and how the lenses are turned. [deg]
    vertex_distance_mm, pupil_height_mm : Estimate
        How they sit. [mm]
    lens_width_mm, lens_height_mm, bridge_mm : Estimate
        Boxed size. [mm]
    """

    base_curve_d: Estimate
    pantoscopic_tilt_deg: Estimate
    face_form_deg: Estimate
    vertex_distance_mm: Estimate
    pupil_height_mm: Estimate
    lens_width_mm: Estimate
    lens_height_mm: Estimate
    bridge_mm: Estimate


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveFound:
    """The single move that clears the lenses, from the fitted setup.

    Attributes
    ----------
    text : str
        In the words of `tapemark moves`; a pair in order where one is not enough.
    what, name : str
        ``light``, ``sitter`` or ``camera``; and which.
    verdict_after : str
        Worst verdict of the lenses after it.
    clean : bool
        Whether it clears everything without loss.
    side_effects, losses : tuple of str
        What else it changes, and what it breaks.
    setup : Setup
        The fitted setup after it.
    """

    text: str
    what: str
    name: str
    verdict_after: str
    clean: bool
    side_effects: tuple[str, ...]
    losses: tuple[str, ...]
    setup: Setup


@dataclass(frozen=True, kw_only=True, slots=True)
class WearerMatch:
    """One person in the photo against the setup.

    Attributes
    ----------
    number : int
        As in the reading: from camera-left, from 1.
    person : str
        Who of the setup it is.
    pose : FittedPose
        How the head was held.
    glasses : FittedGlasses or None
        None where no lenses were read.
    reflections : tuple of NamedReflection
        Right lens first, then as in the reading; crumbs of it are left out.
    move : MoveFound or None
        None where nothing shows, nothing helps, or it was not asked for.
    contradictions : tuple of Contradiction
        The clearest first.
    corrected_setup : Setup or None
        The setup with what the photo contradicts put right; None where it contradicts nothing.
    corrected_toml : str or None
        The same as the text of a setup file.
    fitted_setup : Setup
        The corrected setup with the pose and the glasses as fitted.
    lens_estimates : tuple of LensEstimate
        One for each lens that shows a light of known size, whole.
    learned : LearnedGlasses or None
        To be kept with the sitter; None where nothing was learned.
    notes : tuple of str
        What stands in the way of a sure answer, in sentences.
    """

    number: int
    person: str
    pose: FittedPose
    glasses: FittedGlasses | None
    reflections: tuple[NamedReflection, ...]
    move: MoveFound | None
    contradictions: tuple[Contradiction, ...]
    corrected_setup: Setup | None
    corrected_toml: str | None
    fitted_setup: Setup
    lens_estimates: tuple[LensEstimate, ...]
    learned: LearnedGlasses | None
    notes: tuple[str, ...]

    @property
    def lens_estimate(self) -> LensEstimate | None:
        """The surest one of the lens estimates."""
        return min(
            self.lens_estimates,
            key=lambda one: one.front_radius_mm.spread / one.front_radius_mm.value,
            default=None,
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class ShotMatch:
    """One photo against a setup.

    Attributes
    ----------
    reading : ShotReading
        What was read from the photo alone.
    setup : Setup
        The setup as written.
    wearers : tuple of WearerMatch
        Those in the photo who are in the setup too, from camera-left.
    notes : tuple of str
        What does not fit between photo and setup, in sentences.
    """

    reading: ShotReading
    setup: Setup
    wearers: tuple[WearerMatch, ...]
    notes: tuple[str, ...] = ()

    @property
    def corrected_setup(self) -> Setup | None:
        """The corrected setup of the first person whose lenses contradict the written one."""
        return next(
            (one.corrected_setup for one in self.wearers if one.corrected_setup is not None), None
        )
