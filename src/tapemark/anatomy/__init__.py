"""Surfaces of the head, eyes, lenses and frame, built from studio data."""

from tapemark.anatomy.body import Body, bodies_of, body_of, body_pose
from tapemark.anatomy.eye import (
    OPENING_PLANE_M,
    SIDES,
    Eyes,
    Side,
    eyes,
    opening_margin,
    opening_outline,
)
from tapemark.anatomy.frame import (
    Rim,
    bare_edge,
    bridge_line,
    edge_outline,
    lens_margin,
    outline_margin,
    rim_clearance,
    rim_crosses,
    rim_of,
    temple_line,
)
from tapemark.anatomy.head import HeadSurface, Landmarks, head_surface
from tapemark.anatomy.lens import LensGuess, LensStack, lens_stack, predicted_base_curve_d
from tapemark.anatomy.pose import HeadPose, head_pose

__all__ = [
    "OPENING_PLANE_M",
    "SIDES",
    "Body",
    "Eyes",
    "HeadPose",
    "HeadSurface",
    "Landmarks",
    "LensGuess",
    "LensStack",
    "Rim",
    "Side",
    "bare_edge",
    "bodies_of",
    "body_of",
    "body_pose",
    "bridge_line",
    "edge_outline",
    "eyes",
    "head_pose",
    "head_surface",
    "lens_margin",
    "lens_stack",
    "opening_margin",
    "opening_outline",
    "outline_margin",
    "predicted_base_curve_d",
    "rim_clearance",
    "rim_crosses",
    "rim_of",
    "temple_line",
]
