"""A link as a QR code: for a sheet or page as SVG, for a terminal as text."""

from tapemark.drawing.style import INK, WHITE

QUIET = 4  # modules of margin that readers need
_BLACK_ON_WHITE, _PLAIN = "\x1b[30;107m", "\x1b[0m"
_HALVES = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}

Modules = tuple[tuple[int, ...], ...]


def qr_svg(content: str, *, size_mm: float = 30.0) -> str:
    """Return a QR code as SVG text: dark on white, with its margin.

    Parameters
    ----------
    content : str
        What a phone reads, such as a link.
    size_mm : float
        Width and height with the margin. [mm]
    """
    modules = _modules(content)
    side = len(modules)
    runs = "".join(
        f"M{x} {y}h{length}v1h-{length}z"
        for y, row in enumerate(modules)
        for x, length in _runs(row)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" '
        f'width="{size_mm:g}mm" height="{size_mm:g}mm" role="img" aria-label="QR code" '
        f'shape-rendering="crispEdges"><rect width="{side}" height="{side}" fill="{WHITE}"/>'
        f'<path d="{runs}" fill="{INK}"/></svg>'
    )


def qr_in_terminal(content: str, *, color: bool) -> str:
    """Return a QR code as lines of text, two modules a letter.

    Parameters
    ----------
    content : str
        What a phone reads, such as a link.
    color : bool
        Whether the terminal understands colours; without, it is taken to be dark.
    """
    modules = _modules(content)
    rows = [*modules, tuple([0] * len(modules))] if len(modules) % 2 else [*modules]
    lines = []
    for upper, lower in zip(rows[::2], rows[1::2], strict=True):
        pairs = zip(upper, lower, strict=True)
        if color:
            lines.append(f"{_BLACK_ON_WHITE}{''.join(_HALVES[pair] for pair in pairs)}{_PLAIN}")
        else:
            lines.append("".join(_HALVES[1 - a, 1 - b] for a, b in pairs))
    return "\n".join(lines)


def _modules(content: str) -> Modules:
    """Return the code with its margin, row by row: 1 dark, 0 light."""
    import segno  # loaded only where used

    code = segno.make(content, micro=False, error="m", boost_error=False)
    return tuple(tuple(int(one) for one in row) for row in code.matrix_iter(border=QUIET))


def _runs(row: tuple[int, ...]) -> list[tuple[int, int]]:
    """Return start and length of each run of dark modules."""
    found: list[tuple[int, int]] = []
    for x, dark in enumerate(row):
        if not dark:
            continue
        if found and sum(found[-1]) == x:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((x, 1))
    return found
