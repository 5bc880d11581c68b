"""A shop's own lathe in figures: what it can cut, how fast it turns and feeds, what its tool bears.

Depths in mm off one face (drum: off the radius), feeds in mm a turn, speeds in turns a minute, surface speeds in
m a minute.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import not_positive
from turnrule.judging.lengths import on_grid
from turnrule.judging.words import LatheKind


@dataclass(frozen=True, slots=True)
class Steps:
    """A setting that the lathe has in steps: these values and no other, one at least, in any order."""

    values: tuple[Decimal, ...]

    @property
    def least(self) -> Decimal:
        """The smallest step."""
        return min(self.values)

    @property
    def greatest(self) -> Decimal:
        """The largest step."""
        return max(self.values)

    def up_to(self, bound: Decimal, grid: Decimal) -> Decimal | None:  # noqa: ARG002 - steps are what they are
        """The largest step that is no greater than the bound; None where all are."""
        return max((value for value in self.values if value <= bound), default=None)


@dataclass(frozen=True, slots=True)
class Span:
    """A setting that the lathe has without steps, from `least` to `greatest`."""

    least: Decimal
    greatest: Decimal

    def up_to(self, bound: Decimal, grid: Decimal) -> Decimal | None:
        """The largest setting that is no greater than the bound, on the grid if it is not an end of the span."""
        if bound < self.least:
            return None
        return min(self.greatest, max(self.least, on_grid(bound, ROUND_FLOOR, grid)))


Setting = Steps | Span


@dataclass(frozen=True, slots=True)
class LatheProfile:
    """One revision of a shop's figures for one lathe; `finishing_depth` is the greatest depth of the last pass."""

    name: str
    revision: int
    kind: LatheKind
    least_depth: Decimal
    greatest_depth: Decimal
    finishing_depth: Decimal
    roughing_feed: Decimal
    finishing_feeds: Setting
    speeds: Setting
    nose_radius: Decimal
    least_surface_speed: Decimal
    greatest_surface_speed: Decimal
    both_faces_at_once: bool = True


def faults_of_profile(profile: LatheProfile) -> tuple[Fault, ...]:
    """Every fault of a profile; empty when passes can be planned with it."""
    return (
        *not_positive("/least_depth", profile.least_depth),
        *_out_of_order("/greatest_depth", profile.least_depth, profile.greatest_depth),
        *_out_of_order("/finishing_depth", profile.least_depth, profile.finishing_depth),
        *_out_of_order("/finishing_depth", profile.finishing_depth, profile.greatest_depth),
        *not_positive("/roughing_feed", profile.roughing_feed),
        *_setting("/finishing_feeds", profile.finishing_feeds),
        *_setting("/speeds", profile.speeds),
        *not_positive("/nose_radius", profile.nose_radius),
        *_thread(profile),
        *not_positive("/least_surface_speed", profile.least_surface_speed),
        *_out_of_order("/greatest_surface_speed", profile.least_surface_speed, profile.greatest_surface_speed),
    )


def _out_of_order(pointer: str, less: Decimal, more: Decimal) -> Iterator[Fault]:
    """The fault of two figures that run backwards."""
    if more < less:
        yield Fault(pointer, "out_of_order", f"{less:f} and {more:f} run backwards; check both figures")


def _setting(pointer: str, setting: Setting) -> Iterator[Fault]:
    """The faults of a setting: nothing to choose from, 0 or less, or running backwards."""
    if isinstance(setting, Span):
        yield from not_positive(f"{pointer}/least", setting.least)
        yield from _out_of_order(f"{pointer}/greatest", setting.least, setting.greatest)
        return
    if not setting.values:
        yield Fault(pointer, "missing", "give the settings that the lathe has, one at least")
    for index, value in enumerate(setting.values):
        yield from not_positive(f"{pointer}/{index}", value)


def _thread(profile: LatheProfile) -> Iterator[Fault]:
    """Beyond twice the nose radius a turn, the tool leaves a thread with metal standing between its turns."""
    feeds = profile.finishing_feeds
    if isinstance(feeds, Steps) and not feeds.values:
        return
    if profile.nose_radius > 0 and feeds.greatest >= 2 * profile.nose_radius:
        yield Fault("/finishing_feeds", "thread_cut", "a finishing feed must stay below twice the nose radius")
