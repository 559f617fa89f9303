"""What the page Guide has computed: the figure of a topic."""

from collections.abc import Mapping

from tapemark.units import UnitSystem
from tapemark.web.tasks import Plain, Tell


def figure(*, tell: Tell, topic: str, values: Mapping[str, float], units: str) -> Plain:
    """Return ``figure``: a topic's figure for some values of its knobs."""
    from tapemark.services.guide.figures import draw_figure, figure_as_plain
    from tapemark.services.guide.topics import topic_of

    del tell
    found = topic_of(topic)
    assert found is not None
    system: UnitSystem = "us" if units == "us" else "metric"
    drawn = draw_figure(found, values, system=system)
    return {"figure": figure_as_plain(drawn, found, values, system=system)}
