"""Code of others that a command is told of as module:name."""

import importlib
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pupilage.core.errors import InvalidInput


def load_maker(path: str, option: str) -> Callable[..., Any]:
    """Return the class or function at `module:name`; modules in the folder you are in are found too.

    Raises InvalidInput, in words, for a path that leads nowhere or to nothing that can be called.
    """
    module_name, colon, name = path.partition(":")
    if not (module_name and colon and name):
        raise InvalidInput.of(option, "“{path}” is no module:name, such as mine:Patient.", path=path)
    maker = getattr(_module(module_name, option), name, None)
    if maker is None:
        raise InvalidInput.of(
            option, "The module “{module}” has nothing named “{name}”.", module=module_name, name=name
        )
    if not callable(maker):
        raise InvalidInput.of(
            option, "“{path}” cannot be called; name a class, or a function that makes one.", path=path
        )
    found: Callable[..., Any] = maker
    return found


def _module(name: str, option: str) -> Any:
    here = str(Path.cwd())
    if here not in sys.path:
        sys.path.insert(0, here)
    try:
        return importlib.import_module(name)
    except ModuleNotFoundError as error:
        if error.name is None or not f"{name}.".startswith(f"{error.name}."):
            raise InvalidInput.of(
                option,
                "The module “{module}” needs “{missing}”, which is not there.",
                module=name,
                missing=error.name or "",
            ) from error
        raise InvalidInput.of(
            option,
            "There is no module “{module}”: looked in {folder}, and where Python finds modules.",
            module=name,
            folder=here,
        ) from error
    except Exception as error:
        problem = f"{type(error).__name__}: {error}"
        raise InvalidInput.of(
            option, "The module “{module}” cannot be used: {problem}.", module=name, problem=problem
        ) from error
