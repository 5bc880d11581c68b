"""What stands in `errors[].code`: every code, what it means, and whether the schema alone would have shown it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from turnrule.actions.entry_checks.codes import WARNINGS


class FaultCode(NamedTuple):
    """The meaning of one code. `seen_in_schema` where a client that checks its body by the schema never meets it."""

    meaning: str
    seen_in_schema: bool


def _schema(meaning: str) -> FaultCode:
    return FaultCode(meaning, seen_in_schema=True)


def _beyond(meaning: str) -> FaultCode:
    return FaultCode(meaning, seen_in_schema=False)


FAULT_CODES: Mapping[str, FaultCode] = MappingProxyType(
    {
        # the bytes
        "not_utf8": _schema("The body is not plain UTF-8: another encoding, a byte order mark, or a NUL byte."),
        "invalid_json": _schema("The body is not JSON; detail gives line and column."),
        "too_deep": _schema("The body is nested more than 32 levels deep."),
        "duplicate_key": _schema("A name stands twice in one object; it is not known which one was meant."),
        "forbidden_character": _schema("A text holds a character that is not shown or that reorders what is read."),
        "non_finite_number": _schema("NaN, an infinity, or a number that only an infinity could stand for."),
        "number_too_long": _schema("A number of more than 32 characters."),
        "number_out_of_range": _schema("A number with an exponent beyond 12."),
        # the frame of a batch
        "no_header": _beyond("The first row of a batch in CSV does not name the fields."),
        "no_such_column": _beyond("A column of a batch in CSV is no field of a request."),
        "column_twice": _beyond("A column of a batch in CSV stands twice."),
        "ragged_row": _beyond("A row has more cells than the header, or fewer."),
        "row_too_long": _beyond("An item of a batch has more bytes than are read; nothing behind it was read."),
        "invalid_quotes": _beyond("The quotes of a row are not closed, or text stands behind them."),
        "idempotency_key_reused": _beyond("An item of a batch came before under the same key, with another body."),
        "body_too_large": _beyond("An item of a batch is longer than a request may be."),
        "empty_file": _beyond("A batch in CSV begins with a blank row, or is empty."),
        # the shape
        "missing": _schema("A field that is needed is not there; nothing is assumed in its place."),
        "unknown_field": _schema("There is no such field; detail names the one that may have been meant."),
        "field_of_another_kind": _schema("A field of a rotor was given for a drum, or the other way around."),
        "misplaced_field": _schema("A field of one side stands beside both, or one that both share stands within one."),
        "wrong_type": _schema("The value is not of the JSON type that is read here; null is never one."),
        "invalid_number": _schema(
            "Not a JSON number: text, a decimal comma, true or false, a fraction for a whole one."
        ),
        "invalid_choice": _schema("Not one of the words that are read here; detail lists them."),
        "invalid_date": _schema("Not a day or a moment of the calendar in the ISO form."),
        "invalid_text": _schema("The text holds what cannot stand in it: line breaks, a blank first, other letters."),
        "out_of_range": _schema("The number is beyond its bounds, or nearer to 0 than 0.0000001 without being 0."),
        "too_short": _schema("The text is empty, or shorter than is read."),
        "too_long": _schema("The text is longer than is read."),
        "too_few": _schema("The list has too few entries."),
        "too_many": _schema("The list has too many entries."),
        # what the fields say together, and what store, catalogue and policy say to them
        "unit_mismatch": _beyond("No such part has this size in the unit stated, and many have it in the other one."),
        "past_nominal_size": _beyond("A reading on the new side of the nominal size: not this part, unit or record."),
        "machining_past_discard": _beyond("The machining limit lies past the discard limit."),
        "discard_past_nominal": _beyond("The discard limit lies on the new side of the nominal size."),
        "machining_past_nominal": _beyond("The machining limit lies on the new side of the nominal size."),
        "application_not_found": _beyond("The store holds no limits for this vehicle; detail names what is nearest."),
        "application_ambiguous": _beyond("More than one record is for this part; detail names them."),
        "brake_option_needed": _beyond("The vehicle was built with more than one brake; detail names the options."),
        "policy_not_found": _beyond("There is no policy of this name; detail names the nearest."),
        "lathe_not_found": _beyond("There is no lathe of this name, or no such revision; detail names the nearest."),
        "release_not_found": _beyond("There is no release of this number."),
        "caller_limits_refused": _beyond("The policy judges by the store's limits only."),
        "unknown_finding": _beyond("The catalogue has no finding of this code; detail names the nearest."),
        "finding_of_another_kind": _beyond("The finding is not one of this kind of part."),
        "face_of_another_kind": _beyond("The face is not one of this kind of part."),
        "unknown_regulation": _beyond("The catalogue has no law of this code."),
        "unknown_jurisdiction": _beyond("The catalogue has no laws of this place; detail names the nearest."),
        "policy_not_for_site": _beyond("The key has a site, from whose policy the one that is named does not inherit."),
        "policy_loosens": _beyond("The policy is looser here than the one that it inherits; detail gives both values."),
        "inherits_too_deep": _beyond("More than 16 policies would inherit from each other in one line."),
        "one_candidate": _schema("A trial has one candidate: a body, a revision or a setting."),
        "setting_mismatch": _beyond("The unit or a value is none that the setting takes; detail says what it takes."),
        "pack_policy": _beyond("The policy belongs to the reference pack and is not written over."),
        "not_machined_yet": _beyond("A field that tells of machining, for a part that was not machined yet."),
        "unknown_part": _beyond("A line names a part that the quote does not give; detail names the nearest."),
        "name_twice": _beyond("Two parts of a quote have the same name."),
        "verdict_or_request": _schema("A part of a quote has a stored verdict or a request to be judged, not both."),
        "cut_without_machining": _schema("A line of a quote has a cut and does not machine."),
        "verdict_not_found": _beyond("There is no verdict of this id that the key may see."),
        "not_before_machining": _beyond("The verdict that is named as the one before machining is on a finished part."),
        "not_the_same_part": _beyond("The verdict before machining is on another part; detail gives what it says."),
        "interval_or_odometers": _beyond("Services come either at an interval or at odometers that are listed."),
        "last_without_interval": _beyond("A last service counts an interval, and none is given."),
        # what was read at the lathe
        "kind_or_profile": _schema("A lathe is named either by its kind or by its profile."),
        "revision_without_profile": _schema("A revision is that of a profile, and none is named."),
        "must_be_positive": _schema("A figure that is to be more than 0 is not."),
        "out_of_order": _beyond("Two figures of a lathe run backwards."),
        "thread_cut": _beyond("A finishing feed of twice the nose radius, or more, leaves metal standing."),
        "inner_past_outer": _beyond("An inner diameter is not below the outer one; of a drum, its bore is the inner."),
        "gap_past_thickness": _beyond("The gap between the cheeks is not smaller than the part is thick."),
        "nothing_read": _schema("Nothing was read of the part, or of a track; detail says what may be."),
        "scratch_or_trace": _schema("A reading is either a scratch or a trace."),
        "fraction_or_arcs": _schema("A scratch has either the covered fraction or the arcs."),
        "studs_or_turns": _schema("A hub has either a count of studs or the turns that can be made."),
        "trace_or_high_spot": _schema("A reading on the hub is a trace, or a runout with its high spot."),
        "no_trace": _schema("No trace of either face was given."),
        "distance_or_place": _schema("A track has either a distance from the open edge or a place."),
        "distances_or_places": _beyond("Some tracks have distances and some have places."),
        "same_track_twice": _beyond("Two tracks are at the same distance or place."),
        "different_angles": _beyond("Traces and thickness of a rotor's faces are not of as many readings."),
        "not_an_angle": _beyond("An angle on the part is 360 degrees, which is 0."),
        "empty_arc": _beyond("A stretch of scratch ends where it begins."),
        "arcs_overlap": _beyond("Stretches of scratch run into each other."),
        "below_the_least": _beyond("The greatest depth of a pass is below the least."),
        # what an entry of limits is refused for
        "impossible_size": _beyond("No part has this size, in either unit."),
        "too_fine": _beyond("A length finer than 0.1 nm, which no document prints."),
        "same_unit": _beyond("`also` is in the unit of the body, and is there for the other one."),
        "twin_without_value": _beyond("A value of `also` does not stand in the body as well."),
        "twin_differs": _beyond("A value of `also` is another length than that of the body, beyond the last digit."),
        "construction_of_another_kind": _beyond("The construction is not one of this kind of part."),
        "finer_than_any_gauge": _beyond("A limit of form that no gauge could read."),
        "greater_than_any_part": _beyond("A limit of form that every part would keep."),
        "nothing_limited": _beyond("The body has no figure at all."),
        "placeholder": _beyond("A name that says nothing, so that a second person would not find the document."),
        "reason_without_correction": _schema("A reason belongs to a correction, and nothing is corrected."),
        "overlap": _beyond("Another record, or an open draft, is for some of the same vehicles and days."),
        "warning_not_raised": _beyond("An answer to a warning that was not raised, or a second answer to one."),
        # what an entry of limits is warned of; it goes on with a written reason
        **{code: _beyond(f"Warning: {meaning[0].lower()}{meaning[1:]}") for code, meaning in WARNINGS.items()},
        # how the two entries, releases and withdrawals stand
        "differs": _beyond("The second entry is not the first in this field; neither value is told."),
        "second_person_needed": _beyond("The second entry is made by somebody else than the first."),
        "third_person_needed": _beyond("The entries differ; somebody who made none of them settles it."),
        "pause_not_over": _beyond("The pause between two entries of one person is not over."),
        "draft_open": _beyond("A correction of the record is under way already."),
        "stale_revision": _beyond("The revision is not the newest that was accepted."),
        "nothing_to_verify": _beyond("No draft of the record waits for a second entry."),
        "nothing_to_withdraw": _beyond("The record was never accepted, or is withdrawn already."),
        "nothing_to_publish": _beyond("Nothing was verified or withdrawn since the newest release."),
        "release_race": _beyond("Another release came first."),
        # parameters and headers
        "doubled_parameter": _schema("A parameter of the address stands twice."),
        "too_many_groups": _beyond("The report would have more groups than are counted; ask for less."),
        "nothing_to_group": _beyond("`then_by` says nothing beside `by`."),
        "invalid_cursor": _beyond("The cursor was not made by this list; begin again without one."),
    }
)
"""Codes never change their meaning; new ones may be added, so a client keeps a branch for those it does not know."""
