"""What does a piece of array work ask of the machine, and what can the machine give?

Operations and bytes are counted while the work is done, by arrays that keep a tally: an
operation for every number that an elementary function of numpy gives back (two for a product
that is summed), and the bytes of everything that it reads and writes. Work between arrays is left
out. The machine is asked with numpy too, with one thread: no program of this kind gets more.
"""

import copy
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, fields, is_dataclass
from typing import Any
from unittest.mock import patch

import numpy as np

FAR, NEAR, SQUARE = 16_000_000, 8_000, 768  # numbers: beyond all caches, within one; matrix side
MAKERS = ("array", "asarray", "ascontiguousarray", "empty", "zeros", "ones", "full", "eye")
#: Functions that numpy does not carry out by elementary ones.
MOVERS = ("where", "concatenate", "bincount", "searchsorted", "take", "repeat", "copyto", "interp")


@dataclass(frozen=True, kw_only=True, slots=True)
class Machine:
    """What numpy attains on one core.

    Attributes
    ----------
    far_gb_s : float
        Bytes read and written by a sum of two arrays far larger than the caches. [GB/s]
    near_gb_s : float
        The same where everything stays in the nearest cache. [GB/s]
    product_gflop_s : float
        Products and sums of a product of matrices, single precision. [Gflop/s]
    """

    far_gb_s: float
    near_gb_s: float
    product_gflop_s: float


@dataclass(kw_only=True, slots=True)
class Tally:
    """Operations on numbers, and bytes read and written."""

    operations: float = 0.0
    bytes: float = 0.0


_tally = Tally()


def measure_machine(*, runs: int) -> Machine:
    """Return what numpy attains on one core."""
    return Machine(
        far_gb_s=12e-9 * FAR / _sum_s(FAR, runs=runs, again=1),
        near_gb_s=12e-9 * NEAR / _sum_s(NEAR, runs=runs, again=2000),
        product_gflop_s=2e-9 * SQUARE**3 / _product_s(runs=runs),
    )


def _sum_s(count: int, *, runs: int, again: int) -> float:
    one, other, out = (np.full(count, value, dtype=np.float32) for value in (1.0, 2.0, 0.0))

    def work() -> None:
        for _ in range(again):
            np.add(one, other, out=out)

    return _best_s(work, runs=runs) / again


def _product_s(*, runs: int) -> float:
    one = np.full((SQUARE, SQUARE), 0.5, dtype=np.float32)
    out = np.empty_like(one)
    return _best_s(lambda: np.matmul(one, one, out=out), runs=runs)


def _best_s(work: Callable[[], object], *, runs: int) -> float:
    """Return the shortest time: what the machine can do, not what it does on average."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


class Counted(np.ndarray):
    """An array that tells the tally what is done with it."""

    def __array_ufunc__(self, ufunc: Any, method: str, *given: Any, **named: Any) -> Any:
        out = named.pop("out", None)
        plain = tuple(_plain(one) for one in given)
        named = {name: _plain(one) for name, one in named.items()}
        if out is not None:
            named["out"] = tuple(_plain(one) for one in out)
        result = getattr(ufunc, method)(*plain, **named)
        _note(plain, result, operations=_operations(ufunc, plain, result))
        return _counted(result)

    def __array_function__(self, func: Any, types: Any, args: Any, kwargs: Any) -> Any:
        result = super().__array_function__(func, types, args, kwargs)
        if func.__name__ in MOVERS:
            _note(tuple(_arrays(args)), result, operations=0.0)
        if func.__name__ == "c_einsum":
            largest = max(one.size for one in _arrays(args))
            _note(tuple(_arrays(args)), result, operations=2.0 * largest)
        return _counted(result)

    def __getitem__(self, key: Any) -> Any:
        found = super().__getitem__(key)
        if isinstance(found, np.ndarray) and found.base is None:  # picked out, not a view
            _note((found,), found, operations=0.0)
        return found


def count(work: Callable[..., object], *given: Any, **named: Any) -> Tally:
    """Return what a call asks for. Call it once before: what is cached must be by then."""
    work(*given, **named)
    given = tuple(_watched(one) for one in given)
    named = {name: _watched(one) for name, one in named.items()}
    _tally.operations = _tally.bytes = 0.0
    with _makers_counted():
        work(*given, **named)
    return Tally(operations=_tally.operations, bytes=_tally.bytes)


def cpu_s(work: Callable[..., object], *given: Any, runs: int, **named: Any) -> float:
    """Return the median time that this thread spends on a call [s]."""
    times = []
    for _ in range(runs):
        start = time.thread_time()
        work(*given, **named)
        times.append(time.thread_time() - start)
    return statistics.median(times)


@contextmanager
def _makers_counted() -> Iterator[None]:
    """New arrays keep the tally too, and none is made a plain one again."""

    def made(maker: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *given, **named: _counted(maker(*given, **named))

    with ExitStack() as stack:
        for name in MAKERS:
            maker = np.asanyarray if name == "asarray" else getattr(np, name)
            stack.enter_context(patch.object(np, name, made(maker)))
        yield


def _watched(value: Any) -> Any:
    """Return a copy of a thing whose arrays of floats keep the tally."""
    if isinstance(value, np.ndarray):
        return _counted(value)
    if isinstance(value, tuple):
        return tuple(_watched(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        twin = copy.copy(value)
        for one in fields(value):
            object.__setattr__(twin, one.name, _watched(getattr(value, one.name)))
        return twin
    return value


def _counted(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(_counted(one) for one in value)
    if isinstance(value, np.ndarray) and value.dtype.kind in "fiub":
        return value.view(Counted)
    return value


def _plain(value: Any) -> Any:
    return value.view(np.ndarray) if isinstance(value, Counted) else value


def _arrays(values: Any) -> Iterator[np.ndarray]:
    for one in values if isinstance(values, (tuple, list)) else (values,):
        if isinstance(one, np.ndarray):
            yield one
        elif isinstance(one, (tuple, list)):
            yield from _arrays(one)


def _operations(ufunc: Any, given: tuple[Any, ...], result: Any) -> float:
    written = float(sum(one.size for one in _arrays(result)) or 1)
    if ufunc is np.matmul:
        return 2.0 * written * given[0].shape[-1]
    return max(written, *(float(one.size) for one in _arrays(given)), 1.0)


def _note(given: tuple[Any, ...], result: Any, *, operations: float) -> None:
    _tally.operations += operations
    _tally.bytes += sum(one.nbytes for one in _arrays(given))
    _tally.bytes += sum(one.nbytes for one in _arrays(result))
