"""The figure of a topic, drawn anew from the analysis for any values of its knobs."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tapemark.drawing.guide.panel import Panel, named_apart
from tapemark.drawing.set_screen.things import SetPerson, SetShown
from tapemark.drawing.set_screen.view import ViewPerson
from tapemark.services.guide.topics import Topic
from tapemark.services.live.seen import PersonSeen, look
from tapemark.services.plain import Plain
from tapemark.studio import Setup
from tapemark.units import UnitSystem

Values = Mapping[str, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """A figure of the guide.

    Attributes
    ----------
    panels : tuple of Panel
        Its drawings.
    words : tuple of str
        What was found, in sentences.
    verdict : str
        The worse of both lenses.
    """

    panels: tuple[Panel, ...]
    words: tuple[str, ...]
    verdict: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """A figure's setup as it was looked at.

    Attributes
    ----------
    setup : Setup
        The setup.
    seen : PersonSeen
        What a look at it finds.
    values : mapping of str to float
        Of the knobs.
    system : "metric" or "us"
        Of the words.
    """

    setup: Setup
    seen: PersonSeen
    values: Values
    system: UnitSystem

    @property
    def on_set(self) -> SetShown:
        """For drawings of the room."""
        return SetShown(people=(SetPerson(scene=self.seen.scene, lenses=self.seen.lenses),))

    @property
    def in_view(self) -> ViewPerson:
        """For drawings of what the camera sees."""
        one = self.seen
        return ViewPerson(
            scene=one.scene,
            light=one.light,
            key=one.key,
            view=one.view,
            lenses=one.lenses,
            outlines=one.outlines,
            catchlights=one.catchlights,
        )

    @property
    def state(self) -> str:
        """Where light goes: ``over`` an eye, ``beside`` it, or ``past`` the camera."""
        return {"veiled": "over", "edge": "beside"}.get(self.seen.verdict, "past")


def shown(setup: Setup, values: Values, *, system: UnitSystem) -> Shown:
    """Return a setup as a look at it finds it."""
    return Shown(setup=setup, seen=look(setup)[0], values=values, system=system)


def draw_figure(topic: Topic, values: Values, *, system: UnitSystem) -> Figure:
    """Return the figure of a topic.

    Parameters
    ----------
    topic : Topic
        Which.
    values : mapping of str to float
        Of all its knobs.
    system : "metric" or "us"
        Of the numbers in words.
    """
    from tapemark.services.guide.figures_of_faces import broad_figure, catch_figure
    from tapemark.services.guide.figures_of_lenses import angle_figure, curve_figure, place_figure
    from tapemark.services.guide.figures_of_rooms import bounce_figure

    drawn: dict[str, Callable[[Values, UnitSystem], Figure]] = {
        "angle": angle_figure,
        "curve": curve_figure,
        "place": place_figure,
        "broad": broad_figure,
        "bounce": bounce_figure,
        "catch": catch_figure,
    }
    return drawn[topic.key](values, system)


def lens_words(seen: PersonSeen) -> str:
    """Return in one sentence what the lenses show."""
    told = []
    for lens in seen.lenses:
        if lens.verdict == "veiled":
            told.append(f"the {lens.side} eye is veiled by {_percent(lens.veil)}")
        elif lens.verdict == "edge":
            told.append(f"the {lens.side} lens shows it beside the eye")
    if not told:
        return "Both lenses are clear."
    if len(told) < len(seen.lenses):
        clear = next(one.side for one in seen.lenses if one.verdict == "clear")
        told.append(f"the {clear} lens is clear")
    text = ", ".join(told)
    return f"{text[:1].upper()}{text[1:]}."


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"


def figure_as_plain(figure: Figure, topic: Topic, values: Values, *, system: UnitSystem) -> Plain:
    """Return a figure as plain data, with the values of its knobs in words."""
    return {
        "panels": [
            {
                "kind": one.kind,
                "title": one.title,
                "box": " ".join(f"{part:.1f}" for part in one.box),
                "svg": named_apart(one.svg, f"{topic.key}-{number}"),
                "grip": one.grip,
                "drags": [
                    {
                        "knob": drag.knob,
                        "way": drag.way,
                        "at": drag.at_zero,
                        "per": drag.per_unit,
                    }
                    for drag in one.drags
                ],
            }
            for number, one in enumerate(figure.panels)
        ],
        "words": list(figure.words),
        "verdict": figure.verdict,
        "values": {
            knob.key: {
                "value": values[knob.key],
                "words": knob.words(values[knob.key], system=system),
            }
            for knob in topic.knobs
        },
    }
