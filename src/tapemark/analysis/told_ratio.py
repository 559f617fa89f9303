"""Which lighting ratio is told of a face: as set where there is a fill, else as light falls?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.exposure import ROOM_LAMPS
from tapemark.analysis.key_light import FaceRatio, KeyLight, direction_to
from tapemark.analysis.scene import Scene
from tapemark.studio import Light

AS_SET = "(key + fill) : fill"
AS_IT_FALLS = "cheek : cheek, as the light falls"
_AWAY = ("backdrop", "wall behind")  # a light aimed there is for the background


@dataclass(frozen=True, kw_only=True, slots=True)
class ToldRatio:
    """The lighting ratio that is told of a face.

    Attributes
    ----------
    highlight_to_shadow : float
        Highlight over shadow. [-]
    convention : str
        `AS_SET` or `AS_IT_FALLS`.
    fill : str
        What fills; empty where nothing does and the cheeks are told.
    """

    highlight_to_shadow: float
    convention: str
    fill: str

    @property
    def stops(self) -> float:
        """The same in stops; as set, the key against the fill."""
        key = self.highlight_to_shadow - (1.0 if self.fill else 0.0)
        return float(np.log2(key)) if key > 0.0 else float("-inf")

    @property
    def text(self) -> str:
        """As it is written: ``2.9:1``, ``over 64:1``."""
        most = 64.0  # six stops: more is black in any print
        return (
            "over 64:1" if self.highlight_to_shadow > most else f"{self.highlight_to_shadow:.1f}:1"
        )


def told_ratio(scene: Scene, key: KeyLight | None, *, cheeks: float | None) -> ToldRatio | None:
    """Return the lighting ratio of a face in the convention that fits it.

    Parameters
    ----------
    scene : Scene
        About the face.
    key : KeyLight or None
        What models it; None in the dark.
    cheeks : float or None
        Brighter cheek over darker as the light falls; None where the darker gets none. [-]

    Notes
    -----
    A ratio as set needs a fill: another light or panel in front of the face, or the room's lamps.
    What is aimed at the background, and what stands behind the face, fills nothing.
    """
    if key is None:
        return None
    ratio = key.ratio
    if ratio is not None and fills(scene, ratio):
        return ToldRatio(
            highlight_to_shadow=ratio.highlight_to_shadow, convention=AS_SET, fill=ratio.fill
        )
    if cheeks is None:
        return None
    return ToldRatio(highlight_to_shadow=cheeks, convention=AS_IT_FALLS, fill="")


def fills(scene: Scene, ratio: FaceRatio) -> bool:
    """Return whether what is strongest beside the key was put there to fill."""
    if ratio.fill == ROOM_LAMPS:
        return True
    emitter = next((one for one in scene.emitters if one.name == ratio.fill), None)
    own = next((one for one in scene.setup.lights if one.name == ratio.fill), None)
    if own is not None:
        return _in_front(own, scene)
    return emitter is not None and emitter.kind in ("panel", "window", "screen")


def _in_front(light: Light, scene: Scene) -> bool:
    if light.aim in _AWAY:
        return False
    emitter = next(one for one in scene.emitters if one.name == light.name)
    return bool(direction_to(scene, emitter)[1] > 0.0)
