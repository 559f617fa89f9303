"""What the picture panel has computed: what is kept, a picture taken, powers turned into edits."""

import importlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from tapemark.web.finishing import FINISHING
from tapemark.web.tasks import Plain, Tell

SETUP = "the set"


def ready(*, tell: Tell) -> Plain:
    """Load what taking a picture needs, so that the first look comes soon; return nothing."""
    del tell
    importlib.import_module("tapemark.services.picture")
    importlib.import_module("mitsuba").set_variant("scalar_rgb")
    return {}


def about(*, tell: Tell, setup: Plain, wanted: Plain, like: Plain | None = None) -> Plain:
    """Return ``about``: mark, lights and powers of a setup's picture, and what is kept of it."""
    from tapemark.services.light_pictures import lights_as_plain

    del tell
    return {"about": lights_as_plain(_setup(setup, like), _wanted(wanted))}


def take(
    *, tell: Tell, setup: Plain, wanted: Plain, finer: bool = False, like: Plain | None = None
) -> Plain:
    """Take a picture light by light, and return its ``mark``; empty if it was stopped.

    What is told on the way is JSON: ``text`` and ``share``, and the ``mark`` of what is seen.
    """
    from tapemark.services.light_pictures import Looking, take_by_light

    def told(text: str, share: float) -> None:
        tell(json.dumps({"text": text, "share": round(share, 3)}))

    taken = take_by_light(
        _setup(setup, like),
        _wanted(wanted),
        finer=finer,
        looking=Looking(
            tell=told,
            show=lambda look: tell(json.dumps({"mark": look.mark})),
            stopped=lambda: FINISHING.asked,
        ),
    )
    return {"mark": taken.mark if taken else "", "fine": bool(taken and taken.fine)}


def file(*, tell: Tell, mark: str, stops: Sequence[float], form: str, about: str) -> Plain:
    """Return ``file``: a kept picture at some powers as PNG or JPEG; empty if it is not kept."""
    from tapemark.services.light_pictures import mixed_file

    del tell
    return {"file": mixed_file(mark, stops, form=form, about=about) or b""}


def powers(*, tell: Tell, setup: Plain, stops: Mapping[str, float]) -> Plain:
    """Return ``body`` and ``words`` of a setup after turning lights up or down, as one edit."""
    from tapemark.services.light_pictures import power_edits
    from tapemark.web.tasks import take as take_edits

    return take_edits(tell=tell, setup=setup, edits=power_edits(_setup(setup, None), stops))


def _setup(body: Plain, like: Plain | None) -> Any:
    from tapemark.services.light_pictures import as_exposed
    from tapemark.studio import setup_from_mapping

    found = setup_from_mapping(body, name=SETUP)
    if like is None:
        return found
    return as_exposed(found, setup_from_mapping(like, name=SETUP).camera)


def _wanted(fields: Plain) -> Any:
    from tapemark.services.light_pictures import LightsWanted

    return LightsWanted(**fields)
