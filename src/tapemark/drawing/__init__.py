"""Drawings of a setup, as SVG text and PNG: plan, elevation, the camera's view, light."""

from tapemark.drawing.camera_drawing import camera_view_drawing
from tapemark.drawing.elevation import elevation_drawing
from tapemark.drawing.face_light.face_light_drawing import face_light_drawing
from tapemark.drawing.falloff.falloff_drawing import falloff_drawing
from tapemark.drawing.glare_rays import LightRay, glare_rays
from tapemark.drawing.plan import plan_drawing
from tapemark.drawing.plan_labels import ReferencePoint, corner_references
from tapemark.drawing.png import svg_to_png
from tapemark.drawing.sightlines.map_drawing import map_drawing
from tapemark.drawing.sitter_picture import Shown, SitterPicture

__all__ = [
    "LightRay",
    "ReferencePoint",
    "Shown",
    "SitterPicture",
    "camera_view_drawing",
    "corner_references",
    "elevation_drawing",
    "face_light_drawing",
    "falloff_drawing",
    "glare_rays",
    "map_drawing",
    "plan_drawing",
    "svg_to_png",
]
