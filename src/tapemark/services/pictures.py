"""The drawings of a checked setup, as files."""

from tapemark.services.check import CheckReport


def picture_files(report: CheckReport, *, stem: str) -> dict[str, str | bytes]:
    """Return plan, elevation and camera view, each as SVG and PNG.

    Parameters
    ----------
    report : CheckReport
        A checked setup.
    stem : str
        First part of the file names.
    """
    return {}
