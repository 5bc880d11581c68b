"""Exit codes, and the one place where an error becomes a message and a code."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from enum import IntEnum
from functools import wraps
from typing import NoReturn, ParamSpec, TypeVar

import click

from turnrule.actions.refusals import RefusedError
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.words import Ruling
from turnrule.pack import PackError
from turnrule.settings import SettingsError
from turnrule.store.port import StoreError

P = ParamSpec("P")
R = TypeVar("R")


class Exit(IntEnum):
    """What the caller's shell is told."""

    DONE = 0
    FAILED = 1
    USAGE = 2
    REFUSED = 3
    REPLACE = 4
    INCONCLUSIVE = 5
    STORE = 6


def exit_for(rulings: Iterable[Ruling]) -> Exit:
    """The code for a run of verdicts: the worst of them."""
    worst = max(rulings, key=lambda ruling: ruling.rank, default=Ruling.SERVICEABLE)
    return {Ruling.REPLACE: Exit.REPLACE, Ruling.INCONCLUSIVE: Exit.INCONCLUSIVE}.get(worst, Exit.DONE)


def say(message: str) -> None:
    """A message to the person, on standard error."""
    click.echo(message, err=True)


def stop(code: Exit, message: str) -> NoReturn:
    """Say why and end with this code."""
    say(message)
    sys.exit(code)


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """Faults as a person reads them, a line each."""
    return [f"  {fault.pointer or '(the whole)'}: {fault.detail} [{fault.code}]" for fault in faults]


def guarded(command: Callable[P, R]) -> Callable[P, R]:
    """A command whose errors come out as one message and the right code, never as a stack trace."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return command(*args, **kwargs)
        except StoreError as error:
            stop(Exit.STORE, f"store: {error}")
        except (FaultsError, PartError, RefusedError) as error:
            stop(Exit.REFUSED, "\n".join(["refused:", *fault_lines(error.faults)]))
        except (TooLargeError, PackError) as error:
            stop(Exit.REFUSED, f"refused: {error}")
        except SettingsError as error:
            stop(Exit.USAGE, str(error))
        except OSError as error:
            stop(Exit.FAILED, f"{error.filename or 'system'}: {error.strerror or error}")

    return run
