"""A link to the app, as a code that a phone reads."""


def link_in_terminal(link: str, *, color: bool) -> str:
    """Return a link as a QR code in lines of text."""
    from tapemark.drawing.paper.qr import qr_in_terminal  # drawing loads what only drawing needs

    return qr_in_terminal(link, color=color)


def link_picture(link: str, *, size_mm: float = 60.0) -> str:
    """Return a link as a QR code in SVG text, of a size [mm]."""
    from tapemark.drawing.paper.qr import qr_svg

    return qr_svg(link, size_mm=size_mm)
