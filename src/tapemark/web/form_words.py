"""What is refused, in the words of the forms: "the key's height", not ``light[1] "key"``.

Files and forms name the same field differently: who typed into a form has never seen a key.
"""

import re

from tapemark.units.apart import apart
from tapemark.web.set_screen.set_fields import LABELS

_KINDS = "light|panel|screen|window|companion|circuit|walkway"
_PATH = r"([a-z_]+(?:\.[a-z_]+)*)"
_NAMED = re.compile(rf'\b(?:{_KINDS})\[\d+\] "([^"]+)" {_PATH}')
_NUMBERED = re.compile(rf"\b({_KINDS})\[\d+\] {_PATH}")
_THING = re.compile(rf"^(?:{_KINDS})\.(.+?) (height|name|aim|place)\b")
_ONLY = re.compile(rf"\b(camera|sitter|room|backdrop)\.{_PATH}")
_SAME = re.compile(rf'\b(?:{_KINDS})\[\d+\] name ("[^"]*"), also (?:{_KINDS})\[\d+\] name: ')
_LONGER = {  # where the label alone says too little
    "behind_sitter": "distance from the sitter to the wall behind",
    "camera_left": "distance from the sitter to the wall camera-left",
}
_UNSAID = ("place", "preset")  # parts of a path that no form shows


def in_form_words(text: str) -> str:
    """Return what was refused with each key of a file in the words of the forms.

    Examples
    --------
    >>> print(in_form_words('light[1] "key" place.height "tall": write it like "1.4 m"'))
    The key's height "tall": write it like "1.4 m"
    >>> print(in_form_words('camera.aperture "x": write it like "f/8"'))
    The camera's aperture "x": write it like "f/8"
    """
    said = _SAME.sub(lambda one: f"the name {apart(one[1])} is taken: ", text)
    said = _NAMED.sub(lambda one: _of(one[1], one[2]), said)
    said = _NUMBERED.sub(lambda one: _of(f"other {one[1]}", one[2]), said)
    said = _THING.sub(lambda one: _of(one[1], one[2]), said)
    said = _ONLY.sub(lambda one: _of(one[1], one[2]), said)
    return said[:1].upper() + said[1:] if said != text else text


def _of(owner: str, path: str) -> str:
    labels = LABELS | _LONGER
    parts = [
        labels.get(one, one.replace("_", " ")) for one in path.split(".") if one not in _UNSAID
    ]
    return f"the {apart(owner)}'s {' '.join(parts) or 'place'}"
