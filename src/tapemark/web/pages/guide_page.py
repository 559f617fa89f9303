"""The illustrated guide: six topics, each with a figure that is drawn anew while one moves it."""

import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.services.guide.knobs import read_knobs
from tapemark.services.guide.topics import TOPICS, Topic, topic_of
from tapemark.services.library.keeping import Library
from tapemark.units import UnitSystem
from tapemark.web.answering import page
from tapemark.web.desk import desk_of

NAV = (90, "/guide", "Guide")
TASK = "tapemark.web.guide.tasks:figure"
MOST_KEPT = 48  # figures, of some 15 kB


async def guide(request: Request) -> Response:
    """Answer with all topics; the one that was sent has the values that were sent."""
    query = dict(request.query_params)
    system = await _system(request)
    asked = query.get("topic", "")
    sections: list[dict[str, Any]] = []
    for number, topic in enumerate(TOPICS, start=1):
        given = query if topic.key == asked else {}
        values = read_knobs(topic.knobs, given, system=system)
        knobs = [(one, one.ticks(system), values[one.key]) for one in topic.knobs]
        sections.append({"number": number, "topic": topic, "knobs": knobs, "values": values})
    for section in sections:  # one after the other: whoever drags meanwhile comes in between
        text = await _figure(request, section["topic"], section["values"], system)
        section["figure"] = json.loads(text)
    return page(request, "guide.html", sections=sections, units=system, named="units" in query)


async def figure(request: Request) -> Response:
    """Answer with the figure of a topic for some values, as JSON."""
    topic = topic_of(request.path_params["topic"])
    if topic is None:
        raise HTTPException(404)
    system = await _system(request)
    values = read_knobs(topic.knobs, dict(request.query_params), system=system)
    text = await _figure(request, topic, values, system)
    return Response(text, media_type="application/json")


async def _figure(
    request: Request, topic: Topic, values: dict[str, float], system: UnitSystem
) -> bytes:
    """Return a figure as JSON; those drawn lately are kept."""
    state = request.app.state
    if not hasattr(state, "guide"):
        state.guide = {}
    kept: dict[Any, bytes] = state.guide
    key = (topic.key, tuple(sorted(values.items())), system)
    if key not in kept:
        parts = await desk_of(request).workers.live(
            TASK, topic=topic.key, values=values, units=system
        )
        kept[key] = parts["figure"]
        while len(kept) > MOST_KEPT:
            del kept[next(iter(kept))]
    return kept[key]


async def _system(request: Request) -> UnitSystem:
    """Return the units that were asked for, else those of the set that was worked on last."""
    asked = request.query_params.get("units", "")
    if asked in ("metric", "us"):
        return "us" if asked == "us" else "metric"

    def last(library: Library) -> UnitSystem:
        lines = library.kept("setup")
        newest = max(lines, key=lambda line: line.changed_at, default=None)
        if newest is None:
            return "metric"
        return "us" if library.get(newest.id).body.get("units") == "us" else "metric"

    return await desk_of(request).library.do(last)


ROUTES = [
    Route("/guide", guide),
    Route("/guide/{topic}/figure", figure),
]
