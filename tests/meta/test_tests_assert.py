"""A test that asserts nothing is green for ever."""

import ast
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
EXPECTING = {"raises", "warns", "fail"}  # of pytest
THROWN_AWAY = {"allclose", "isclose", "array_equal", "array_equiv"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def called_name(node: ast.AST) -> str:
    """Last part of the name that is called, "" if the node is no call by name."""
    target = node.func if isinstance(node, ast.Call) else None
    if isinstance(target, ast.Attribute):
        return target.attr
    return target.id if isinstance(target, ast.Name) else ""


def checks_something(node: ast.AST, *, helpers: set[str]) -> bool:
    if isinstance(node, ast.Assert):
        return not isinstance(node.test, ast.Constant)
    name = called_name(node)
    known = name in EXPECTING or name.startswith("assert_") or name in helpers
    return known or expects_of_a_page(node)


def expects_of_a_page(node: ast.AST) -> bool:
    """Whether the node is ``expect(...).to_...(...)``, which fails as an assert does."""
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return False
    named = node.func.attr.startswith(("to_", "not_to_"))
    return named and called_name(node.func.value) == "expect"


def functions_of(tree: ast.AST) -> list[Function]:
    return [node for node in ast.walk(tree) if isinstance(node, Function)]


def unasserting_tests(tree: ast.AST) -> list[str]:
    functions = functions_of(tree)
    helpers = {
        function.name
        for function in functions
        if any(checks_something(node, helpers=set()) for node in ast.walk(function))
    }
    return [
        f"{function.name}, line {function.lineno}"
        for function in functions
        if function.name.startswith("test_")
        and not any(
            checks_something(node, helpers=helpers - {function.name}) for node in ast.walk(function)
        )
    ]


def results_thrown_away(tree: ast.AST) -> list[str]:
    return [
        f"line {node.lineno}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr)
        and (isinstance(node.value, ast.Compare) or called_name(node.value) in THROWN_AWAY)
    ]


@pytest.mark.parametrize(
    "path", sorted(TESTS.rglob("*.py")), ids=lambda path: path.relative_to(TESTS).as_posix()
)
def test_every_test_asserts_something(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert unasserting_tests(tree) == []
    assert results_thrown_away(tree) == []


def test_the_check_sees_what_it_should():
    tree = ast.parse(
        "def test_nothing():\n    np.allclose(a, b)\n    a == b\n    assert True\n"
        "def same(a):\n    assert a\n"
        "def test_by_helper():\n    same(a)\n"
        "def test_numpy():\n    np.testing.assert_allclose(a, b)\n"
        "def test_error():\n    with pytest.raises(ValueError): f()\n"
        "def test_page():\n    expect(page).to_have_url(a)\n"
        "def test_no_page():\n    page.to_have_url(a)\n    expect(page)\n"
    )
    assert unasserting_tests(tree) == ["test_nothing, line 1", "test_no_page, line 15"]
    assert results_thrown_away(tree) == ["line 2", "line 3"]
