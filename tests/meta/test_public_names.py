"""What a package offers is what its `__all__` says, no more and no less."""

import __future__

import importlib
import pkgutil
import types

import pytest

import tapemark

PACKAGES = ["tapemark"] + [
    found.name for found in pkgutil.walk_packages(tapemark.__path__, "tapemark.") if found.ispkg
]


@pytest.mark.parametrize("name", PACKAGES)
def test_all_equals_what_is_importable(name):
    package = importlib.import_module(name)
    promised = package.__all__
    assert len(set(promised)) == len(promised)
    assert [public for public in promised if not hasattr(package, public)] == []
    offered = {
        public
        for public, value in vars(package).items()
        if not public.startswith("_")
        and not isinstance(value, types.ModuleType | __future__._Feature)
    }
    assert offered - set(promised) == set()


def test_there_are_packages_to_look_at():
    assert {"tapemark.geometry", "tapemark.optics", "tapemark.studio"} <= set(PACKAGES)
