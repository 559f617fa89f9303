"""How good would a layout be, by a first look that takes a millisecond?

Lit faces among the mirrored rays, light in closed form, and the limits of room, stands and
frame, each as a penalty that grows smoothly, so that a search finds its way.  What passes is
looked at again by `tapemark.planning.judge`, which alone decides.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import CameraView, Emitter, build_scenes, emitters, frame_view
from tapemark.analysis.exposure import meter_place
from tapemark.analysis.face_points import CHEEK, mirrored, named_places
from tapemark.analysis.light_faces import Face, modifier_face
from tapemark.geometry import FloatArray, axes_facing
from tapemark.planning.plans.camera import bare_setup
from tapemark.planning.plans.candidates import Layout
from tapemark.planning.plans.gear import Kit
from tapemark.planning.plans.light import Places, lit_up, panel_sheet
from tapemark.planning.plans.rays import MirroredRays, mirrored_rays, shares_met
from tapemark.planning.plans.setup import setup_of, turned
from tapemark.studio import Brief, Camera, changed

CEILING_M, WALL_M, FLOOR_M = 0.12, 0.25, 0.1  # kept free around a lit face
IN_THE_WAY = 15.0  # penalties of place beyond which the light is not looked at
NOMINAL_M = 0.3  # before the face: where a light is described, to be moved from
APART_M = 0.6  # between stands, and from the camera
FRAME_MARGIN = 0.03  # of the frame's width
HEAD_BEHIND_M = 0.3  # behind a lit face: the head, about
#: A key higher than this leaves the sockets dark, one farther aside the far eye; tried on the
#: parametric head. [deg]
EYES_UP_DEG, EYES_ASIDE_DEG = 42.0, 48.0
GOOD_GAP_M = 1.5  # sitter to backdrop, where it can be had (common practice)
#: What a search minds most, by name; common sense, tried on the example.
WEIGHTS = {
    "veil": 40.0,
    "cover": 8.0,
    "guessed": 4.0,
    "ceiling": 80.0,
    "stand": 80.0,
    "room": 80.0,
    "frame": 25.0,
    "crowding": 8.0,
    "power": 4.0,
    "ratio": 3.0,
    "background": 3.0,
    "eyes": 3.0,
    "taste": 1.0,
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Pose:
    """What does not depend on the lights, for one turn of the face.

    Attributes
    ----------
    rays : tuple of MirroredRays
        Of everybody with glasses.
    places : Places
        Where light is metered, and the frame.
    """

    rays: tuple[MirroredRays, ...]
    places: Places


@dataclass(frozen=True, kw_only=True, eq=False)
class FirstLook:
    """What a first look at a layout finds.

    Attributes
    ----------
    total : float
        Sum of all penalties, the lower the better. [-]
    parts : dict of str to float
        Each penalty by its name. [-]
    powers_stops : (lights,) array
        What the heads would be set to, before they are held to what they can do. [stops]
    iso : int
        ISO speed that suits.
    """

    total: float
    parts: dict[str, float]
    powers_stops: FloatArray
    iso: int


class Scorer:
    """First looks at the layouts of a brief."""

    def __init__(self, brief: Brief, *, camera: Camera) -> None:
        self.brief = brief
        self.camera = camera
        self.looks = 0
        self.spent = 0.0
        self._poses: dict[float, Pose] = {}
        self._sources: dict[tuple[object, ...], Emitter] = {}

    def pose(self, turn_deg: float) -> Pose:
        """Return what does not depend on the lights, for one turn of the face."""
        if turn_deg not in self._poses:
            bare = bare_setup(self.brief, self.camera)
            setup = changed(bare, {"sitter": turned(self.brief.sitter, turn_deg)})
            scenes = build_scenes(setup)
            main, rays = scenes[0], [mirrored_rays(scene) for scene in scenes]
            cheeks = named_places(main.head, CHEEK + mirrored(CHEEK)).in_world(main.pose)
            self._poses[turn_deg] = Pose(
                rays=tuple(one for one in rays if one is not None),
                places=Places(
                    face=meter_place(main),
                    camera=main.camera,
                    cheeks=cheeks,
                    view=frame_view(main),
                ),
            )
        return self._poses[turn_deg]

    def look(self, layout: Layout) -> FirstLook:
        """Return a first look at a layout."""
        self.looks += 1
        self.spent += 1.0 + 0.3 * len(self.brief.companions)
        pose = self.pose(layout.rig.turn_deg)
        sources = self._put_up(layout)
        parts = {
            **_limits(layout, sources, brief=self.brief),
            "frame": _in_frame(layout, sources, pose.places.view),
            "crowding": _crowding(layout, self.camera),
            "eyes": _eyes(layout),
            "taste": _taste(layout),
        }
        if _weighed(parts) > IN_THE_WAY:  # cannot stand there: the light need not be known
            return FirstLook(
                total=_weighed(parts) + IN_THE_WAY,
                parts=parts,
                powers_stops=np.zeros(len(sources)),
                iso=self.camera.iso,
            )
        lit = lit_up(layout, sources, places=pose.places, brief=self.brief, camera=self.camera)
        parts |= self._lenses(layout, sources, pose)
        parts |= {"power": lit.power, "ratio": lit.ratio, "background": lit.background}
        return FirstLook(
            total=_weighed(parts), parts=parts, powers_stops=lit.powers_stops, iso=lit.iso
        )

    def _put_up(self, layout: Layout) -> list[Emitter]:
        found = []
        for kit, center, target in zip(
            layout.rig.kits, layout.centers, layout.targets, strict=True
        ):
            axes = axes_facing(target - center)
            face = modifier_face(kit.modifier.modifier, center=center, axes=axes)
            found.append(replace(self._source(layout, kit), face=face))
        return found

    def _source(self, layout: Layout, kit: Kit) -> Emitter:
        """Return a light at full power, wherever it stands: only its face moves."""
        key = kit.parts[:2]
        if key not in self._sources:
            count = len(layout.rig.kits)
            before_face = layout.targets[0] + NOMINAL_M * np.arange(1, count + 1)[:, None]
            nominal = replace(
                layout,
                centers=before_face * (0.0, 1.0, 0.0) + layout.targets[0] * (0.0, 0.0, 1.0),
                targets=np.broadcast_to(layout.targets[0], (count, 3)),
                panel=None,
                gap_m=None,
            )
            powers = np.zeros(count)
            setup = setup_of(nominal, brief=self.brief, camera=self.camera, powers_stops=powers)
            for one, own in zip(layout.rig.kits, emitters(setup), strict=False):
                self._sources[one.parts[:2]] = own
        return self._sources[key]

    def _lenses(self, layout: Layout, sources: list[Emitter], pose: Pose) -> dict[str, float]:
        """Return how much of lenses and eyes the lit faces cover or come near to."""
        veil = cover = guessed = 0.0
        faces: list[tuple[Face, bool]] = [
            (source.face, source.back_brightness > 0.0) for source in sources
        ]
        sheet = panel_sheet(layout)
        faces += [] if sheet is None else [(sheet, False)]
        for rays in pose.rays:
            lens, eye = np.zeros(len(rays.stated)), np.zeros(len(rays.stated))
            for face, both_sides in faces:
                own = shares_met(rays, face, both_sides=both_sides)
                lens, eye = lens + own[0], eye + own[1]
            veil += float(eye[rays.stated].sum())
            cover += float(lens[rays.stated].sum())
            if not rays.stated.all():
                guessed += float(eye[~rays.stated].mean())
        return {"veil": veil, "cover": cover, "guessed": guessed}


def _weighed(parts: dict[str, float]) -> float:
    return float(sum(WEIGHTS[name] * value for name, value in parts.items()))


def _limits(layout: Layout, sources: list[Emitter], *, brief: Brief) -> dict[str, float]:
    """Return how far things stick out of ceiling, stands and room [m]."""
    room = brief.room
    ceiling = stand = outside = 0.0
    for kit, source in zip(layout.rig.kits, sources, strict=True):
        outline = source.face.outline()
        ceiling += max(float(outline[:, 2].max()) + CEILING_M - room.height_m, 0.0)
        stand += max(float(source.face.center[2]) + 0.05 - kit.highest_m, 0.0)
        outside += max(FLOOR_M - float(outline[:, 2].min()), 0.0)
        behind = source.face.center - HEAD_BEHIND_M * source.face.axes[:, 1]
        reach = np.concatenate([outline, behind[None]])
        outside += max(float(reach[:, 0].max()) + WALL_M - room.x_max_m, 0.0)
        outside += max(room.x_min_m + WALL_M - float(reach[:, 0].min()), 0.0)
        outside += max(float(reach[:, 1].max()) + WALL_M - room.y_max_m, 0.0)
        outside += max(room.y_min_m + 0.1 - float(reach[:, 1].min()), 0.0)
    if layout.panel is not None and layout.rig.panel is not None:
        half = layout.rig.panel.height_m / 2
        outside += max(half * 0.9 - float(layout.panel[2]), 0.0)
    return {"ceiling": ceiling, "stand": stand, "room": outside}


def _in_frame(layout: Layout, sources: list[Emitter], view: CameraView) -> float:
    """Return how deep things reach into the frame, as shares of its width [-]."""
    deep = 0.0
    for source in sources:
        face = source.face
        behind = face.center - HEAD_BEHIND_M * face.axes[:, 1]
        column = np.array([[behind[0], behind[1], share * behind[2]] for share in (0.0, 0.5, 1.0)])
        deep += _depth_in_frame(np.concatenate([face.outline(), column]), view)
    sheet = panel_sheet(layout)
    if sheet is not None:
        deep += _depth_in_frame(sheet.outline(), view)
    return deep


def _depth_in_frame(points: FloatArray, view: CameraView) -> float:
    """Return how far a convex thing would have to shift to leave the frame [-]."""
    ahead = view.depth(points) > 0.05
    if not ahead.any():
        return 0.0
    across, down = view.shares(points[ahead]).T
    tall = view.half_height / view.half_width
    ways = (
        1.0 - across.min(),
        across.max(),
        tall * (1.0 - down.min()),
        tall * down.max(),
    )
    return max(float(min(ways)) + FRAME_MARGIN, 0.0)


def _crowding(layout: Layout, camera: Camera) -> float:
    """Return how much stands, panel and camera get in each other's way [m]."""
    spots = [center[:2] for center in layout.centers]
    heights = [float(center[2]) for center in layout.centers]
    lens = np.array(camera.place.position_m)
    close = 0.0
    for index, (spot, height) in enumerate(zip(spots, heights, strict=True)):
        others = [*spots[index + 1 :]]
        close += sum(max(APART_M - float(np.hypot(*(spot - one))), 0.0) for one in others)
        if height < lens[2] + 0.5:
            close += max(APART_M - float(np.hypot(*(spot - lens[:2]))), 0.0)
        if height < float(layout.targets[0][2]) + 0.3:  # beside the sitter, not over
            close += max(APART_M - float(np.hypot(*spot)), 0.0)
    return close


def _eyes(layout: Layout) -> float:
    """Return how far the key leaves where brow and nose let it into both eyes [-]."""
    span = layout.centers[0] - layout.targets[0]
    up = float(np.rad2deg(np.arctan2(span[2], np.hypot(span[0], span[1]))))
    aside = abs(float(np.rad2deg(np.arctan2(span[0], span[1]))) - layout.rig.turn_deg)
    aside = 0.0 if layout.rig.pattern == "split" else aside
    return (max(up - EYES_UP_DEG, 0.0) + max(aside - EYES_ASIDE_DEG, 0.0)) / 10.0


def _taste(layout: Layout) -> float:
    """Return a liking for a key at about its size and for some air before a backdrop."""
    rig = layout.rig
    far = float(np.linalg.norm(layout.centers[0] - layout.targets[0]))
    size = max(rig.kits[0].size_m, 0.5)
    air = 0.0 if layout.gap_m is None or not rig.gap_open else max(GOOD_GAP_M - layout.gap_m, 0.0)
    return 0.2 * abs(float(np.log2(far / (1.2 * size + 0.3)))) + 0.3 * air
