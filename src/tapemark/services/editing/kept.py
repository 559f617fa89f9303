"""A whole other setup taken over: what it leaves as it was keeps the words it was typed in."""

from collections.abc import Mapping
from typing import Any

from tapemark.errors import SetupError
from tapemark.services.editing.paths import Body
from tapemark.studio import Setup, setup_from_mapping, setup_to_mapping


def whole_body(body: Mapping[str, Any], setup: Setup, whole: Mapping[str, Any]) -> Body:
    """Return the data of a setup file that takes the place of another.

    Parameters
    ----------
    body : mapping
        As it was typed.
    setup : Setup
        The setup of that.
    whole : mapping
        What takes its place, such as that of a move.

    Raises
    ------
    SetupError
        It is not a setup.
    """
    plain = setup_to_mapping(setup_from_mapping(whole, name="the set"))
    kept = _kept(dict(body), setup_to_mapping(setup), plain, dict(whole))
    try:
        same = setup_to_mapping(setup_from_mapping(kept)) == plain
    except SetupError:
        same = False
    return kept if same else plain


def _kept(typed: Any, was: Any, now: Any, own: Any) -> Any:
    """Return what is there now, in the words of before wherever nothing changed.

    ``was`` and ``now`` are plain, ``typed`` and ``own`` the same in a person's words.
    """
    if was == now:
        return typed
    if all(isinstance(one, dict) for one in (typed, was, now, own)):
        return {
            key: _kept(typed[key], was[key], now[key], value)
            if all(key in one for one in (typed, was, now))
            else value
            for key, value in own.items()
        }
    before, plain, after, mine = (_by_name(one) for one in (typed, was, now, own))
    if before is None or plain is None or after is None or mine is None:
        return own
    return [
        _kept(before[name], plain[name], after[name], value)
        if all(name in one for one in (before, plain, after))
        else value
        for name, value in mine.items()
    ]


def _by_name(items: Any) -> dict[str, Any] | None:
    """Return the tables of a list by their names; None where they have none."""
    if not isinstance(items, list) or not all(isinstance(one, dict) for one in items):
        return None
    named = {str(one.get("name")): one for one in items}
    return named if len(named) == len(items) else None
