"""Draw docs/frames.svg: the world, head, lens and light frames, and which way each turn counts.

Run it as `make frames`, or `python scripts/draw_frames.py docs/frames.svg`. What is turned in
the drawing is turned by the package's own functions, so that the drawing cannot disagree with
them; only the view of each panel (which axis runs which way on the page) is set here.
"""

import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from tapemark.geometry import axes_facing, rotation_from_yaw_pitch_roll

Point = tuple[float, float]
View = Callable[[Sequence[float]], Point]

WIDTH, HEIGHT = 1200, 1170
INK, SOFT, PALE, GLASS = "#222222", "#6b6b6b", "#efefef", "#d6e6f2"
LIGHT = "#f5d489"
AXIS = {"x": "#b34700", "y": "#00569c", "z": "#006b4f"}  # told apart by their letters too
FONT = "'Source Sans Pro', 'Source Sans 3', Helvetica, Arial, sans-serif"


def drawing() -> str:
    """Return the whole drawing as SVG text."""
    parts = [
        *world_from_above((40, 92)),
        *world_from_the_side((620, 92)),
        *head_turns((40, 520)),
        *lens_from_the_side((40, 850)),
        *lenses_from_above((426, 850)),
        *light_face((812, 850)),
    ]
    title = "The frames of tapemark"
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'font-family="{FONT}" role="img" aria-labelledby="title">',
        f'<title id="title">{title}</title>',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        text((40, 50), title, size=28, weight=600),
        text(
            (40, 74),
            "Right-handed throughout. A ringed dot is an axis that points at you. Not to scale.",
            color=SOFT,
        ),
    ]
    return "\n".join([*head, *parts, "</svg>"]) + "\n"


# ------------------------------------------------------------------------------- the panels


def world_from_above(corner: Point) -> list[str]:
    """World frame as on a floor plan: the camera below, camera-left on the left."""
    view = looking_down((corner[0] + 330, corner[1] + 96), scale=62)
    light, camera = (2.9 * math.sin(0.75), 2.9 * math.cos(0.75), 0.0), (0.0, 3.95, 0.0)
    facing = axes_facing(np.negative(light))
    return [
        *panel(corner, size=(540, 400), title="World, seen from above"),
        path([view((0, 0, 0)), view(camera)], dash=True),
        path([view((0, 0, 0)), view(light)], dash=True),
        *head_from_above(view, axes=np.eye(3)),
        *softbox(view, at=light, axes=facing, half_width=0.62),
        *camera_from_above(view, at=camera),
        *turn(view, begin=(0, 1, 0), end=np.array(light) / 2.9, radius=1.95, color=INK),
        text(view((0.85, 2.3, 0)), "side > 0", anchor="middle"),
        text(view((1.42, 1.12, 0)), "distance", anchor="end"),
        *axes_from(view, letters="xy", length=1.45),
        *toward_reader(view((0, 0, 0)), letter="z", place=(-5, -14)),
        text(view((0.55, -0.36, 0)), "sitter's right", color=SOFT, anchor="end", size=14),
        text(view((-0.55, -0.36, 0)), "sitter's left", color=SOFT, size=14),
        text(view((2.35, 3.05, 0)), "light", anchor="middle"),
        text(view((-0.42, 4.0, 0)), "camera"),
        text((corner[0] + 20, corner[1] + 378), "camera-left (+x)", color=AXIS["x"]),
        text(
            (corner[0] + 520, corner[1] + 378), "camera-right (−x)", color=AXIS["x"], anchor="end"
        ),
    ]


def world_from_the_side(corner: Point) -> list[str]:
    """World frame as on a side elevation: the sitter on the left, the camera on the right."""
    view = looking_from_camera_left((corner[0] + 120, corner[1] + 345), scale=62)
    eye, camera, light = (0.0, 0.0, 2.55), (0.0, 5.2, 2.55), (0.0, 3.7, 4.1)
    return [
        *panel(corner, size=(540, 400), title="World, seen from camera-left"),
        path([view((0, -1.6, 0)), view((0, 6.4, 0))], width=2),
        path([view((0, 0, 0)), view(eye)], dash=True),
        path([view(eye), view(camera)], dash=True),
        *head_from_the_side(view, axes=np.eye(3), at=eye),
        *softbox(view, at=light, axes=axes_facing(np.subtract(eye, light)), half_height=0.62),
        path([view(light), view((0, 3.7, 0))], color=SOFT),
        path([view(camera), view((0, 5.2, 0))], color=SOFT),
        *camera_from_the_side(view, at=camera),
        *axes_from(view, letters="yz", length=1.45),
        *toward_reader(view((0, 0, 0)), letter="x", place=(-24, -8)),
        text(view((0, -0.2, 0.9)), "eye height", anchor="end"),
        text(view((0, -0.5, -0.42)), "origin: on the floor, under the midpoint of the eyes"),
        text(view((0, 3.58, 1.65)), "height", anchor="end"),
        text(view((0, 4.15, 4.45)), "light"),
        text(view((0, 5.2, 3.05)), "camera", anchor="middle"),
    ]


def head_turns(corner: Point) -> list[str]:
    """Head frame and the three turns, each drawn with its positive sense."""
    left, top = corner
    middle = [(left + x, top + 172) for x in (160, 535, 900)]
    above = looking_down((middle[0][0], middle[0][1] - 22), scale=96)
    side = looking_from_camera_left(middle[1], scale=96)
    front = looking_from_the_camera(middle[2], scale=96)
    yaw, pitch, roll = (
        rotation_from_yaw_pitch_roll(*angle[:1], pitch=angle[1], roll=angle[2])
        for angle in ((0.6, 0, 0), (0, 0.42, 0), (0, 0, 0.42))
    )
    return [
        *panel(
            corner,
            size=(1120, 308),
            title="Head: x to the sitter's right, y out of the face, z up; "
            "origin midway between the two corneas",
        ),
        *head_from_above(above, axes=yaw),
        *axes_from(above, letters="xy", length=1.05, axes=yaw),
        path([above((0, 0, 0)), above((0, 1.2, 0))], dash=True),
        *turn(above, begin=(0, 1, 0), end=yaw[:, 1], radius=0.84, color=INK),
        *words(
            (left + 252, top + 150), ["yaw > 0:", "face to", "camera-left", "(seen from above)"]
        ),
        *head_from_the_side(side, axes=pitch, at=(0, 0, 0)),
        *axes_from(side, letters="yz", length=1.05, axes=pitch),
        path([side((0, 0, 0)), side((0, 1.2, 0))], dash=True),
        *turn(side, begin=(0, 1, 0), end=pitch[:, 1], radius=0.84, color=INK),
        *words((left + 670, top + 150), ["pitch > 0:", "chin up", "(seen from", "camera-left)"]),
        *head_from_the_front(front, axes=roll),
        *axes_from(front, letters="xz", length=1.05, axes=roll),
        path([front((0, 0, 0)), front((0, 0, 1.2))], dash=True),
        *turn(front, begin=(0, 0, 1), end=roll[:, 2], radius=0.84, color=INK),
        *words(
            (left + 972, top + 150),
            ["roll > 0:", "top to camera-left", "(seen from", "the camera)"],
        ),
    ]


def lens_from_the_side(corner: Point) -> list[str]:
    """Lens frame and pantoscopic tilt, in the sitter's midline."""
    view = looking_from_camera_left((corner[0] + 205, corner[1] + 150), scale=95)
    tilt = rotation_from_yaw_pitch_roll(0.0, pitch=-0.22, roll=0.0)
    centre = np.array([0.0, -1.35, 0.0]) @ tilt.T
    return [
        *panel(corner, size=(348, 288), title="Lens, seen from camera-left"),
        path([view((0, -1.5, 0)), view((0, 1.4, 0))], dash=True),
        disc(view((0, -1.02, 0)), radius=38),
        text(view((0, -1.02, -0.06)), "eye", anchor="middle", color=SOFT, size=14, halo=True),
        *lens(view, axes=tilt),
        path([view(centre), view((0, 0, 0))], color=SOFT),
        disc(view(centre), radius=2.5, fill=INK),
        text(view((0, -1.98, 0.8)), "centre of curvature", size=14),
        text(view((0, -1.98, 0.62)), "at y = −1/c, here c > 0", size=14),
        *axes_from(view, letters="yz", length=1.05, axes=tilt),
        *toward_reader(view((0, 0, 0)), letter="x", place=(12, 26)),
        *turn(view, begin=(0, 1, 0), end=tilt[:, 1], radius=0.8, color=INK),
        *words((corner[0] + 16, corner[1] + 252), ["pantoscopic tilt > 0: front turned down"]),
        text(view((0, 1.4, 0.08)), "head's y", color=SOFT, anchor="end", size=14),
    ]


def lenses_from_above(corner: Point) -> list[str]:
    """Both lens frames from above, with face form."""
    view = looking_down((corner[0] + 174, corner[1] + 104), scale=105)
    parts = panel(corner, size=(348, 288), title="Lenses, seen from above")
    for side, name in ((1.0, "right lens"), (-1.0, "left lens")):
        at = (0.66 * side, 0.0, 0.0)
        moved = shifted(view, by=at)
        form = rotation_from_yaw_pitch_roll(0.2 * side, pitch=0.0, roll=0.0)
        parts += [
            path([moved((0, -0.35, 0)), moved((0, 1.2, 0))], dash=True),
            *lens(moved, axes=form, flat=True),
            *axes_from(moved, letters="y", length=0.95, axes=form),
            *axes_from(moved, letters="x", length=0.42, axes=form),
            *turn(moved, begin=(0, 1, 0), end=form[:, 1], radius=0.75, color=INK),
            text(moved((0, -0.5, 0)), name, anchor="middle"),
        ]
    return [
        *parts,
        *words((corner[0] + 16, corner[1] + 252), ["face form > 0: front turned to the temple"]),
    ]


def light_face(corner: Point) -> list[str]:
    """Frame of a face that sends light, seen from in front of it and above."""
    axes = axes_facing((0.42, 0.84, -0.34))
    view = looking_from_the_camera((corner[0] + 175, corner[1] + 145), scale=95)
    corners = [(-0.62, 0, -0.8), (0.62, 0, -0.8), (0.62, 0, 0.8), (-0.62, 0, 0.8)]
    outline = [view(np.array(point) @ axes.T) for point in corners]
    return [
        *panel(corner, size=(348, 288), title="Face of a light, seen from its front"),
        path(outline, fill=LIGHT, closed=True),
        *axes_from(view, letters="xyz", length=0.95, axes=axes),
        *words((corner[0] + 16, corner[1] + 252), ["y: the way it shines; z as upright as can be"]),
    ]


# --------------------------------------------------------------------------------- the views


def looking_down(origin: Point, *, scale: float) -> View:
    """View from above: x to the left of the page, y down the page, z at the reader."""
    return lambda point: (origin[0] - scale * point[0], origin[1] + scale * point[1])


def looking_from_camera_left(origin: Point, *, scale: float) -> View:
    """View against +x: y to the right of the page, z up the page, x at the reader."""
    return lambda point: (origin[0] + scale * point[1], origin[1] - scale * point[2])


def looking_from_the_camera(origin: Point, *, scale: float) -> View:
    """View against +y: x to the left of the page, z up the page, y at the reader."""
    return lambda point: (origin[0] - scale * point[0], origin[1] - scale * point[2])


def shifted(view: View, *, by: Sequence[float]) -> View:
    """Return the same view of a frame whose origin lies elsewhere."""
    return lambda point: view(np.add(point, by).tolist())


# -------------------------------------------------------------------------------- the things


def head_from_above(view: View, *, axes: np.ndarray) -> list[str]:
    """Skull, ears, nose and eyes from above, in head units of about 20 cm."""

    def turned(points: Sequence[Sequence[float]]) -> list[Point]:
        return [view(np.array(point) @ axes.T) for point in points]

    around = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    skull = [(0.4 * np.sin(a), -0.44 + 0.5 * np.cos(a), 0.0) for a in around]
    nose = [(0.09, 0.03, 0.0), (0.0, 0.22, 0.0), (-0.09, 0.03, 0.0)]
    eyes = turned([(0.17, -0.02, 0.0), (-0.17, -0.02, 0.0)])
    return [
        path(turned(nose), fill=PALE, closed=True),
        path(turned(skull), fill=PALE, closed=True),
        *(disc(eye, radius=3.2, fill=INK) for eye in eyes),
    ]


PROFILE = [
    (0.03, 0.13), (-0.01, 0.02), (0.1, -0.12), (0.19, -0.2), (0.07, -0.26), (0.09, -0.35),
    (0.06, -0.4), (0.07, -0.5), (-0.03, -0.58), (-0.24, -0.5), (-0.34, -0.6), (-0.4, -0.8),
    (-0.78, -0.8), (-0.76, -0.5), (-0.9, -0.2), (-0.95, 0.12), (-0.84, 0.4), (-0.58, 0.56),
    (-0.3, 0.54), (-0.08, 0.38),
]  # fmt: skip


def smooth(corners: Sequence[Point]) -> list[Point]:
    """Return the closed curve through the corners (a Catmull-Rom spline)."""
    points = np.array(corners)
    before, after, beyond = (np.roll(points, shift, axis=0) for shift in (1, -1, -2))
    curve = []
    for share in np.linspace(0.0, 1.0, 9)[:-1]:
        bend = 2 * before - 5 * points + 4 * after - beyond
        twist = 3 * points - before - 3 * after + beyond
        curve.append(points + share / 2 * (after - before + share * (bend + share * twist)))
    return [(float(y), float(z)) for y, z in np.stack(curve, axis=1).reshape(-1, 2)]


def head_from_the_side(view: View, *, axes: np.ndarray, at: Sequence[float]) -> list[str]:
    """Profile that looks along +y, the eye at the frame's origin."""

    def turned(point: Point) -> Point:
        return view((np.array([0.0, *point]) @ axes.T + np.array(at)).tolist())

    return [
        path([turned(point) for point in smooth(PROFILE)], fill=PALE, closed=True),
        disc(turned((-0.06, 0.0)), radius=3.2, fill=INK),
    ]


def head_from_the_front(view: View, *, axes: np.ndarray) -> list[str]:
    """Face as the camera sees it."""

    def turned(points: Sequence[Sequence[float]]) -> list[Point]:
        return [view(np.array(point) @ axes.T) for point in points]

    around = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    skull = [(0.4 * np.sin(a), 0.0, 0.57 * np.cos(a)) for a in around]
    nose = [(0.02, 0.0, -0.04), (0.08, 0.0, -0.22), (-0.06, 0.0, -0.22)]
    mouth = [(0.13, 0.0, -0.35), (0.0, 0.0, -0.37), (-0.13, 0.0, -0.35)]
    eyes = turned([(0.17, 0.0, 0.0), (-0.17, 0.0, 0.0)])
    return [
        path(turned(skull), fill=PALE, closed=True),
        path(turned(nose)),
        path(turned(mouth)),
        *(disc(eye, radius=3.2, fill=INK) for eye in eyes),
    ]


def lens(view: View, *, axes: np.ndarray, flat: bool = False) -> list[str]:
    """Section of a lens domed to +y, across z, or across x if it lies flat on the plan."""
    half = 0.42 if flat else 0.62
    across = np.linspace(-half, half, 25)
    front = [(a, -sag(a, 1.35)) for a in across]
    back = [(a, -0.11 - sag(a, 1.05)) for a in across[::-1]]
    points = [(a, y, 0.0) if flat else (0.0, y, a) for a, y in (*front, *back)]
    return [path([view(np.array(p) @ axes.T) for p in points], fill=GLASS, closed=True)]


def sag(across: float, radius: float) -> float:
    """Depth of a circle below its vertex."""
    return radius - math.sqrt(radius * radius - across * across)


def softbox(
    view: View,
    *,
    at: Sequence[float],
    axes: np.ndarray,
    half_width: float = 0.0,
    half_height: float = 0.0,
) -> list[str]:
    """Section of a softbox whose face shines along the y axis of its frame."""
    corners = [(1.0, 0.0), (0.35, -0.5), (-0.35, -0.5), (-1.0, 0.0)]
    points = [
        view((np.array([half_width * a, back, half_height * a]) @ axes.T + np.array(at)).tolist())
        for a, back in corners
    ]
    return [path(points, fill=LIGHT, closed=True), path([points[0], points[-1]], width=3)]


def camera_from_above(view: View, *, at: Sequence[float]) -> list[str]:
    """Camera that looks along -y, from above."""
    return camera_body([shifted(view, by=at)((a, y, 0.0)) for a, y in CAMERA])


def camera_from_the_side(view: View, *, at: Sequence[float]) -> list[str]:
    """Camera that looks along -y, from the side."""
    return camera_body([shifted(view, by=at)((0.0, y, a)) for a, y in CAMERA])


CAMERA = [
    (-0.3, 0.3), (0.3, 0.3), (0.3, 0.0), (0.13, 0.0), (0.13, -0.28), (-0.13, -0.28),
    (-0.13, 0.0), (-0.3, 0.0),
]  # fmt: skip


def camera_body(points: list[Point]) -> list[str]:
    """Outline of a camera."""
    return [path(points, fill="#c9c9c9", closed=True)]


# --------------------------------------------------------------------------------- the marks


def panel(corner: Point, *, size: Point, title: str) -> list[str]:
    """Frame and heading of one panel."""
    return [
        f'<rect x="{corner[0]}" y="{corner[1]}" width="{size[0]}" height="{size[1]}" '
        'fill="none" stroke="#c4c4c4" rx="4"/>',
        text((corner[0] + 16, corner[1] + 28), title, size=18, weight=600),
    ]


def axes_from(
    view: View, *, letters: str, length: float, axes: np.ndarray | None = None
) -> list[str]:
    """Named axes of a frame from the origin of the view."""
    matrix = np.eye(3) if axes is None else axes
    parts = []
    for letter in letters:
        end = view((matrix[:, "xyz".index(letter)] * length).tolist())
        parts += arrow(view((0.0, 0.0, 0.0)), end, color=AXIS[letter], name=letter)
    return parts


def turn(
    view: View, *, begin: Sequence[float], end: Sequence[float], radius: float, color: str
) -> list[str]:
    """Curved arrow from one direction to another."""
    steps = [
        np.array(begin) * (1.0 - share) + np.array(end) * share for share in np.linspace(0, 1, 13)
    ]
    points = [view((step / np.linalg.norm(step) * radius).tolist()) for step in steps]
    return [path(points, color=color, width=2), arrowhead(points[-3], points[-1], color=color)]


def toward_reader(at: Point, *, letter: str, place: Point) -> list[str]:
    """Ringed dot for an axis that points at the reader."""
    color = AXIS[letter]
    return [
        disc(at, radius=7, fill="#ffffff", color=color, width=2),
        disc(at, radius=2.5, fill=color, color=color),
        text((at[0] + place[0], at[1] + place[1]), letter, color=color, size=18, weight=600),
    ]


def arrow(begin: Point, end: Point, *, color: str, name: str) -> list[str]:
    """Straight arrow with its name beyond the tip."""
    length = math.dist(begin, end)
    along = ((end[0] - begin[0]) / length, (end[1] - begin[1]) / length)
    shaft = (end[0] - 8 * along[0], end[1] - 8 * along[1])
    beyond = (end[0] + 12 * along[0], end[1] + 12 * along[1] + 6)
    return [
        path([begin, shaft], color=color, width=2.6),
        arrowhead(begin, end, color=color),
        text(beyond, name, color=color, size=18, weight=600, anchor="middle", halo=True),
    ]


def arrowhead(begin: Point, end: Point, *, color: str) -> str:
    """Return the filled tip of an arrow."""
    angle = math.atan2(end[1] - begin[1], end[0] - begin[0])
    wings = [
        (end[0] - 13 * math.cos(angle + side), end[1] - 13 * math.sin(angle + side))
        for side in (0.35, -0.35)
    ]
    return path([end, *wings], fill=color, color=color, closed=True, width=0.5)


def path(
    points: Sequence[Point],
    *,
    color: str = INK,
    fill: str = "none",
    width: float = 1.4,
    dash: bool = False,
    closed: bool = False,
) -> str:
    """Polyline or polygon."""
    steps = " L ".join(f"{x:.1f} {y:.1f}" for x, y in points)
    dashes = ' stroke-dasharray="5 5"' if dash else ""
    shade = SOFT if dash else color
    return (
        f'<path d="M {steps}{" Z" if closed else ""}" fill="{fill}" stroke="{shade}" '
        f'stroke-width="{width}" stroke-linejoin="round"{dashes}/>'
    )


def disc(
    at: Point, *, radius: float, fill: str = "#ffffff", color: str = INK, width: float = 1.4
) -> str:
    """Circle."""
    return (
        f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius}" fill="{fill}" '
        f'stroke="{color}" stroke-width="{width}"/>'
    )


def text(
    at: Point,
    content: str,
    *,
    color: str = INK,
    size: int = 16,
    weight: int = 400,
    anchor: str = "start",
    halo: bool = False,
) -> str:
    """One line of text, kept clear of the lines behind it if it has a halo."""
    escaped = content.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    around = ' stroke="#ffffff" stroke-width="5" paint-order="stroke"' if halo else ""
    return (
        f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" fill="{color}" font-size="{size}" '
        f'font-weight="{weight}" text-anchor="{anchor}"{around}>{escaped}</text>'
    )


def words(at: Point, lines: Sequence[str]) -> list[str]:
    """Lines of text, one below the other."""
    return [text((at[0], at[1] + 21 * row), line) for row, line in enumerate(lines)]


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(drawing(), encoding="utf-8")
