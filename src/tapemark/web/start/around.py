"""What else a brief may say, folded away: others in the picture, windows, mains circuits."""

import re
from collections.abc import Iterator
from typing import Any

from tapemark.studio import GLASSES_PRESETS
from tapemark.web.start.asked import Asked, Group, Options

Plain = dict[str, Any]

_ORDINALS = ("First", "Second")
_SIDES = (("camera-left", "camera-left"), ("camera-right", "camera-right"))
_WALLS = (
    ("", "no window"),
    ("camera-left", "the wall camera-left"),
    ("camera-right", "the wall camera-right"),
    ("behind sitter", "the wall behind the sitter"),
    ("behind camera", "the wall behind the camera"),
)
#: How bright what one sees through it is [cd/m^2]: guesses, to be metered on the day.
_SKIES = (("2000", "a grey sky"), ("8000", "a bright sky"), ("300", "little: curtain or dusk"))
_MAINS = (("230 V", "230 V"), ("120 V", "120 V"), ("100 V", "100 V"))

#: By kind of thing in a brief: the prefix of its fields, and which field a key was typed into.
_PREFIX = {"companion": "other", "window": "window", "circuit": "mains"}
_FIELDS = {
    "companion": {"name": "name", "across": "beside", "back": "behind", "glasses": "glasses"},
    "window": {"wall": "wall", "along": "along", "width": "width", "height": "height",
               "sill": "sill", "luminance": "sky", "name": "wall"},
    "circuit": {"name": "name", "voltage": "volts", "breaker": "breaker", "other_load": "load"},
}  # fmt: skip
_BEGUN_BY = {"companion": "name", "window": "wall", "circuit": "name"}
_KEY = re.compile(r"^(companion|window|circuit)\[(\d+)\]")


def others_group() -> Group:
    """Return the questions about others in the picture."""
    return Group(
        title="Others in the picture",
        why="Somebody beside or behind the sitter. Leave the name empty for nobody.",
        folded=True,
        asked=tuple(one for number in (1, 2) for one in _other(number)),
    )


def windows_group() -> Group:
    """Return the questions about windows."""
    return Group(
        title="Windows",
        why="A window lights, mixes its colour in and shows in glasses. Cover it, or say it here.",
        folded=True,
        asked=tuple(one for number in (1, 2) for one in _window(number)),
    )


def mains_group() -> Group:
    """Return the questions about mains circuits."""
    return Group(
        title="Mains circuits",
        why="All sockets behind one breaker share what it carries. Nameplates, the local code and "
        "an electrician decide.",
        folded=True,
        asked=tuple(one for number in (1, 2) for one in _mains(number)),
    )


def around_mapping(answers: dict[str, str]) -> Plain:
    """Return the parts of a brief that these answers make; what was not begun is left out."""
    made = {
        "companion": [_as_companion(answers, one) for one in _begun("companion", answers)],
        "window": [_as_window(answers, one) for one in _begun("window", answers)],
        "circuit": [_as_circuit(answers, one) for one in _begun("circuit", answers)],
    }
    return {kind: things for kind, things in made.items() if things}


def around_field(key: str, answers: dict[str, str]) -> str:
    """Return the field that a key of such a part was typed into; empty for another key."""
    found = _KEY.match(key)
    if found is None:
        return ""
    kind, number = found[1], int(found[2]) - 1
    begun = list(_begun(kind, answers))
    if number >= len(begun):
        return ""
    words = re.findall(r"[a-z_]+", key[found.end() :].rpartition('"')[2])
    part = next((_FIELDS[kind][one] for one in words if one in _FIELDS[kind]), _BEGUN_BY[kind])
    return f"{begun[number]}:{part}"


def _begun(kind: str, answers: dict[str, str]) -> Iterator[str]:
    """Give the prefixes of the things that were begun, in their order."""
    for number in range(1, len(_ORDINALS) + 1):
        prefix = f"{_PREFIX[kind]}{number}"
        if answers.get(f"{prefix}:{_BEGUN_BY[kind]}"):
            yield prefix


def _as_companion(answers: dict[str, str], prefix: str) -> Plain:
    beside = answers.get(f"{prefix}:beside") or "0 m"
    side = answers.get(f"{prefix}:side", "")
    made: Plain = {
        "name": answers[f"{prefix}:name"],
        "across": f"{beside} {side if side in dict(_SIDES) else _SIDES[0][0]}",
    }
    if answers.get(f"{prefix}:behind"):
        made["back"] = answers[f"{prefix}:behind"]
    glasses = answers.get(f"{prefix}:glasses", "")
    return made | ({"glasses": glasses} if glasses in GLASSES_PRESETS else {})


def _as_window(answers: dict[str, str], prefix: str) -> Plain:
    made: Plain = {"name": f"window {prefix[-1]}", "wall": answers[f"{prefix}:wall"]}
    for part in ("along", "width", "height", "sill"):
        if answers.get(f"{prefix}:{part}"):
            made[part] = answers[f"{prefix}:{part}"]
    sky = answers.get(f"{prefix}:sky", "")
    return made | ({"luminance": f"{sky} cd/m2"} if sky in dict(_SKIES) else {})


def _as_circuit(answers: dict[str, str], prefix: str) -> Plain:
    made: Plain = {"name": answers[f"{prefix}:name"]}
    for key, part in (("voltage", "volts"), ("breaker", "breaker"), ("other_load", "load")):
        if answers.get(f"{prefix}:{part}"):
            made[key] = answers[f"{prefix}:{part}"]
    return made


def _asked(prefix: str, part: str, label: str, why: str, **more: Any) -> Asked:
    return Asked(key=f"{prefix}:{part}", label=label, why=why, **more)


def _choice(
    prefix: str, part: str, label: str, why: str, *, options: Options, us: str = ""
) -> Asked:
    return _asked(
        prefix, part, label, why, kind="choice", usual=options[0][0], usual_us=us, options=options
    )


def _other(number: int) -> Iterator[Asked]:
    prefix, who = f"other{number}", f"{_ORDINALS[number - 1]} other"
    yield _asked(prefix, "name", f"{who}: name", "What you call them on set.")
    yield _choice(prefix, "side", f"{who}: which side", "As the camera sees it.", options=_SIDES)
    yield _asked(
        prefix, "beside", f"{who}: how far beside", "From the middle of the sitter to theirs.",
        usual="0.6 m", usual_us="2 ft",
    )  # fmt: skip
    yield _asked(prefix, "behind", f"{who}: how far behind", "Leave empty for level.")
    glasses = (("", "no glasses"), *((one, one) for one in GLASSES_PRESETS))
    yield _choice(
        prefix, "glasses", f"{who}: glasses", "Which are most like theirs.", options=glasses
    )


def _window(number: int) -> Iterator[Asked]:
    prefix, what = f"window{number}", f"{_ORDINALS[number - 1]} window"
    yield _choice(prefix, "wall", f"{what}: where", "In which wall.", options=_WALLS)
    yield _asked(
        prefix, "along", f"{what}: its middle",
        "From level with the sitter: 1 m towards camera in a side wall, 1 m camera-left in the "
        "others. Empty is level with the sitter.",
    )  # fmt: skip
    yield _asked(prefix, "width", f"{what}: width", "Of the glass.", usual="1.2 m", usual_us="4 ft")
    yield _asked(
        prefix, "height", f"{what}: height", "Of the glass.", usual="1.4 m", usual_us="4 ft 6 in"
    )
    yield _asked(
        prefix, "sill", f"{what}: sill", "From the floor to the lower edge of the glass.",
        usual="0.9 m", usual_us="3 ft",
    )  # fmt: skip
    yield _choice(
        prefix,
        "sky",
        f"{what}: what one sees in it",
        "A guess: meter it on the day.",
        options=_SKIES,
    )


def _mains(number: int) -> Iterator[Asked]:
    prefix, what = f"mains{number}", f"{_ORDINALS[number - 1]} circuit"
    yield _asked(prefix, "name", f"{what}: name", "Such as: sockets by the door. Empty for none.")
    yield _choice(
        prefix, "volts", f"{what}: voltage", "What the sockets give.", options=_MAINS, us="120 V"
    )
    yield _asked(
        prefix, "breaker", f"{what}: breaker", "What its breaker is marked with.", usual="16 A",
        usual_us="15 A",
    )  # fmt: skip
    yield _asked(
        prefix, "load", f"{what}: other load", "What else draws from it, such as 800 W of heating.",
        usual="",
    )  # fmt: skip
