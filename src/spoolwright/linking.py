"""How kernels are joined: machine code is made only of what Python calls, with all that it calls in one piece.

Left alone, Numba makes of each compiled function, whoever calls it, a wrapper for Python, optimised code of itself
and all it calls, machine code, and a file in the cache; and the function that calls it has all of that optimised
again. For a hundred and fifty small kernels this was more than half of the time to compile. So a kernel has two faces:

* a ``Part`` is what other kernels see: its types and intermediate code, each function simplified by itself. Without
  that the loop over faces no longer vectorises (2.5 times slower), and it costs nothing that could be measured;
* a ``Kernel`` is what Python sees: its own code and that of all its parts, optimised together and cached as one.

Both are made of the same function; who calls decides which is compiled. Nothing changes in how a kernel is written.

Two more costs are avoided: the garbage collector, which looks through the compiler's many objects again and again in
vain, rests while a kernel is compiled; and Numba's search for the meaning of ``a + b`` among some hundred templates
is made once for each pair of types.

This rests on the inside of Numba's code library and type search (0.61 to 0.68), which tests/test_kernel.py holds.
"""

# mypy: disallow-untyped-calls=False

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.core.registry import CPUDispatcher
from numba.core.types import functions as _function_types


class _PartLibrary(JITCodeLibrary):
    """Intermediate code of one kernel; never machine code."""

    def finalize(self) -> None:
        """Ready to be linked; what it calls is linked beside it, by the whole."""
        self._finalized = True


class _WholeLibrary(JITCodeLibrary):
    """Code of a kernel that Python calls, and of all its parts, however deep."""

    def add_linking_library(self, library: Any) -> None:
        """Link a library, and what it in turn would have linked."""
        waiting = [library]
        while waiting:
            one = waiting.pop()
            if one not in self._linking_libraries:
                super().add_linking_library(one)
                if isinstance(one, _PartLibrary):
                    waiting += one._linking_libraries

    def finalize(self) -> None:
        """Link callers before what they call, for LLVM leaves out what nothing calls that was linked so far."""
        self._linking_libraries = _callers_first(self._linking_libraries)
        super().finalize()


def _callers_first(libraries: list[Any]) -> list[Any]:
    order: list[Any] = []
    seen: set[int] = set()

    def visit(one: Any) -> None:
        if id(one) in seen:
            return
        seen.add(id(one))
        for called in one._linking_libraries if isinstance(one, _PartLibrary) else ():
            visit(called)
        order.append(one)

    for one in libraries:
        visit(one)
    return order[::-1]


class _PartCompiler(Compiler):
    def __init__(self, typing: Any, target: Any, library: Any, args: Any, result: Any, flags: Any, names: Any) -> None:
        flags.no_cpython_wrapper = True
        flags.no_compile = True
        super().__init__(typing, target, _PartLibrary(target.codegen(), "part"), args, result, flags, names)


class _WholeCompiler(Compiler):
    def __init__(self, typing: Any, target: Any, library: Any, args: Any, result: Any, flags: Any, names: Any) -> None:
        library = _WholeLibrary(target.codegen(), "kernel")
        library.enable_object_caching()
        super().__init__(typing, target, library, args, result, flags, names)


class Part(CPUDispatcher):
    """What other kernels see of a kernel."""

    def add_overload(self, result: Any) -> None:
        """Keep a compiled signature. There is no entry point; its library stands for it as a name."""
        result = result._replace(entry_point=result.library)
        self.targetctx.insert_user_function(result.entry_point, result.fndesc, [result.library])
        self.overloads[tuple(result.signature.args)] = result


class Kernel(CPUDispatcher):
    """What Python sees of a kernel."""

    def __init__(self, py_func: Any, locals: Any = None, targetoptions: Any = None) -> None:
        super().__init__(py_func, locals, targetoptions, pipeline_class=_WholeCompiler)
        self.part = Part(py_func, locals, dict(self.targetoptions), pipeline_class=_PartCompiler)

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """The types of a call from another kernel: those of the part."""
        return self.part.get_call_template(args, kws)

    def get_overload(self, sig: Any) -> Any:
        """What a call from another kernel calls: the part."""
        return self.part.get_overload(sig)

    def prepare(self, *arguments: Any) -> None:
        """Compile for the types of these arguments, or find it done; does not run."""
        self.compile(tuple(self.typeof_pyval(one) for one in arguments))

    def compile(self, sig: Any) -> Any:
        """Compile, or take from the cache, what a call from Python with these types needs."""
        with _collector_at_rest():
            return super().compile(sig)


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def _remember_call_types() -> None:
    """Let Numba look up the signature of a built-in function for given argument types once."""
    search = _function_types.BaseFunction.get_call_type
    found: dict[Any, Any] = {}

    def get_call_type(self: Any, context: Any, args: Any, kws: Any) -> Any:
        if kws:
            return search(self, context, args, kws)
        key = (self, context, tuple(args))
        signature = found.get(key)
        if signature is None:
            signature = found[key] = search(self, context, args, kws)
        return signature

    setattr(_function_types.BaseFunction, "get_call_type", get_call_type)  # noqa: B010


_remember_call_types()
