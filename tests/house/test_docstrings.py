"""Every public name of the engineering explains itself, and every fault of the command line has help."""

from __future__ import annotations

import importlib
import inspect
import pkgutil

import pytest

import naptuft

MODULES = [
    module.name
    for module in pkgutil.walk_packages(naptuft.__path__, "naptuft.")
    if not module.name.endswith("__main__")
]


@pytest.mark.parametrize("name", MODULES)
def test_every_public_name_has_a_docstring(name: str):
    module = importlib.import_module(name)
    assert module.__doc__, name
    bare = [
        f"{name}.{thing_name}"
        for thing_name, thing in vars(module).items()
        if not thing_name.startswith("_")
        and (inspect.isfunction(thing) or inspect.isclass(thing))
        and thing.__module__ == name
        and not (thing.__doc__ and not thing.__doc__.startswith(f"{thing.__name__}("))
    ]
    assert bare == []
