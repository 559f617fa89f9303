"""A drawing as a PDF of its own size."""

from xml.etree import ElementTree as ET

from tapemark.drawing.paper.typst_pages import set_pages

_SVG = "{http://www.w3.org/2000/svg}"


def svg_size_pt(svg: str) -> tuple[float, float]:
    """Return width and height of one of our own drawings [pt]."""
    box = ET.fromstring(svg).get("viewBox", "")
    _, _, wide, high = box.split()
    return float(wide), float(high)


def svg_to_pdf(svg: str) -> bytes:
    """Return a drawing as a PDF page of its own size, with its title.

    Parameters
    ----------
    svg : str
        SVG text, such as the drawings of this package return.
    """
    wide, high = svg_size_pt(svg)
    title = ET.fromstring(svg).findtext(f"{_SVG}title", default="drawing")
    data = {"title": title, "svg": svg, "width": wide, "height": high}
    return set_pages("drawing", data, form="pdf")[0]
