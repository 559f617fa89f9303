"""How the drawings of the screen look: classes, and a small stylesheet to look at them alone.

A fragment names what things are; colours, widths and sizes of type come from the page.  The page
sets ``--px``, how many units of the drawing one CSS pixel is (millimetres of the room in plan and
elevation), after each change of size, so that type and targets keep their size on the screen:
``font-size: calc(15px * var(--px))``, ``.hit { r: calc(22px * var(--px)) }``.  Lines keep theirs by
``vector-effect: non-scaling-stroke``.

Classes of plan and elevation
    ``ground`` with ``floor``, ``crosses`` (a pattern of ``cross``), ``wall``, ``ticks``, ``rule``
    (numbers of heights); ``eye-line``; ``sees`` and ``frame-edge``: what the camera's frame takes
    in; ``tape`` (``data-of`` names its light) with ``run`` and ``length``: shown for the thing in
    hand, or where the page gives it ``in-hand``; ``beam``: the way a light points; ``ray over`` and
    ``ray beside``: the way of a light over an eye, or over a lens, into the camera; ``reach``: how
    low and high a light may hang; ``faces``: the way a face points.

Things
    ``<g class="thing KIND" data-thing data-x data-y data-z tabindex role aria-label>`` with KIND
    one of ``light``, ``camera``, ``sitter``, ``companion``, ``panel``, ``screen``, ``window``,
    ``backdrop``, ``aim``, ``turn``.  A light is ``lit`` or ``off``, and ``veils`` or ``shows``
    while it lies over an eye, or on a lens; ``far`` where it stands beyond the sitter in the
    elevation.
    Inside: ``hit`` (transparent), ``stand``, ``weight``, ``rod``, ``body``, ``head`` (of a light:
    the lamp; of a person: the head), ``face`` (what shines), ``stool``, ``cloth``, ``skin``,
    ``nose``, ``glasses``, ``dot``.

Labels
    ``<g class="label KIND" data-of="light.key">`` over everything, with ``name``, ``reading``,
    ``height``; the class of a light tells its state as that of the light itself.  Whatever says
    ``data-of`` goes along when its thing is dragged.

Verdicts
    ``<g class="verdict clear|edge|veiled right|left|both">`` with ``ring``, and ``dot`` (clear),
    ``half`` (edge) or ``bar`` over the filled ring (veiled): told apart by
    shape, not by colour alone.

The camera's view
    ``ground``, ``backdrop``, ``cloth``, ``neck``, ``ear``, ``skin`` (the face), ``shade`` and
    ``shade deep`` (what the key does not light), ``hair``, ``line`` (brow, nose, mouth), ``white``,
    ``iris``, ``pupil``, ``lid`` of each eye, ``lens``, ``rim``, ``bridge``, ``arm``; ``reflection
    front|back over|beside`` (``data-source``), ``catchlight``; ``frame``: its edge.

The map
    ``map`` with ``beyond``, ``closed``, ``veiled``, ``lost`` (patterns of ``stroke`` and ``spot``),
    ``limit``, ``bar`` (the frame around heights) and ``best-place`` with ``way`` and ``best``.
"""

import re

from tapemark.drawing.style import FONT, INK, LIT, PAPER, WARM

_LIGHT = {
    "paper": PAPER,
    "ink": INK,
    "soft": "#4b586d",
    "hair": "#a9b2bf",
    "warm": WARM,
    "lit": LIT,
    "blank": "#ffffff",
    "cloth": "#cbd0d6",
    "skin": "#f2ebdf",
    "shade": "#a7a8ae",
    "iris": "#71839c",
    "back": "#e9e9e6",
}
_DARK = {
    "paper": "#12161d",
    "ink": "#e6e2d6",
    "soft": "#b3b6b9",
    "hair": "#4d5765",
    "warm": "#ff9a66",
    "lit": "#e8cf7a",
    "blank": "#1d232d",
    "cloth": "#3d4755",
    "skin": "#d9cfbf",
    "shade": "#7b7770",
    "iris": "#5f7390",
    "back": "#232b37",
}

#: For a page that has no other; a page's own stylesheet may replace it whole.
SET_CSS = """\
.set path,.set circle,.view path{fill:none;stroke:none;vector-effect:non-scaling-stroke}
.set text{font-family:var(--font);font-size:calc(14px*var(--px));fill:var(--ink);
paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}
.set .hit{fill:transparent;pointer-events:all;r:calc(22px*var(--px))}
.set .thing{cursor:grab;outline:none}
.set .floor{fill:var(--blank)}
.set .crosses{fill:url(#set-floor)}
.set .cross{stroke:var(--hair);stroke-width:1px}
.set .wall{stroke:var(--ink);stroke-width:3px}
.set .ticks{stroke:var(--soft);vector-effect:none}
.set .rule{fill:var(--soft);font-size:calc(11px*var(--px))}
.set .eye-line{stroke:var(--hair);stroke-width:1px;stroke-dasharray:2px 5px}
.set .sees{fill:var(--hair);fill-opacity:.16}
.set .frame-edge{stroke:var(--soft);stroke-width:1px;stroke-dasharray:7px 4px}
.set .run{stroke:var(--soft);stroke-width:1px;stroke-dasharray:1px 4px}
.set .length{fill:var(--soft);font-size:calc(12px*var(--px))}
.set .beam{stroke:var(--soft);stroke-width:1px;stroke-dasharray:9px 4px 2px 4px}
.set .ray{stroke:var(--soft);stroke-width:1.5px}
.set .over{stroke:var(--warm);stroke-width:2px}
.set .reach{stroke:var(--hair);stroke-width:2px}
.set .faces{stroke:var(--ink);stroke-width:1.5px}
.set .stand{stroke:var(--soft);stroke-width:1.5px}
.set .rod{stroke:var(--ink);stroke-width:1.5px}
.set .weight{fill:var(--ink)}
.set .body{fill:var(--cloth);stroke:var(--ink);stroke-width:1.2px}
.set .light .head,.set .camera .head{fill:var(--ink);stroke:var(--ink);stroke-width:1px}
.set .face{fill:var(--blank);stroke:var(--ink);stroke-width:2.4px}
.set .lit .face{fill:var(--lit)}
.set .veils .face{stroke:var(--warm);stroke-width:4px}
.set .window .face,
.set .screen .face{fill:var(--lit);fill-opacity:.5;stroke:var(--lit);stroke-width:3px}
.set .stool{fill:var(--paper);stroke:var(--soft);stroke-width:1.2px}
.set .cloth{fill:var(--cloth);stroke:var(--soft);stroke-width:1px}
.set .sitter .head,.set .companion .head,
.set .skin{stroke-width:1.5px;fill:var(--skin);stroke:var(--ink)}
.set .nose{stroke:var(--ink);stroke-width:2px}
.set .glasses{stroke:var(--ink);stroke-width:3px}
.set .dot{fill:var(--ink);stroke:var(--paper);stroke-width:1px}
.set .name{font-weight:600}
.set .reading,.set .height{font-size:calc(13px*var(--px));fill:var(--soft)}
.set .veils .name{fill:var(--warm)}
.set .ring{fill:var(--paper);stroke:var(--ink);stroke-width:2px}
.set .half{fill:var(--ink)}
.set .bar{stroke:var(--paper);stroke-width:2.5px}
.set .veiled .ring{stroke:var(--warm);fill:var(--warm)}
.view .ground{fill:var(--hair)}
.view .backdrop{fill:var(--back)}
.view .cloth{fill:var(--cloth);stroke:var(--ink);stroke-width:1px}
.view .neck,.view .ear{fill:var(--skin);stroke:var(--ink);stroke-width:1px}
.view .skin{fill:var(--skin);stroke:var(--ink);stroke-width:1.2px}
.view .shade{fill:var(--shade);fill-opacity:.45}
.view .deep{fill-opacity:.7}
.view .hair{fill:#4c5a74;stroke:var(--ink);stroke-width:1.2px}
.view .line{stroke:#4b586d;stroke-width:1.6px;stroke-linecap:round}
.view .brow{stroke:#4c5a74;stroke-width:4px}
.view .white{fill:#f6f4ef}
.view .iris{fill:var(--iris)}
.view .pupil{fill:#0e131b}
.view .lid{stroke:#16233b;stroke-width:2px}
.view .lens{stroke:none}
.view .rim{stroke:#16233b;stroke-width:3.5px}
.view .bridge{stroke:#16233b;stroke-width:3.5px}
.view .arm{stroke:#16233b;stroke-width:3px}
.view .reflection{fill:#fff;fill-opacity:.72;stroke:#16233b;stroke-width:1.5px}
.view .back{stroke-dasharray:4px 3px;fill-opacity:.5}
.view .over{stroke:#a8330b;stroke-width:2.2px}
.view .catchlight{fill:#fff;stroke:#16233b;stroke-width:.8px}
.view .frame{stroke:var(--ink);stroke-width:2px}
.set .beyond{fill:var(--hair);fill-opacity:.3}
.set .closed{fill:url(#set-closed)}
.set .map .veiled{fill:url(#set-veiled)}
.set .lost{fill:url(#set-lost)}
.set .stroke{stroke:var(--soft);stroke-width:1.2px}
.set .spot{fill:var(--soft)}
.set .limit{stroke:var(--ink);stroke-width:1.6px}
.set .map .bar{stroke:var(--soft);stroke-width:1px}
.set .best{stroke:var(--ink);stroke-width:2.5px}
.set .way{stroke:var(--ink);stroke-width:1.5px;stroke-dasharray:5px 4px}
"""


def set_page(
    fragment: str,
    box: tuple[float, float, float, float],
    *,
    kind: str = "set",
    units_per_box: float = 1000.0,
    width_px: int = 700,
    dark: bool = False,
) -> str:
    """Return a fragment as a whole SVG picture, to be looked at without a page around it.

    Parameters
    ----------
    fragment : str
        As a drawing returns it.
    box : tuple of four floats
        Left, top, width and height of what is shown.
    kind : str
        ``set`` for plan and elevation, ``view`` for the camera's view; ``set map`` with a map.
    units_per_box : float
        Units of the fragment for one of the box.
    width_px : int
        How wide it is meant to be seen. [px]
    dark : bool
        In the dark theme.
    """
    left, top, width, height = (one * units_per_box for one in box)
    px = width / width_px
    colors = _DARK if dark else _LIGHT
    style = _plain_css(colors | {"font": FONT}, px=px)
    numbers = " ".join(f"{one:.0f}" for one in (left, top, width, height))
    ground = (
        f'<rect x="{left:.0f}" y="{top:.0f}" width="{width:.0f}" height="{height:.0f}" '
        f'fill="{colors["paper"]}"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{numbers}" width="{width_px}" '
        f'height="{width_px * height / width:.0f}"><style>{style}</style>{ground}'
        f'<g class="{kind}">{fragment}</g></svg>\n'
    )


def _plain_css(values: dict[str, str], *, px: float) -> str:
    """Return the stylesheet without variables, for pictures by programs that know none."""
    css = re.sub(r"[^{}]*\\.hit\\{[^}]*\\}", "", SET_CSS)
    css = css.replace("vector-effect:non-scaling-stroke", "")
    css = re.sub(
        r"calc\(([\d.]+)px\*var\(--px\)\)", lambda found: f"{float(found[1]) * px:.1f}px", css
    )
    css = re.sub(r"var\(--(\w+)\)", lambda found: values[found[1]], css)
    return re.sub(
        r"(stroke-width|stroke-dasharray):([^;}]+)",
        lambda found: (
            f"{found[1]}:"
            + re.sub(r"([\d.]+)px", lambda size: f"{float(size[1]) * px:.1f}", found[2])
        ),
        css,
    )
