"""The topics of the guide: what each is about, and what can be changed in its figure."""

from dataclasses import dataclass

from tapemark.services.guide.knobs import Knob

SIZES = ("reflector dish 18 cm", "medium softbox 60x90 cm", "octagonal box 110 cm")


@dataclass(frozen=True, kw_only=True, slots=True)
class Topic:
    """One topic of the guide.

    Attributes
    ----------
    key, title : str
        Its name in addresses, and its heading.
    caption : str
        One or two sentences: what holds, in plain words.
    try_it : str
        What to do with the figure, and what to watch.
    knobs : tuple of Knob
        What can be changed.
    """

    key: str
    title: str
    caption: str
    try_it: str
    knobs: tuple[Knob, ...]


def _height(start: float, *, low: float = 0.9, high: float = 2.25) -> Knob:
    return Knob(
        key="height",
        label="Height of the light",
        kind="length",
        low=low,
        high=high,
        start=start,
        step=0.01,
    )


def _side(start: float, *, low: float = -70.0, high: float = 70.0) -> Knob:
    return Knob(
        key="side",
        label="Side of the light",
        kind="side",
        low=low,
        high=high,
        start=start,
        ends=("camera-right" if low < 0.0 else "straight", "camera-left"),
    )


TOPICS = (
    Topic(
        key="angle",
        title="Light leaves glass as steeply as it came",
        caption="A lens is a mirror as well as a window. Light that meets it at some angle "
        "leaves at the same angle on the other side, and only if the camera waits there does "
        "it see the light.",
        try_it="Raise the light, or drag it, until its way goes past the camera.",
        knobs=(_height(1.25),),
    ),
    Topic(
        key="curve",
        title="A curved lens closes a whole region",
        caption="Flat glass mirrors one narrow direction. A lens is domed, so every part of it "
        "faces a little elsewhere, and together they mirror a wide fan of the room: wherever a "
        "light stands in it, it shows. Such places we call closed, all others open.",
        try_it="Make the lens flatter and rounder. Opticians call the dome the base curve: most "
        "glasses have 4 to 6, wrapped sport frames 8.",
        knobs=(
            Knob(
                key="curve",
                label="Dome of the lens",
                kind="curve",
                low=0.5,
                high=8.0,
                start=5.0,
                step=0.5,
                ends=("flat", "round"),
            ),
        ),
    ),
    Topic(
        key="place",
        title="High or wide opens it",
        caption="Closed places lie around and behind the camera. A light leaves them over the "
        "top or past the side; dense hatching is where it would lie over an eye.",
        try_it="Drag the light out of the hatching: first straight up, then straight to a side.",
        knobs=(_side(20.0), _height(1.45)),
    ),
    Topic(
        key="broad",
        title="Broad and short light",
        caption="When the face turns, the light falls on the side that the camera sees more of "
        "(broad) or less of (short). Lenses turn with the face: away from the light they clear, "
        "towards it they close.",
        try_it="Turn the face. The ring shows where this light could stand at its height: shaded "
        "is closed.",
        knobs=(
            Knob(
                key="turn",
                label="The face turns",
                kind="side",
                low=-45.0,
                high=45.0,
                start=-25.0,
                ends=("to camera-right", "to camera-left"),
            ),
        ),
    ),
    Topic(
        key="bounce",
        title="What bounce does",
        caption="A flash turned to a white ceiling makes the ceiling the light: large, and far "
        "above what the lenses mirror. It is paid for with power, and the light comes from above.",
        try_it="Move the flash nearer and farther. Then turn it to the face: bare it is small and "
        "hard, through an umbrella it is large where the lenses look.",
        knobs=(
            Knob(
                key="aim",
                label="The flash points",
                kind="choice",
                high=2.0,
                options=("at the ceiling", "at the face, bare", "at the face, through an umbrella"),
            ),
            Knob(
                key="distance",
                label="Flash from the sitter",
                kind="length",
                low=1.0,
                high=3.0,
                start=2.4,
                step=0.01,
            ),
        ),
    ),
    Topic(
        key="catch",
        title="Catchlights: keep them",
        caption="The eye itself is a small, strongly domed mirror, and the light in it makes the "
        "eye look alive. It asks the opposite of the lens: too high or too wide a light clears "
        "the glasses and leaves the eye dark.",
        try_it="Find a place where both eyes keep their light and both lenses are clear.",
        knobs=(
            _height(1.85),
            _side(25.0, low=0.0, high=80.0),
            Knob(
                key="size",
                label="What is on the light",
                kind="choice",
                high=2.0,
                start=1.0,
                options=("small dish 18 cm", "softbox 60 × 90 cm", "octagonal box 110 cm"),
            ),
        ),
    ),
)


def topic_of(key: str) -> Topic | None:
    """Return a topic by its key, None where there is none."""
    return next((one for one in TOPICS if one.key == key), None)
