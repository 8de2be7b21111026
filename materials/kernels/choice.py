"""The type under which numba knows a function of `by_type`: whatever it asks, the chosen kernel's own type answers.

numba's `overload` does the same with functions of its own, each optimised and turned into machine code before it is thrown away.
"""

from __future__ import annotations

from typing import Any

from numba import types
from numba.extending import models, register_model

from .by_type import ByType


class Choice(types.Callable, types.Dummy):
    """Type of a function of `by_type`."""

    def __init__(self, function: ByType) -> None:
        self._chosen = function.choose
        super().__init__(f"{function!r}")

    def get_call_type(self, context: Any, args: Any, kws: Any) -> Any:
        """Signature of the call, with the chosen kernel compiled for it."""
        return self._chosen(*args, **kws)._numba_type_.get_call_type(context, args, kws)

    def get_call_signatures(self) -> tuple[list[Any], bool]:
        """None of its own."""
        return [], True

    def get_impl_key(self, signature: Any) -> Any:
        """Under which the chosen kernel's code is found."""
        return self._chosen(*signature.args)._numba_type_.get_impl_key(signature)


register_model(Choice)(models.OpaqueModel)
