"""Would the verdict flip within what is only guessed about the glasses?

Base curve, pantoscopic tilt and face form are seldom known.  Each guessed
input is varied alone to the ends of its usual range and the lenses are
looked at again.

References
----------
Base curve latitude ±1 D [base-curve-choice]; tilt 5 to 15 degrees
[masaryk-spectacle-technique]; face form 0 to 10 degrees (assumption around
the lens makers' average of 5).
"""

from dataclasses import dataclass

from tapemark.analysis.cover import cover_map
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.glare import Verdict, lens_glare
from tapemark.analysis.lens_view import view_lenses
from tapemark.analysis.scene import Scene, lenses_for
from tapemark.anatomy import LensGuess, Side

BASE_CURVE_SPREAD_D = 1.0
TILT_RANGE_DEG = (5.0, 15.0)
FACE_FORM_RANGE_DEG = (0.0, 10.0)
COLUMNS, ROWS, SUB_RAYS = 22, 16, 2


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


def guess_outcomes(scene: Scene, *, light: FaceLight) -> tuple[GuessOutcome, ...]:
    """Return what the lenses would show at the ends of each guessed input.

    Parameters
    ----------
    scene : Scene
        The setup as stated.
    light : FaceLight
        Light around the eyes.

    Returns
    -------
    tuple of GuessOutcome
        Empty without glasses or where nothing is guessed.
    """
    glasses = scene.setup.sitter.glasses
    if glasses is None:
        return ()
    cases = _cases(glasses.guessed)
    if not cases:
        return ()
    guesses = tuple(guess for _what, guess in cases)
    stack = lenses_for(scene.setup, pose=scene.pose, guesses=guesses)
    view = view_lenses(scene, stack, columns=COLUMNS, rows=ROWS)
    cover = cover_map(scene, view, light=light, sub_rays=SUB_RAYS)
    shown = lens_glare(view, cover)
    pairs = zip(shown[::2], shown[1::2], strict=True)
    return tuple(
        GuessOutcome(
            what=what,
            verdicts={lens.side: lens.verdict for lens in pair},
            veils={lens.side: lens.veil for lens in pair},
        )
        for (what, _guess), pair in zip(cases, pairs, strict=True)
    )


def _cases(guessed: frozenset[str]) -> list[tuple[str, LensGuess]]:
    cases = []
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
        cases += [
            (f"face form {form:g}°", LensGuess(face_form_deg=form)) for form in FACE_FORM_RANGE_DEG
        ]
    return cases
