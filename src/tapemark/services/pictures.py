"""The drawings of a checked setup, as files."""

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor

from tapemark.analysis import aperture_text, face_zones, falloff
from tapemark.services.check import CheckReport, PersonReport, outlines_of

#: Kinds of drawings, in the order in which they are shown.
KINDS = ("plan", "elevation", "camera", "face", "distance")
PNG_WIDTH_PX = 2000  # about 170 dots an inch across an A4 sheet


def picture_files(report: CheckReport, *, stem: str) -> dict[str, str | bytes]:
    """Return every drawing of a checked setup, each as SVG and PNG.

    Parameters
    ----------
    report : CheckReport
        A checked setup.
    stem : str
        First part of the file names.

    Returns
    -------
    dict of str to str or bytes
        File names to SVG text or PNG bytes.
    """
    parts = picture_files_in_turn(report, stem=stem)
    return {name: content for files in parts for name, content in files.items()}


def picture_files_in_turn(report: CheckReport, *, stem: str) -> Iterator[dict[str, str | bytes]]:
    """Yield the drawings of a checked setup as they are done, each as SVG and PNG.

    While one is made a picture of, the next is drawn. Parameters are those of `picture_files`.
    """
    from tapemark.drawing import svg_to_png  # drawing loads what only drawing needs

    with ThreadPoolExecutor(1) as aside:
        waiting: list[tuple[str, str, Future[bytes]]] = []
        for kind in KINDS:
            done, waiting = waiting, []
            for view, svg in drawings_of_kind(report, kind).items():
                png = aside.submit(svg_to_png, svg, width_px=PNG_WIDTH_PX)
                waiting.append((f"{stem}-{view}", svg, png))
            yield from map(_both_files, done)
        yield from map(_both_files, waiting)


def _both_files(drawn: "tuple[str, str, Future[bytes]]") -> dict[str, str | bytes]:
    name, svg, png = drawn
    return {f"{name}.svg": svg, f"{name}.png": png.result()}


def drawings(report: CheckReport) -> dict[str, str]:
    """Return the drawings of a checked setup as SVG text, by view.

    Returns
    -------
    dict of str to str
        ``plan``, ``elevation``, ``camera``, ``face`` and ``distance``; for every companion
        their own ``camera`` and ``face`` with their number, counted from 2.
    """
    return {view: svg for kind in KINDS for view, svg in drawings_of_kind(report, kind).items()}


def drawings_of_kind(report: CheckReport, kind: str) -> dict[str, str]:
    """Return the drawings of one kind as SVG text, by view; kinds are those in `KINDS`.

    Parameters
    ----------
    report : CheckReport
        A checked setup.
    kind : str
        ``plan``, ``elevation``, ``camera``, ``face`` or ``distance``.
    """
    from tapemark.drawing import (
        corner_references,
        elevation_drawing,
        falloff_drawing,
        plan_drawing,
    )

    scene = report.scene
    others = tuple(one.scene for one in report.people[1:])
    if kind in {"camera", "face"}:
        draw = _camera_views if kind == "camera" else _face_views
        pages = draw(report.people)
        return {f"{kind}{'' if k == 0 else f'-{k + 1}'}": svg for k, svg in enumerate(pages)}
    if kind == "plan":
        references, readings = corner_references(scene.setup), _readings(report)
        svg = plan_drawing(scene, references=references, others=others, readings=readings)
    elif kind == "elevation":
        svg = elevation_drawing(scene, lenses=report.lenses, others=others)
    else:
        svg = falloff_drawing(scene, falloff(scene, others=others), others=others)
    return {kind: svg}


def _face_views(people: tuple[PersonReport, ...]) -> list[str]:
    """Return the light over the face of each person."""
    from tapemark.drawing import face_light_drawing

    return [
        face_light_drawing(
            one.scene,
            zones=face_zones(one.scene, light=one.face_light),
            modelling=one.modelling,
            exposure=one.exposure,
        )
        for one in people
    ]


def _camera_views(people: tuple[PersonReport, ...]) -> list[str]:
    """Return the camera's view with the eyes of each person enlarged in turn."""
    from tapemark.drawing import Shown, SitterPicture, camera_view_drawing

    pictures = [
        SitterPicture(
            one.scene,
            Shown(lenses=one.lenses, catchlights=one.catchlights, outlines=outlines_of(one)),
        )
        for one in people
    ]
    return [
        camera_view_drawing(
            one.scene,
            shown=picture.shown,
            others=tuple(other for other in pictures if other is not picture),
        )
        for one, picture in zip(people, pictures, strict=True)
    ]


def _readings(report: CheckReport) -> dict[str, str]:
    """Return what each light meters alone and its power, in words, by its name."""
    words = {}
    for one in report.exposure.lights:
        if one.dial is None:
            continue
        power = "full power" if one.dial == "full" else f"power {one.dial}"
        meter = "" if one.aperture is None else f"{aperture_text(one.aperture)} alone, "
        words[one.name] = f"{meter}{power}"
    return words
