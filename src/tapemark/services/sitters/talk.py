"""What to say to a sitter and what to ask, by what is known of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tapemark.studio import Sitter


@dataclass(frozen=True, kw_only=True, slots=True)
class Ask:
    """Something to say or to ask.

    Attributes
    ----------
    title : str
        What it is about.
    say : str
        What one may say, as spoken.
    why : str
        Why, and what to do with the answer.
    caution : bool
        Whether somebody could be hurt.
    """

    title: str
    say: str
    why: str
    caution: bool = False


def what_to_say(sitter: Sitter, *, glasses_wish: str = "") -> tuple[Ask, ...]:
    """Return what to say and ask, in the order of a sitting.

    Parameters
    ----------
    sitter : Sitter
        As known.
    glasses_wish : str
        What they said: ``on``, ``off``, ``both``; empty where nobody asked.
    """
    return (
        *_light(sitter),
        *_comfort(sitter),
        *(() if sitter.glasses is None else _glasses(glasses_wish)),
        *_eyes(sitter),
    )


def _light(sitter: Sitter) -> Iterator[Ask]:
    if sitter.photosensitive:
        yield Ask(
            title="Flashing light can harm them",
            say="You told us about flashing light. Shall we work with steady lamps only, and do "
            "you want to see them first?",
            why="They are noted as photosensitive: flashing light may bring on a seizure. No "
            "flash without their word, no bursts, no red-eye flashes; know whom to call.",
            caution=True,
        )
        return
    yield Ask(
        title="Light",
        say="There will be single flashes. Does flashing or bright light trouble you, or has it "
        "ever?",
        why="Ask before the first flash. Whoever says yes decides: steady lamps, or no picture. "
        "Then note it here.",
        caution=True,
    )
    if sitter.light_sensitive:
        yield Ask(
            title="Bright light is hard on them",
            say="Shut your eyes whenever you like; I count to three before each picture.",
            why="Keep the room lamps on so that pupils stay small, and work at low power.",
        )


def _comfort(sitter: Sitter) -> Iterator[Ask]:
    if sitter.posture == "seated":
        yield Ask(
            title="The seat",
            say="Do your feet reach the floor? Is it all right to sit like this for a few minutes?",
            why="Set the stool for them first, then measure the height of their eyes: every "
            "light hangs from that.",
        )
    else:
        yield Ask(
            title="Standing",
            say="Is it all right to stand for a few minutes, or would you rather sit?",
            why="Who sits has other eye heights: every light follows.",
        )


def _glasses(wish: str) -> Iterator[Ask]:
    asked = {
        "on": ("You wanted your glasses on: still so?", "They said on. Leave them on."),
        "off": (
            "You wanted your glasses off: still so?",
            "They said off. Wait a few minutes for the marks on the nose to fade.",
        ),
        "both": (
            "We do some with your glasses and some without: with them first?",
            "They said both. With first, for the marks on the nose.",
        ),
    }.get(
        wish,
        (
            "Do you want your glasses on, off, or some of both?",
            "Their choice, never ours: people look like themselves as others know them. Do not "
            "take them off without asking, and do not ask it because of a reflection.",
        ),
    )
    yield Ask(title="Glasses on or off", say=asked[0], why=asked[1])
    yield Ask(
        title="Where they belong",
        say="Would you push them up to where you usually wear them?",
        why="Low on the nose the upper rim crosses the eyes, and lens and lights no longer meet "
        "as planned. Never tilt them down to lose a reflection: move the light.",
    )
    yield Ask(
        title="A glance at the lens",
        say="May I have a look at your glasses? And shall we wipe them?",
        why="Eyes look smaller through a lens for short sight, larger for long sight; a thick "
        "edge means a strong lens; a green or violet sheen means a coating. Write down what you "
        "saw: it decides where the lights may stand.",
    )


def _eyes(sitter: Sitter) -> Iterator[Ask]:
    lead = "Look at my hand, and into the lens when I say so."
    if sitter.glasses is None:
        why = "Eyes that arrive late look awake. Watch for a light in both of them."
    else:
        why = (
            "Eyes that arrive late look awake. Chin where it is comfortable: not down to dodge a "
            "light."
        )
    yield Ask(title="Into the lens", say=lead, why=why)
