"""A kept reading as the results that it was made from, so that more can be asked of it later."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tapemark.photo import (
    EyeSeen,
    LensReading,
    LensShape,
    ReflectionSeen,
    ShotFacts,
    ShotReading,
    WearerReading,
)
from tapemark.services.plain import Plain

__all__ = ["facts_from_plain", "reading_from_plain"]


def reading_from_plain(plain: Plain, *, shapes: Mapping[str, Any] | None = None) -> ShotReading:
    """Return a reading from what `tapemark.photo.reading_as_plain` made of it.

    Parameters
    ----------
    plain : dict
        The kept reading.
    shapes : mapping, optional
        Shapes of the lenses by the number of their wearer, which a plain reading does not have.
    """
    shapes = shapes or {}
    return ShotReading(
        name=plain["file"],
        kind=plain["kind"],
        size=(int(plain["size"][0]), int(plain["size"][1])),
        profile=plain["profile"] or "",
        facts=facts_from_plain(plain["taken"]),
        wearers=tuple(_wearer(one, shapes.get(str(one["number"]))) for one in plain["wearers"]),
    )


def facts_from_plain(plain: Mapping[str, Any]) -> ShotFacts:
    """Return how a picture was taken."""
    return ShotFacts(
        camera=plain.get("camera") or "",
        lens=plain.get("lens") or "",
        taken=plain.get("taken") or "",
        exposure_s=plain.get("exposure_s"),
        aperture=plain.get("aperture"),
        iso=plain.get("iso"),
        focal_length_mm=plain.get("focal_length_mm"),
        subject_distance_m=plain.get("subject_distance_m"),
    )


def _wearer(plain: Plain, shape: Mapping[str, float] | None) -> WearerReading:
    left, top, width, height = plain["face"]
    return WearerReading(
        number=plain["number"],
        face=(left, top, width, height),
        confidence=plain["confidence"],
        glasses=plain["glasses"],
        right=_eye("right", plain["eyes"]["right"]),
        left=_eye("left", plain["eyes"]["left"]),
        near_side=plain["near_eye"] or "",
        is_sharp=plain["sharp"],
        skin_clipped_share=plain["skin"]["clipped_share"],
        skin_luminance=plain["skin"]["luminance"],
        questions=tuple(plain["questions"]),
        shape=None if shape is None else LensShape(**shape),
    )


def _eye(side: Any, plain: Plain) -> EyeSeen:
    return EyeSeen(
        side=side,
        pupil=_point(plain["pupil"]),
        likeness=plain["likeness"],
        is_open=plain["open"],
        edge_mm=plain["edge_mm"],
        lens=None if plain["lens"] is None else _lens(plain["lens"]),
    )


def _lens(plain: Plain) -> LensReading:
    return LensReading(
        outline=_points(plain["outline"]),
        lens_cover=plain["lens_cover"],
        veil=plain["veil"],
        stops_over_skin=plain["stops_over_skin"],
        reflections=tuple(
            ReflectionSeen(
                center=_point(one["center"]),
                outline=_points(one["outline"]),
                lens_cover=one["lens_cover"],
                veil=one["veil"],
                stops_over_skin=one["stops_over_skin"],
                clipped_share=one["clipped_share"],
                recoverable=one["recoverable"],
                color=one["color"],
            )
            for one in plain["reflections"]
        ),
    )


def _points(given: list[Any]) -> tuple[tuple[float, float], ...]:
    return tuple(_point(one) for one in given)


def _point(given: Any) -> tuple[float, float]:
    return float(given[0]), float(given[1])
