"""Whatever travels from floor to floor is a value: nobody can change it on the way."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil

import playalong

BUILDERS = {"Record", "Annotations", "Skyline", "Layer"}  # fill themselves, and stay where they are


def public_dataclasses() -> dict[str, type]:
    """Every dataclass of the package whose name is not its module's own."""
    found = {}
    for module in pkgutil.walk_packages(playalong.__path__, "playalong."):
        if module.name.endswith("__main__"):
            continue
        for name, each in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            own = each.__module__ == module.name and not name.startswith("_")
            if own and dataclasses.is_dataclass(each):
                found[f"{module.name}.{name}"] = each
    return found


def test_every_value_is_frozen() -> None:
    thawed = {
        name
        for name, each in public_dataclasses().items()
        if not each.__dataclass_params__.frozen and not issubclass(each, Exception)
    }
    assert {name.rpartition(".")[2] for name in thawed} == BUILDERS
