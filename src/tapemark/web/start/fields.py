"""The five steps of a brief as a form: what is asked, in plain words, and what is usual."""

from tapemark.studio import (
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MODIFIER_PRESETS,
    SENSORS,
    STAND_PRESETS,
)
from tapemark.web.start.around import mains_group, others_group, windows_group
from tapemark.web.start.asked import Asked, Group, Options, Step

NO_GLASSES, AS_SEEN = "none", "describe"
MOST_OF_A_KIND = 12

WALLS = (
    ("0.8", "white"),
    ("0.6", "light colours"),
    ("0.4", "middling: grey, bare wood, brick"),
    ("0.2", "dark: shelves, dark paint"),
)
CEILINGS = (("0.8", "white"), ("0.5", "wood or grey"), ("0.15", "dark or black"))


def _same(*values: str) -> Options:
    return tuple((one, one) for one in values)


def _counts(
    prefix: str, presets: tuple[str, ...], usual: dict[str, str], why: dict[str, str]
) -> tuple[Asked, ...]:
    return tuple(
        Asked(
            key=f"{prefix}:{name}",
            label=name,
            why=why.get(name, ""),
            kind="count",
            usual=usual.get(name, "0"),
        )
        for name in presets
    )


WHO = Step(
    key="who",
    title="Who",
    lead="The person in front of the camera. Heights decide how high the lights must go.",
    groups=(
        Group(
            asked=(
                Asked(
                    key="name", label="Name", why="What you call them on set.", usual="the sitter"
                ),
                Asked(
                    key="posture",
                    label="Seated or standing",
                    why="Seated is steadier: eyes stay where you focused.",
                    kind="choice",
                    usual="seated",
                    options=(("seated", "seated on a stool"), ("standing", "standing")),
                ),
                Asked(
                    key="height",
                    label="Body height",
                    why="Their eye height is worked out from it. Leave empty for somebody average.",
                ),
            )
        ),
        Group(
            title="If you know more",
            folded=True,
            asked=(
                Asked(
                    key="eyes",
                    label="Height of the eyes",
                    why="Floor to eyes as they pose; a tape tells more than the body height.",
                ),
                Asked(key="age", label="Age", why="Pupils get smaller with age."),
                Asked(
                    key="sensitive",
                    label="Bright light",
                    why="Then no light is planned that flashes hard into the eyes unwarned.",
                    kind="choice",
                    usual="no",
                    options=(
                        ("no", "no trouble with it"),
                        ("bright", "bright light is hard on them"),
                        ("seizures", "flashing light may bring on a seizure"),
                    ),
                ),
            ),
        ),
        others_group(),
    ),
)

GLASSES = Step(
    key="glasses",
    title="Glasses",
    lead="Lenses mirror the lights. What you can see of them is enough; an optician's card is "
    "better.",
    groups=(
        Group(
            asked=(
                Asked(
                    key="glasses",
                    label="Which are most like theirs",
                    why="Take the nearest, or describe them by what you see.",
                    kind="choice",
                    usual="mild short-sighted, medium frame",
                    options=(
                        (NO_GLASSES, "no glasses"),
                        (AS_SEEN, "describe them myself"),
                        *_same(*GLASSES_PRESETS),
                    ),
                ),
                Asked(
                    key="look_through",
                    label="Their eyes through the lens look",
                    why="Look from the front, at the edge of the face: smaller means short-sighted "
                    "(minus) lenses, larger means long-sighted (plus).",
                    kind="choice",
                    options=(
                        ("", "as in the choice above"),
                        *_same("smaller", "larger", "unchanged"),
                    ),
                ),
                Asked(
                    key="edge",
                    label="The edge of the lens is",
                    why="A thick edge means a stronger lens.",
                    kind="choice",
                    options=(("", "not looked at"), *_same("thick", "thin")),
                ),
                Asked(
                    key="coating",
                    label="Reflections in the lens are",
                    why="Green or purple ones come from an anti-reflective coating; white ones "
                    "from bare lenses.",
                    kind="choice",
                    options=(
                        ("", "not looked at"),
                        ("none", "white and bright: no coating"),
                        ("anti-reflective", "dim green or purple: coated"),
                    ),
                ),
            )
        ),
        Group(
            title="Measured, or from the optician's card",
            why="Only what you have; the rest is taken from the choice above.",
            folded=True,
            asked=(
                Asked(
                    key="lens_width",
                    label="Lens width",
                    why="The 52 of 52-18, printed inside the temple.",
                ),
                Asked(
                    key="lens_height", label="Lens height", why="Rarely printed: measure the lens."
                ),
                Asked(key="bridge", label="Bridge", why="The 18 of 52-18: between the two lenses."),
                Asked(
                    key="right_sphere",
                    label="Right lens, sphere",
                    why="SPH of the right eye (R or OD), such as -2.25 D.",
                ),
                Asked(
                    key="left_sphere",
                    label="Left lens, sphere",
                    why="SPH of the left eye (L or OS), such as -2.00 D.",
                ),
            ),
        ),
    ),
)

ROOM = Step(
    key="room",
    title="Room",
    lead="Walls and ceiling limit where stands can go, and throw light back.",
    groups=(
        Group(
            asked=(
                Asked(
                    key="width",
                    label="Width",
                    why="From the wall on one side of the sitter to that on the other.",
                    usual="4 m",
                    usual_us="13 ft",
                ),
                Asked(
                    key="length",
                    label="Length",
                    why="From the wall behind the sitter to the wall behind the camera.",
                    usual="6 m",
                    usual_us="20 ft",
                ),
                Asked(
                    key="ceiling",
                    label="Ceiling height",
                    why="Floor to ceiling. It decides how high a light can go.",
                    usual="2.7 m",
                    usual_us="9 ft",
                ),
            )
        ),
        Group(
            title="How the room looks",
            folded=True,
            asked=(
                Asked(
                    key="walls",
                    label="Walls",
                    why="Light walls fill the shadows.",
                    kind="choice",
                    usual="0.6",
                    options=WALLS,
                ),
                Asked(
                    key="ceiling_tone",
                    label="Ceiling",
                    why="A white one can be used to bounce light.",
                    kind="choice",
                    usual="0.8",
                    options=CEILINGS,
                ),
                Asked(
                    key="behind",
                    label="Sitter to the wall behind",
                    why="Leave empty to have it chosen.",
                ),
            ),
        ),
        windows_group(),
    ),
)

_HEAD_WHY = {
    "small camera flash 60 Ws": "The kind that sits on a camera, on a stand.",
    "continuous LED panel": "Burns all the time: you see what you get, but it is weaker.",
    "halogen lamp head 650 W": "Gets hot; gives warm light.",
}
_MODIFIER_WHY = {
    "medium softbox 60x90 cm": "A cloth-fronted box: soft light, tidy edges.",
    "reflected umbrella 110 cm": "Opens fast, light spreads wide.",
    "strip 30x120 cm": "Narrow and tall.",
    "reflector dish 18 cm": "Small and hard; good for the background.",
}

GEAR = Step(
    key="gear",
    title="Gear",
    lead="What there is to light with. Plans use only what you count here, and not all of it.",
    groups=(
        Group(
            title="Heads",
            why="What makes the light. Ws is the energy of one flash: twice the number is one "
            "stop more light.",
            asked=_counts("head", tuple(HEAD_PRESETS), {"400 Ws studio head": "2"}, _HEAD_WHY),
        ),
        Group(
            title="Modifiers",
            why="What goes on a head to shape its light.",
            asked=_counts(
                "modifier",
                tuple(MODIFIER_PRESETS),
                {"medium softbox 60x90 cm": "1", "reflected umbrella 110 cm": "1"},
                _MODIFIER_WHY,
            ),
        ),
        Group(
            title="Stands, panels, background",
            asked=(
                *_counts("stand", tuple(STAND_PRESETS)[:3], {"light stand": "2"}, {}),
                Asked(
                    key="panels",
                    label="White reflector panels",
                    why="A white board or folding reflector, about 0.9 by 1.2 m, on its own "
                    "holder.",
                    kind="count",
                    usual="1",
                ),
                Asked(
                    key="backdrop",
                    label="Backdrop",
                    why="What hangs behind the sitter, 2.7 m wide.",
                    kind="choice",
                    usual="",
                    options=(
                        ("", "none: the wall"),
                        ("0.8", "white"),
                        ("0.18", "mid grey"),
                        ("0.05", "black"),
                    ),
                ),
            ),
        ),
        Group(
            title="Camera",
            asked=(
                Asked(
                    key="lenses",
                    label="Lenses",
                    why="Focal lengths that can be set, with commas between: 50 mm, 85 mm.",
                    usual="50 mm, 85 mm",
                ),
                Asked(
                    key="sensor",
                    label="Sensor",
                    why="Size of the camera's sensor; smaller ones see a narrower part.",
                    kind="choice",
                    usual="full frame",
                    options=_same(*SENSORS),
                ),
                Asked(
                    key="iso",
                    label="Highest ISO",
                    why="How far the sensitivity may be raised if the heads are weak.",
                    usual="200",
                ),
            ),
        ),
        mains_group(),
    ),
)

WISH = Step(
    key="wish",
    title="Wish",
    lead="How the picture is to look. Leave at any what you do not mind.",
    groups=(
        Group(
            asked=(
                Asked(key="title", label="Title", why="For your list: the day, the place."),
                Asked(
                    key="framing",
                    label="Framing",
                    why="How much of the person is in the frame.",
                    kind="choice",
                    usual="head and shoulders",
                    options=_same(
                        *("tight head", "head and shoulders", "half length"),
                        *("three-quarter length", "full length"),
                    ),
                ),
                Asked(
                    key="mood",
                    label="Mood",
                    why="How much darker the shadow side of the face is than the lit side.",
                    kind="choice",
                    usual="any",
                    options=(
                        ("any", "any"),
                        ("even", "even: soft, hardly a shadow"),
                        ("classic", "classic: about 3 to 1"),
                        ("dramatic", "dramatic: 4 to 1 and more"),
                    ),
                ),
                Asked(
                    key="pattern",
                    label="Pattern",
                    why="The shape of the nose shadow, by which light on a face is named.",
                    kind="choice",
                    usual="any",
                    options=(
                        ("any", "any"),
                        ("butterfly", "butterfly: straight below the nose"),
                        ("clamshell", "clamshell: butterfly with a fill from below"),
                        ("loop", "loop: a small shadow to one side"),
                        ("Rembrandt", "Rembrandt: a lit triangle on the far cheek"),
                        ("split", "split: half the face in the dark"),
                    ),
                ),
                Asked(
                    key="background",
                    label="Background",
                    why="How it is meant to come out in the picture.",
                    kind="choice",
                    usual="any",
                    options=(
                        ("any", "any"),
                        ("white", "pure white"),
                        ("as seen", "as it looks"),
                        ("black", "black"),
                    ),
                ),
                Asked(
                    key="aperture",
                    label="Aperture",
                    why="f/8 keeps both eyes and the frame sharp; f/2.8 blurs all but the eyes.",
                    usual="f/8",
                ),
                Asked(
                    key="time",
                    label="Time to build",
                    why="For setting up and testing; leave empty for no limit.",
                    usual="",
                ),
            )
        ),
    ),
)

STEPS = (WHO, GLASSES, ROOM, GEAR, WISH)
ASKED = {one.key: one for step in STEPS for group in step.groups for one in group.asked}
