"""Would the verdict flip within what is only guessed about the glasses?

Prescription, base curve, pantoscopic tilt and face form are seldom known.
Each guessed input is varied alone to the ends of its usual range and the lenses are
looked at again.

References
----------
Base curve latitude ±1 D [base-curve-choice]; tilt 5 to 15 degrees
[masaryk-spectacle-technique]; face form ±5 degrees around what is usual for
the kind of frame (assumption).
"""

from dataclasses import dataclass

from tapemark.analysis.cover import cover_map
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.glare import LensGlare, Verdict, lens_glare
from tapemark.analysis.lens_view import LensView, lattice_for, view_lenses
from tapemark.analysis.scene import Scene, lenses_for
from tapemark.anatomy import LensGuess, Side
from tapemark.studio import Glasses

BASE_CURVE_SPREAD_D = 1.0
TILT_RANGE_DEG = (5.0, 15.0)
FACE_FORM_SPREAD_DEG = 5.0
COLUMNS, ROWS, SUB_RAYS = 22, 16, 2  # a first look
CLOSER_POINTS, CLOSER_SUB_RAYS = 2_000, 3  # where the verdict seems to change

#: Views of a lens pair, by which cases they show and with how many points.
GuessViews = dict[tuple[tuple[str, ...], int | None], LensView]


@dataclass(frozen=True, kw_only=True, slots=True)
class GuessOutcome:
    """What both lenses would show if one guessed input were different.

    Attributes
    ----------
    what : str
        The change in words.
    verdicts : dict of side to verdict
        For the sitter's own right and left lens.
    veils : dict of side to float
        Veil of each, 0 to 1.
    """

    what: str
    verdicts: dict[Side, Verdict]
    veils: dict[Side, float]


def guess_outcomes(
    scene: Scene,
    *,
    light: FaceLight,
    lenses: tuple[LensGlare, ...] = (),
    views: GuessViews | None = None,
) -> tuple[GuessOutcome, ...]:
    """Return what the lenses would show at the ends of each guessed input.

    Parameters
    ----------
    scene : Scene
        The setup as stated.
    light : FaceLight
        Light around the eyes.
    lenses : tuple of LensGlare
        What the lenses show as stated; outcomes with another verdict are then
        looked at again as closely.
    views : dict, optional
        Views of these lenses from this camera that an earlier call left here; it is added to.

    Returns
    -------
    tuple of GuessOutcome
        Empty without glasses or where nothing is guessed.
    """
    glasses = scene.sitter.glasses
    if glasses is None:
        return ()
    cases = _cases(glasses)
    if not cases:
        return ()
    views = {} if views is None else views
    found = dict(zip(cases, _pairs(scene, cases, light=light, views=views), strict=True))
    stated = [lens.verdict for lens in lenses]
    doubtful = [
        case for case, pair in found.items() if stated and [one.verdict for one in pair] != stated
    ]
    if doubtful:
        closer = _pairs(scene, doubtful, light=light, views=views, points=CLOSER_POINTS)
        found.update(zip(doubtful, closer, strict=True))
    return tuple(
        GuessOutcome(
            what=what,
            verdicts={lens.side: lens.verdict for lens in pair},
            veils={lens.side: lens.veil for lens in pair},
        )
        for (what, _guess), pair in found.items()
    )


def _pairs(
    scene: Scene,
    cases: list[tuple[str, LensGuess]],
    *,
    light: FaceLight,
    views: GuessViews,
    points: int | None = None,
) -> list[tuple[LensGlare, ...]]:
    """Return what the lens pair shows in each case."""
    key = (tuple(what for what, _guess in cases), points)
    if key not in views:
        views[key] = _view(scene, cases, points=points)
    view, sub_rays = views[key], SUB_RAYS if points is None else CLOSER_SUB_RAYS
    shown = lens_glare(view, cover_map(scene, view, light=light, sub_rays=sub_rays))
    return list(zip(shown[::2], shown[1::2], strict=True))


def _view(scene: Scene, cases: list[tuple[str, LensGuess]], *, points: int | None) -> LensView:
    """Return the camera's view of the lens pair in each case."""
    stack = lenses_for(
        scene.sitter, pose=scene.pose, guesses=tuple(guess for _what, guess in cases)
    )
    columns, rows = (COLUMNS, ROWS) if points is None else lattice_for(stack, points=points)
    return view_lenses(scene, stack, columns=columns, rows=rows)


def _cases(glasses: Glasses) -> list[tuple[str, LensGuess]]:
    cases, guessed = [], glasses.guessed
    spread = glasses.prescription_spread_d
    if spread > 0.0:
        cases += [
            (f"lenses {spread:g} D more {way}", LensGuess(sphere_shift_d=shift))
            for way, shift in (("minus", -spread), ("plus", spread))
        ]
    if "base_curve" in guessed:
        cases += [
            (
                f"base curve {BASE_CURVE_SPREAD_D:g} D flatter",
                LensGuess(base_curve_shift_d=-BASE_CURVE_SPREAD_D),
            ),
            (
                f"base curve {BASE_CURVE_SPREAD_D:g} D steeper",
                LensGuess(base_curve_shift_d=BASE_CURVE_SPREAD_D),
            ),
        ]
    if "pantoscopic_tilt" in guessed:
        cases += [
            (f"pantoscopic tilt {tilt:g}°", LensGuess(pantoscopic_tilt_deg=tilt))
            for tilt in TILT_RANGE_DEG
        ]
    if "face_form" in guessed:
        usual = glasses.face_form_deg
        cases += [
            (f"face form {form:g}°", LensGuess(face_form_deg=form))
            for form in (usual - FACE_FORM_SPREAD_DEG, usual + FACE_FORM_SPREAD_DEG)
        ]
    return cases
