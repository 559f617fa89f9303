"""The set: floor plan, side elevation, the view through the camera, and all there is to change."""

import functools
import json

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import TapemarkError
from tapemark.studio import HEAD_PRESETS, MODIFIER_PRESETS
from tapemark.web.answering import page, trouble
from tapemark.web.desk import desk_of
from tapemark.web.set_screen.set_fields import field_tables
from tapemark.web.static_files import static_table

KEYS = (
    (
        ("\N{LEFTWARDS ARROW}", "\N{UPWARDS ARROW}", "\N{DOWNWARDS ARROW}", "\N{RIGHTWARDS ARROW}"),
        "move what is focused by 5 cm; in the side elevation up and down raise it",
    ),
    (("Shift",), "with them: 1 cm"),
    (("Alt",), "with them: 25 cm"),
    (("Page Up", "Page Down"), "raise or lower it"),
    (("[", "]"), "swing it around the sitter by 5°, or turn the head; with Shift 1°"),
    (("Enter",), "go to its numbers"),
    (("Delete",), "take the light away"),
    (("M",), "sightline map of the light in hand"),
    (("Esc",), "put back what is being moved or tried"),
    (("Ctrl Z", "Ctrl Shift Z"), "undo and redo, as far back as the setup goes"),
    (("?",), "this page"),
)
WORDS = (
    ("clear", "nothing that matters on this lens"),
    ("edge", "a reflection on the lens, but off the eye"),
    ("veiled", "a reflection over the eye"),
    ("catchlight", "the light that the eye itself reflects; without one it looks dead"),
    ("veil", "how much of the eye reflections cover, as the camera sees it"),
    (
        "sightline map",
        "where a light may stand (open) and where the glasses would show it (closed)",
    ),
    ("move", "one change to one thing, as small as will clear the lenses"),
    ("key", "the main light: it makes the form and the chief shadows"),
    ("fill", "the light that lifts the shadows that the key leaves"),
    ("ratio", "key and fill together against fill alone"),
    ("pattern", "the name of the nose shadow: butterfly, loop, Rembrandt, split"),
    ("stop", "twice the light, or half of it"),
    ("reading", "the aperture that a meter at the face shows for that light alone"),
    ("camera-left", "left as the camera sees it; the sitter's right hand"),
)


async def set_page(request: Request) -> Response:
    """Answer with the screen of one setup; the socket fills it."""
    key = request.path_params["id"]
    try:
        kept = await desk_of(request).library.do(lambda library: library.get(key))
    except TapemarkError as error:
        return trouble(request, str(error), what_to_do="Choose one under Own things.", status=404)
    if kept.kind != "setup":
        text = f'"{kept.name}" is not a setup.'
        return trouble(request, text, what_to_do="Choose one under Own things.", status=404)
    return page(
        request,
        "set.html",
        id=kept.id,
        name=kept.name,
        modules=_modules(),
        fields_address="/set/fields.json",
        heads=tuple(HEAD_PRESETS),
        modifiers=tuple(MODIFIER_PRESETS),
        key_list=KEYS,
        words=WORDS,
    )


def _modules() -> list[str]:
    """Return the scripts that `main.js` will ask for, to be fetched along with the page."""
    own = [one for one in static_table() if one.startswith("js/set/") and one != "js/set/main.js"]
    return [*sorted(own), "js/socket.js"]


async def fields(request: Request) -> Response:
    """Answer with every field of a setup: label, what it means, what is allowed."""
    return Response(
        _fields(), media_type="application/json", headers={"Cache-Control": "private, no-cache"}
    )


@functools.cache
def _fields() -> bytes:
    return json.dumps(field_tables(), ensure_ascii=False, separators=(",", ":")).encode()


NAV = (10, "/set", "Set")
ROUTES = [Route("/set/fields.json", fields), Route("/set/{id}", set_page)]
