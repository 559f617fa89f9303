"""Practice: troubled setups to read, and what an answer is worth.

A drill is a setup whose lenses show a light. Asked are which light, which surface of the lens
mirrors it over the eye, and which single move cures it. What is right comes from the same
analyses and the same search for moves as everything else. Answers: see `drill_answers`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import LensGlare, Reflection, build_scene, exposure, face_light
from tapemark.errors import Problem, SetupError
from tapemark.planning.lens_judge import lenses_only
from tapemark.planning.moves.search import find_moves
from tapemark.planning.moves.words import amount_text
from tapemark.studio import Light, Setup, changed, with_light
from tapemark.units import format_angle, format_length, format_side

SurfaceAnswer = Literal["front", "back", "both"]
SURFACE_ANSWERS: tuple[SurfaceAnswer, ...] = ("front", "back", "both")
LETTERS = "ABCD"
LEAST_LIGHTS = 2  # with one there is nothing to ask
MOST_TRIES = 60  # setups looked at for one drill
#: A surface that covers less than this share of the other's does not count.
FAINT_SURFACE = 0.25
LEAST_VEIL = 0.05  # of the eyes together: less is not seen at a glance
LEAST_TOLD = 0.01  # of an eye: a smaller cover is told without its figure
LEADING_LIGHT = 4.0  # one light must cover so many times what every other does
_MODIFIERS = (
    "medium softbox 60x90 cm",
    "large softbox 90x120 cm",
    "octagonal box 110 cm",
    "reflected umbrella 110 cm",
    "shoot-through umbrella 100 cm",
    "beauty dish 55 cm",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class DrillMove:
    """One move to choose from.

    Attributes
    ----------
    letter, text : str
        What it is called, and what is moved.
    setup : Setup
        The setup after it.
    cures : bool
        Whether all lenses are clear then, at no loss.
    reason : str
        Why it does, or does not.
    """

    letter: str
    text: str
    setup: Setup
    cures: bool
    reason: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Drill:
    """A troubled setup with its questions.

    Attributes
    ----------
    number : int
        Counted from 1.
    setup : Setup
        As it stands.
    lights : tuple of str
        Those to choose from.
    light : str
        The one that shows.
    surface : str
        What mirrors it over the eyes: ``front``, ``back`` or ``both``.
    surface_reason : str
        How much each covers.
    moves : tuple of DrillMove
        Those to choose from.
    """

    number: int
    setup: Setup
    lights: tuple[str, ...]
    light: str
    surface: SurfaceAnswer
    surface_reason: str
    moves: tuple[DrillMove, ...]

    @property
    def cured(self) -> Setup:
        """The setup after the least disturbing of the moves that cure it."""
        return next(one.setup for one in self.moves if one.cures)


def drills(base: Setup, *, seed: int, count: int) -> Iterator[Drill]:
    """Yield drills made from a setup: its room, its sitter and its gear, placed badly.

    Parameters
    ----------
    base : Setup
        With glasses and at least two lights.
    seed : int
        The same seed gives the same drills.
    count : int
        How many; fewer where it cannot be troubled in ways that one move cures.

    Raises
    ------
    SetupError
        No glasses, or fewer lights than `LEAST_LIGHTS`.
    """
    _refuse_unfit(base)
    for number in range(1, count + 1):
        found = _drill(base, np.random.default_rng((seed, number)), number=number)
        if found is not None:
            yield found


def _refuse_unfit(base: Setup) -> None:
    problems = []
    if base.sitter.glasses is None:
        problems.append(
            Problem(
                key="sitter.glasses",
                given="none",
                allowed="glasses with their lenses",
                advice="describe the glasses, or practise with a setup that has some",
            )
        )
    if len(base.lights) < LEAST_LIGHTS:
        problems.append(
            Problem(
                key="light",
                given=str(len(base.lights)),
                allowed=f"{LEAST_LIGHTS} lights or more",
                advice="add a light, so that there is something to tell apart",
            )
        )
    if problems:
        raise SetupError(tuple(problems), name=base.title or "setup")


def _drill(base: Setup, rng: np.random.Generator, *, number: int) -> Drill | None:
    for _ in range(MOST_TRIES):
        try:
            setup = _troubled(base, rng)
        except SetupError:
            continue
        seen = lenses_only(setup)
        if seen.verdict != "veiled":
            continue
        lenses = seen.people[0].lenses
        guilty = _leading(lenses, setup)
        if guilty is None:
            continue
        light, surface, reason = guilty
        moves = _choices(setup, light, rng)
        if moves is None:
            continue
        return Drill(
            number=number,
            setup=setup,
            lights=tuple(one.name for one in setup.lights),
            light=light,
            surface=surface,
            surface_reason=reason,
            moves=moves,
        )
    return None


def _troubled(base: Setup, rng: np.random.Generator) -> Setup:
    """Return a setup with its lights near the camera, the sitter and glasses drawn by lot."""
    assert base.sitter.glasses is not None
    turn = float(rng.choice([-20.0, -10.0, 0.0, 0.0, 10.0, 20.0]))
    sphere = float(rng.choice([-5.0, -3.0, -2.0, -1.0, 0.75, 1.5, 2.5]))
    eye = {"sphere_d": sphere, "cylinder_d": 0.0}
    coated = {"coating": str(rng.choice(["none", "none", "anti-reflective"]))}
    glasses = changed(base.sitter.glasses, {"right": eye, "left": eye, **coated})
    sitter = changed(base.sitter, {"turn_deg": turn, "glasses": glasses})
    lights, side = [], float(rng.choice([-1.0, 1.0]))
    troubled = int(rng.integers(len(base.lights)))
    for order, light in enumerate(base.lights):
        bad = order == troubled
        aside = side * (rng.uniform(12.0, 40.0) if bad else rng.uniform(20.0, 70.0))
        place = {
            "side_deg": round(float(aside)),
            "distance_m": round(float(rng.uniform(1.2, 2.2)), 1),
            "height_m": round(float(rng.uniform(1.2, 1.6) if bad else rng.uniform(1.5, 2.1)), 1),
        }
        kept = {"place": changed(light.place, place), "modifier": str(rng.choice(_MODIFIERS))}
        lights.append(changed(light, kept))
        side = -side
    placed = changed(base, {"sitter": sitter, "lights": tuple(lights), "title": "Drill"})
    return _metered(placed)


def _metered(setup: Setup) -> Setup:
    """Return a setup with all lights turned by the same, so that it meters right."""
    scene = build_scene(setup)
    over = exposure(scene, light=face_light(scene)).stops_over or 0.0
    lights = []
    for light in setup.lights:
        power = float(np.clip(light.power_stops - over, light.head.lowest_power_stops, 0.0))
        lights.append(changed(light, {"power_stops": round(power, 1)}))
    return changed(setup, {"lights": tuple(lights)})


def _leading(lenses: tuple[LensGlare, ...], setup: Setup) -> tuple[str, SurfaceAnswer, str] | None:
    """Return the light that covers the eyes most, what mirrors it, and how much each covers."""
    own = [one for lens in lenses for one in lens.reflections]
    names = {one.name for one in setup.lights}
    veils = {name: sum(one.veil for one in own if one.source == name) for name in names}
    light = max(veils, key=lambda name: veils[name])
    others = sum(one.veil for one in own if one.source != light)
    if veils[light] < LEAST_VEIL or others * LEADING_LIGHT > veils[light]:
        return None
    front, back = (_most(own, light, surface) for surface in ("front", "back"))
    reason = (
        f"Of one eye the front mirror covers {_covered(front)}, the back mirror {_covered(back)}."
    )
    if min(front, back) > FAINT_SURFACE * max(front, back):
        return light, "both", reason
    return light, ("front" if front > back else "back"), reason


def _covered(share: float) -> str:
    if share < LEAST_TOLD:
        return "less than 1 %" if share > 0.0 else "nothing"
    return f"up to {100 * share:.0f} %"


def _most(reflections: list[Reflection], light: str, surface: str) -> float:
    own = (one.veil for one in reflections if one.source == light and one.surface == surface)
    return max(own, default=0.0)


def _choices(setup: Setup, light: str, rng: np.random.Generator) -> tuple[DrillMove, ...] | None:
    """Return one move that cures a setup among three that do not, in an order drawn by lot."""
    found = find_moves(setup, best=1)
    cure = next((one for one in found.moves if one.clean and len(one.steps) == 1), None)
    if cure is None:
        return None
    wrong = []
    tempting = list(_tempting(setup, light))
    for row in rng.permutation(len(tempting)):
        text, after = tempting[row]
        verdict = _verdict(after)
        if verdict != "clear" and after is not None:
            wrong.append((text, after, f"The lenses are still {verdict}."))
        if len(wrong) == len(LETTERS) - 1:
            break
    if len(wrong) < len(LETTERS) - 1:
        return None
    change, _, power = cure.text.partition(", and ")
    told = ["All lenses are clear", *([power] if power else []), *cure.side_effects[:1]]
    reason = " ".join(f"{one[:1].upper()}{one[1:].rstrip('.')}." for one in told)
    right = (change, cure.setup, reason, True)
    rows = [right, *((*one, False) for one in wrong)]
    order = rng.permutation(len(rows))
    return tuple(
        DrillMove(
            letter=LETTERS[place],
            text=f"{rows[row][0][:1].upper()}{rows[row][0][1:]}",
            setup=rows[row][1],
            cures=rows[row][3],
            reason=rows[row][2],
        )
        for place, row in enumerate(order)
    )


def _verdict(setup: Setup | None) -> str:
    return "clear" if setup is None else lenses_only(setup).verdict


def _tempting(setup: Setup, name: str) -> Iterator[tuple[str, Setup | None]]:
    """Yield moves that people try, with the setup after them; None where one cannot be."""
    (guilty,) = (one for one in setup.lights if one.name == name)
    place, system = guilty.place, setup.units

    def far(amount_m: float) -> str:
        return amount_text(amount_m, unit="m", system=system)

    def to(height_m: float) -> str:
        return f"to {format_length(height_m, system=system)}"

    for less in (0.3, 0.2):
        there = place.distance_m - less
        text = f"bring {name} {far(less)} closer, {to(there)}"
        yield text, _moved(setup, guilty, distance_m=there)
    for down in (-0.15, 0.1):
        there = place.height_m + down
        verb = "lower" if down < 0 else "raise"
        yield f"{verb} {name} {far(abs(down))}, {to(there)}", _moved(setup, guilty, height_m=there)
    for other in (one for one in setup.lights if one.name != name):
        there = other.place.height_m + 0.4
        text = f"raise {other.name} {far(0.4)}, {to(there)}"
        yield text, _moved(setup, other, height_m=there)
    swung = place.side_deg - float(np.sign(place.side_deg)) * 10.0
    text = f"swing {name} {format_angle(10.0)} towards the camera, to {format_side(swung)}"
    yield text, _moved(setup, guilty, side_deg=swung)
    camera = setup.camera
    back_m = camera.place.distance_m + 0.3
    moved = changed(camera, {"place": changed(camera.place, {"distance_m": back_m})})
    text = f"back the camera {far(0.3)} off, {to(back_m)}"
    yield text, _tried(setup, {"camera": moved})


def _moved(setup: Setup, light: Light, **place: float) -> Setup | None:
    try:
        return with_light(setup, changed(light, {"place": changed(light.place, place)}))
    except SetupError:
        return None


def _tried(setup: Setup, changes: dict[str, object]) -> Setup | None:
    try:
        return changed(setup, changes)
    except SetupError:
        return None
