"""Keys: the secret is shown once and never kept; what a key may be called and allowed is said plainly."""

from __future__ import annotations

import re

import pytest

from tests.api.conftest import Clock
from turnrule.actions.desk import Desk
from turnrule.actions.keys import SCOPES, allows, create_key, digest_of_secret, key_for, list_keys, revoke_key
from turnrule.actions.refusals import RefusedError
from turnrule.store.port import NameTakenError


def test_a_secret_is_long_random_and_kept_as_its_digest_only(desk: Desk) -> None:
    made = [create_key(desk, f"key-{number}", ["verdicts"]) for number in range(20)]
    assert len({one.secret for one in made}) == 20
    for one in made:
        assert re.fullmatch(r"tr_[A-Za-z0-9_-]{43}", one.secret)
        assert one.key.digest == digest_of_secret(one.secret)
        assert one.secret not in repr(desk.store.keys())


def test_a_key_is_found_by_its_secret_until_it_is_revoked(desk: Desk, clock: Clock) -> None:
    made = create_key(desk, "shop", ["verdicts", "reports"], "north")
    assert key_for(desk, made.secret) == made.key
    assert made.key.scopes == frozenset({"verdicts", "reports"})
    assert (made.key.site, made.key.created_at) == ("north", clock.now)
    clock.move(days=1)
    revoke_key(desk, "shop")
    assert key_for(desk, made.secret) is None
    assert [key.revoked_at for key in list_keys(desk)] == [clock.now]
    with pytest.raises(RefusedError, match="no working key 'shop'"):
        revoke_key(desk, "shop")


@pytest.mark.parametrize("secret", ["", "tr_", "tr_" + "A" * 43, "A" * 46, "tr_" + "A" * 44, "tr_\u00e9" + "A" * 42])
def test_another_secret_finds_nothing(desk: Desk, secret: str) -> None:
    create_key(desk, "shop", ["verdicts"])
    assert key_for(desk, secret) is None


@pytest.mark.parametrize(
    ("name", "scopes", "site", "code"),
    [
        ("-shop", ["verdicts"], None, "invalid_name"),
        ("", ["verdicts"], None, "invalid_name"),
        ("a" * 64, ["verdicts"], None, "invalid_name"),
        ("a\n", ["verdicts"], None, "invalid_name"),
        ("shop", ["verdict"], None, "invalid_scope"),
        ("shop", [], None, "invalid_scope"),
        ("shop", ["verdicts"], "", "invalid_site"),
        ("shop", ["verdicts"], "a\n", "invalid_site"),
    ],
)
def test_a_key_that_cannot_be_is_not_made(
    desk: Desk, name: str, scopes: list[str], site: str | None, code: str
) -> None:
    with pytest.raises(RefusedError) as caught:
        create_key(desk, name, scopes, site)
    assert caught.value.code == code
    assert not list_keys(desk)


def test_a_name_is_given_once(desk: Desk) -> None:
    create_key(desk, "shop", ["verdicts"])
    with pytest.raises(NameTakenError):
        create_key(desk, "shop", ["reports"])


def test_a_key_is_allowed_what_it_names_and_admin_everything(desk: Desk) -> None:
    for scope in SCOPES:
        key = create_key(desk, scope.replace(":", "-"), [scope]).key
        assert allows(key)
        for other in SCOPES:
            assert allows(key, other) == (scope in {other, "admin"})
            assert allows(key, other, scope)
