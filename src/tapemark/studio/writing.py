"""Writing setups: a `Setup` in, TOML text or a mapping out that reads back as the same setup."""

from __future__ import annotations

from typing import Any

from tapemark.studio.setup import SCHEMA_VERSION, Setup

__all__ = ["setup_to_mapping", "setup_to_toml"]

_ON_ONE_LINE = ("place", "aim", "right", "left", "base", "outlet", "start", "end")


def setup_to_mapping(setup: Setup) -> dict[str, Any]:
    """Return a setup as data of the same shape as a file, fit for JSON.

    Parameters
    ----------
    setup : Setup
        What to write.

    Returns
    -------
    dict
        What was stated, in the units of the setup; defaults are left out. Reads back as an
        equal setup.
    """
    mapping: dict[str, Any] = setup.model_dump(
        mode="json", by_alias=True, exclude_unset=True, context={"system": setup.units}
    )
    return {"tapemark": SCHEMA_VERSION, **mapping}


def setup_to_toml(setup: Setup) -> str:
    """Return a setup as the text of a setup file.

    Parameters
    ----------
    setup : Setup
        What to write.

    Returns
    -------
    str
        TOML; reads back as an equal setup.
    """
    import tomlkit  # costs 15 ms that only writing should pay

    document = tomlkit.document()
    for key, value in _scalars_first(setup_to_mapping(setup)):
        if isinstance(value, list):
            tables = tomlkit.aot()
            for item in value:
                tables.append(_table(item))
            document.add(key, tables)
        else:
            document.add(key, _item(key, value))
    return tomlkit.dumps(document)


def _item(key: str, value: Any) -> Any:
    import tomlkit  # costs 15 ms that only writing should pay

    if not isinstance(value, dict):
        return value
    if list(value) == ["preset"]:
        return value["preset"]
    if key in _ON_ONE_LINE:
        inline = tomlkit.inline_table()
        inline.update(value)
        return inline
    return _table(value)


def _table(values: dict[str, Any]) -> Any:
    import tomlkit  # costs 15 ms that only writing should pay

    table = tomlkit.table()
    for key, value in _scalars_first({key: _item(key, value) for key, value in values.items()}):
        table.add(key, value)
    return table


def _scalars_first(values: dict[str, Any]) -> list[tuple[str, Any]]:
    import tomlkit.items  # costs 15 ms that only writing should pay

    tables = (dict, list, tomlkit.items.Table)
    inline = tomlkit.items.InlineTable
    return sorted(
        values.items(),
        key=lambda pair: isinstance(pair[1], tables) and not isinstance(pair[1], inline),
    )
