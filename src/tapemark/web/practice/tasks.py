"""What the practice page has made: a round of cards with their pictures, one after the other."""

from tapemark.web.tasks import Plain, Tell


def cards(*, tell: Tell, base: Plain | None, seed: int, width: int) -> Plain:
    """Make a round of cards in the cache and return ``count``: how many there are."""
    from tapemark.services.practice_cards import make_cards
    from tapemark.studio import setup_from_mapping

    setup = None if base is None else setup_from_mapping(base, name="the set")
    return {"count": make_cards(setup, seed=seed, width=width, tell=tell)}
