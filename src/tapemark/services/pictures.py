"""The drawings of a checked setup, as files."""

from tapemark.services.check import CheckReport, outlines_of

PNG_WIDTH_PX = 2000  # about 170 dots an inch across an A4 sheet
VIEWS = ("plan", "elevation", "camera")


def picture_files(report: CheckReport, *, stem: str) -> dict[str, str | bytes]:
    """Return plan, elevation and camera view, each as SVG and PNG.

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
    from tapemark.drawing import svg_to_png  # drawing loads what only drawing needs

    files: dict[str, str | bytes] = {}
    for view, svg in drawings(report).items():
        files[f"{stem}-{view}.svg"] = svg
        files[f"{stem}-{view}.png"] = svg_to_png(svg, width_px=PNG_WIDTH_PX)
    return files


def drawings(report: CheckReport) -> dict[str, str]:
    """Return the three drawings of a checked setup as SVG text, by view."""
    from tapemark.drawing import (
        camera_view_drawing,
        corner_references,
        elevation_drawing,
        plan_drawing,
    )

    scene, outlines = report.scene, outlines_of(report)
    return {
        "plan": plan_drawing(scene, references=corner_references(scene.setup)),
        "elevation": elevation_drawing(scene, lenses=report.lenses),
        "camera": camera_view_drawing(
            scene, lenses=report.lenses, catchlights=report.catchlights, outlines=outlines
        ),
    }
