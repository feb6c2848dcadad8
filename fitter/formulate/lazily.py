"""Sequences whose items are made when they are first asked for."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from typing import TypeVar, overload

T = TypeVar("T")


class Lazily(Sequence[T]):
    """A sequence that makes its items; counted from either end, each has one number."""

    @abstractmethod
    def item(self, number: int) -> T:
        """Return an item, counted from 0."""

    @overload
    def __getitem__(self, index: int) -> T: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[T]: ...

    def __getitem__(self, index: int | slice) -> T | Sequence[T]:
        if isinstance(index, slice):
            return [self.item(number) for number in range(*index.indices(len(self)))]
        return self.item(range(len(self))[index])
