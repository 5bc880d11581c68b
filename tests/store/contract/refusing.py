"""Telling a refusal of data from a store that is not well."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from turnrule.store.port import StoreError, StoreNotMigratedError, StoreUnavailableError


@contextmanager
def refused() -> Iterator[None]:
    """What is asked is refused for what it is; trying again, or mending the store, would not help."""
    with pytest.raises(StoreError) as caught:
        yield
    assert not isinstance(caught.value, StoreUnavailableError | StoreNotMigratedError), caught.value
