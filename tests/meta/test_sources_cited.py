"""Every source that is cited is listed in docs/sources.md, and every one listed is cited."""

import ast
import io
import re
import tokenize
from collections.abc import Iterator

import pytest

CODE = ("src/", "tests/", "scripts/", "benchmarks/")
KEY = r"\[([a-z][a-z0-9]*(?:-[a-z0-9]+)*)\]"
# A key where sources are named: a References section, or the SOURCE line of a test.
REFERENCES = re.compile(r"^ *References\n *-+\n(.*?)(?=^ *\w[^\n]*\n *-{3,}$|\Z)", re.DOTALL | re.M)
SOURCE = re.compile(r"\bSOURCE\b(.*)")
# Anywhere else in prose a bracketed word may be a unit; with a hyphen it is a key.
HYPHENATED = re.compile(r"(?<!\w)\[([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\]")
LISTED = re.compile(rf"^(?:#+ |[-*] |\| ?)?[*`]*{KEY}", re.MULTILINE)
WITH_DOCSTRING = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)


def comments_of(code: str) -> Iterator[str]:
    for token in tokenize.generate_tokens(io.StringIO(code).readline):
        if token.type == tokenize.COMMENT:
            yield token.string


def docstrings_of(code: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, WITH_DOCSTRING):
            yield ast.get_docstring(node) or ""


def keys_cited_in(code: str) -> set[str]:
    docstrings, comments = list(docstrings_of(code)), list(comments_of(code))
    naming = [*(found for text in docstrings for found in REFERENCES.findall(text))]
    naming += [found for text in (*docstrings, *comments) for found in SOURCE.findall(text)]
    keys = {key for text in naming for key in re.findall(KEY, text)}
    return keys | {key for text in (*docstrings, *comments) for key in HYPHENATED.findall(text)}


@pytest.fixture(scope="module")
def listed(project_texts) -> list[str]:
    return LISTED.findall(project_texts["docs/sources.md"])


@pytest.fixture(scope="module")
def code(project_texts) -> dict[str, str]:
    return {
        name: text
        for name, text in project_texts.items()
        if name.startswith(CODE) and name.endswith(".py")
    }


def test_every_cited_key_is_listed(listed, code):
    missing = {name: keys_cited_in(text) - set(listed) for name, text in code.items()}
    assert {name: sorted(keys) for name, keys in missing.items() if keys} == {}


def test_every_listed_key_is_cited_somewhere(listed, code):
    everything = "\n".join(code.values())
    assert listed
    assert [key for key in listed if f"[{key}]" not in everything] == []


def test_no_key_is_listed_twice(listed):
    assert sorted({key for key in listed if listed.count(key) > 1}) == []


def test_the_check_sees_keys_and_not_units():
    code = (
        '"""Say [m] and [rad], see [one-key].\n\nReferences\n----------\n[two] p. 3.\n"""\n'
        "# SOURCE    [three] table 1\nlength = 1.0  # [m]\n"
    )
    assert keys_cited_in(code) == {"one-key", "two", "three"}
