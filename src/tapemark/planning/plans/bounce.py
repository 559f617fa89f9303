"""One light off the ceiling: the plainest set there is, where the ceiling serves."""

import itertools

import numpy as np

from tapemark.planning.plans.candidates import Layout, Rig, bounce_kits
from tapemark.studio import Brief

#: Stand to sitter and height of the head that are tried; common practice. [m]
FAR_M, HIGH_M = (1.8, 2.4, 1.3), (1.5, 1.1)
AIM_SHARES = (0.5, 0.75)  # of the way from the sitter to the stand at which the ceiling is met


def bounce_layouts(brief: Brief) -> list[Layout]:
    """Return layouts with one light bounced off the ceiling in front of the sitter."""
    if brief.pattern != "any" or brief.face != "any":
        return []
    found = []
    for kit in bounce_kits(brief)[:1]:
        rig = Rig(
            pattern="bounce",
            hand=1,
            turn_deg=brief.sitter.turn_deg,
            kits=(kit,),
            fill=False,
            panel=None,
            panel_use="none",
            backdrop=brief.backdrop is not None,
            gap_m=None if brief.backdrop is None else brief.backdrop.distance_m,
        )
        for far, share, high in itertools.product(FAR_M, AIM_SHARES, HIGH_M):
            if far < brief.room.y_max_m - 0.3 and high < kit.highest_m:
                found.append(_layout(rig, far_m=far, high_m=high, share=share, brief=brief))
    return found


def _layout(rig: Rig, *, far_m: float, high_m: float, share: float, brief: Brief) -> Layout:
    side = np.deg2rad(25.0)  # beside the camera, out of its way
    center = np.array([far_m * np.sin(side), far_m * np.cos(side), high_m])
    target = np.array([share * center[0], share * center[1], brief.room.height_m])
    gap = rig.gap_m
    if rig.gap_open:
        gap = min(1.5, brief.room.behind_sitter_m)
    return Layout(rig=rig, centers=center[None], targets=target[None], panel=None, gap_m=gap)
