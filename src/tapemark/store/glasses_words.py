"""Glasses in the few words that one writes into a list."""

from __future__ import annotations

from tapemark.studio import Glasses
from tapemark.units import as_typed

NONE_WORDS = ("none", "no", "no glasses", "without", "contacts", "-", "\N{EN DASH}", "0", "n")

#: Short words for each preset. What somebody writes who only saw that there are glasses gets the
#: uncoated office frame: a common size, and no coating to rely on.
SHORT_WORDS: dict[str, tuple[str, ...]] = {
    "thin reading glasses": ("reading", "reading glasses", "readers"),
    "strong short-sighted, small frame": (
        "strong short-sighted",
        "strong minus",
        "thick",
        "thick lenses",
    ),
    "mild short-sighted, medium frame": (
        "short-sighted",
        "mild short-sighted",
        "minus",
        "near-sighted",
    ),
    "everyday progressive": ("progressive", "progressives", "varifocal", "varifocals", "bifocal"),
    "large fashion frame, plano": ("fashion", "large", "large frame", "plano"),
    "strong long-sighted": ("long-sighted", "plus", "strong plus", "far-sighted"),
    "sport wrap": ("sport", "sports", "wrap"),
    "rimless, light prescription": ("rimless",),
    "round wire frame, short-sighted": ("round", "wire", "round wire"),
    "heavy acetate rectangular": ("heavy", "acetate", "thick frame", "heavy frame"),
    "half-rim office frame": ("half-rim", "office", "yes", "glasses", "y", "unknown", "?"),
    "cat-eye, mild short-sighted": ("cat-eye", "cat eye"),
}
_PRESET_OF = {
    word.replace("-", " "): preset
    for preset, words in SHORT_WORDS.items()
    for word in (preset, *words)
}
_COATINGS = {
    "uncoated": "none",
    "no coating": "none",
    "coated": "anti-reflective",
    "anti-reflective": "anti-reflective",
}


class UnknownGlassesError(ValueError):
    """Words for glasses that are not known here."""


def glasses_from_words(words: str) -> Glasses | None:
    """Return the glasses meant, None for somebody without.

    Parameters
    ----------
    words : str
        The name of a preset, or short words for one; ``uncoated`` or ``coated`` may follow.

    Raises
    ------
    UnknownGlassesError
        With what to write instead.

    Examples
    --------
    >>> glasses_from_words("Progressive, uncoated").coating
    'none'
    >>> glasses_from_words("none") is None
    True
    """
    plain = " ".join(words.lower().replace("\N{NON-BREAKING HYPHEN}", "-").split())
    if plain in NONE_WORDS:
        return None
    plain, coating = _without_coating(plain)
    preset = _PRESET_OF.get(plain.replace("-", " "))
    if preset is None:
        raise UnknownGlassesError(_advice(plain))
    values: dict[str, object] = {"name": preset, "preset": preset}
    if coating is not None:
        values["coating"] = coating
    return Glasses.model_validate(values)


def allowed_glasses() -> str:
    """Return what can be written, one short word for each kind."""
    return ", ".join(["none", *(words[0] for words in SHORT_WORDS.values()), "yes"])


def _without_coating(plain: str) -> tuple[str, str | None]:
    for word, coating in _COATINGS.items():
        for tail in (f", {word}", f" {word}"):
            if plain.endswith(tail):
                return plain.removesuffix(tail).rstrip(" ,"), coating
    return plain, None


def _advice(plain: str) -> str:
    import difflib

    close = difflib.get_close_matches(plain.replace("-", " "), _PRESET_OF, n=1, cutoff=0.6)
    if not close:
        return 'write one of these; "yes" if you only know that there are glasses'
    preset = _PRESET_OF[close[0]]
    meant = next(one for one in (preset, *SHORT_WORDS[preset]) if one.replace("-", " ") == close[0])
    return f"did you mean {as_typed(meant)}?"
