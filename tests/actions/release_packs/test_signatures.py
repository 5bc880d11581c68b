"""Signatures: Ed25519 as published, over the bytes that they are said to cover, trusted where the store says so."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_public_key,
)

from tests.actions.release_packs.stores import ANYTHING, Shop, publish, put_together, record, taken_apart
from turnrule.actions.release_packs import (
    KeyFileError,
    PackDamagedError,
    SignatureError,
    Signer,
    new_signer,
    open_release_pack,
    read_signer,
    sign_release_pack,
)
from turnrule.actions.release_packs.signatures import CONTEXT, require_trust, signer_in
from turnrule.store.limit_records import StoreRules


@dataclass(frozen=True, slots=True)
class Vector:
    """One published signature, all of it in hexadecimal."""

    name: str
    secret: str
    public: str
    message: str
    signature: str


# RFC 8032 (Josefsson and Liusvaara, January 2017), section 7.1, "Test Vectors for Ed25519"; TEST 1024, whose message
# has 1,023 bytes, is left out.
VECTORS = (
    Vector(
        "TEST 1",
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe"
        "24655141438e7a100b",
    ),
    Vector(
        "TEST 2",
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302a"
        "eeb00d291612bb0c00",
    ),
    Vector(
        "TEST 3",
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed2"
        "8dc027beceea1ec40a",
    ),
    Vector(
        "TEST SHA(abc)",
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce8"
        "0e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac1"
        "7ad9bef1177331a704",
    ),
)
DESCRIPTION = b'{"format": "turnrule-release-pack"}\n'


def _of(vector: Vector) -> Signer:
    """The key of a published vector, through a PEM file as a person would have it."""
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(vector.secret))
    return read_signer(private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()), "vector.pem")


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_keys_and_signatures_are_the_published_ones(vector: Vector) -> None:
    signer = _of(vector)
    assert signer.public_key == vector.public
    assert signer.private.sign(bytes.fromhex(vector.message)).hex() == vector.signature


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_a_published_signature_of_something_else_is_no_signature_of_a_pack(vector: Vector) -> None:
    document = {"algorithm": "Ed25519", "public_key": vector.public, "signature": vector.signature}
    content = json.dumps(document, separators=(",", ":"), sort_keys=True).encode() + b"\n"
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(vector.public)).verify(
        bytes.fromhex(vector.signature), bytes.fromhex(vector.message)
    )
    # Not even where datapackage.json were the very bytes that were signed: the context is missing.
    with pytest.raises(SignatureError):
        signer_in(content, bytes.fromhex(vector.message))


def test_the_signature_covers_the_context_and_the_description_to_the_byte() -> None:
    signer = _of(VECTORS[0])
    content = signer.signature_file(DESCRIPTION)
    assert signer.signature_file(DESCRIPTION) == content
    assert signer_in(content, DESCRIPTION) == signer.public_key
    signature = bytes.fromhex(json.loads(content)["signature"])
    public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(signer.public_key))
    public.verify(signature, b"turnrule release pack, format 1\n" + DESCRIPTION)
    with pytest.raises(InvalidSignature):
        public.verify(signature, DESCRIPTION)
    for place in range(len(DESCRIPTION)):
        other = bytearray(DESCRIPTION)
        other[place] ^= 1
        with pytest.raises(SignatureError):
            signer_in(content, bytes(other))


def test_a_signature_that_was_made_greater_by_the_order_of_the_group_is_refused() -> None:
    # RFC 8032, section 5.1.7: S lies below the order L, so that no second signature can be made out of a first.
    order = 2**252 + 27742317777372353535851937790883648493
    signer = _of(VECTORS[0])
    document = json.loads(signer.signature_file(DESCRIPTION))
    first, second = bytes.fromhex(document["signature"])[:32], bytes.fromhex(document["signature"])[32:]
    greater = int.from_bytes(second, "little") + order
    document["signature"] = (first + greater.to_bytes(32, "little")).hex()
    with pytest.raises(SignatureError):
        signer_in(json.dumps(document, separators=(",", ":"), sort_keys=True).encode() + b"\n", DESCRIPTION)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"algorithm": "Ed448"}, "names no Ed25519 key"),
        ({"algorithm": "none"}, "names no Ed25519 key"),
        ({"public_key": "ab"}, "names no Ed25519 key"),
        ({"public_key": VECTORS[0].public.upper()}, "names no Ed25519 key"),
        ({"signature": ""}, "signature is blank"),
        ({"signature": "00"}, "holds no signature of 128"),
        ({"signature": None}, "signature must be text"),
        ({"by": "me"}, "by is no member"),
    ],
)
def test_a_signature_file_in_another_form_is_refused(changes: dict[str, object], words: str) -> None:
    document = json.loads(_of(VECTORS[0]).signature_file(DESCRIPTION)) | changes
    with pytest.raises(PackDamagedError, match=rf"^signature\.json: {words}"):
        signer_in(json.dumps(document, separators=(",", ":"), sort_keys=True).encode() + b"\n", DESCRIPTION)


def test_a_signature_file_with_spaces_is_refused() -> None:
    content = _of(VECTORS[0]).signature_file(DESCRIPTION)
    for other in (content + b" ", content[:-1], content.replace(b":", b": ")):
        with pytest.raises(PackDamagedError, match="own form"):
            signer_in(other, DESCRIPTION)


OURS, THEIRS = VECTORS[0].public, VECTORS[1].public


@pytest.mark.parametrize(
    ("signed_by", "rules", "words"),
    [
        (None, StoreRules(), "not signed"),
        (None, StoreRules(trusted_keys=(OURS,)), "not signed"),
        (OURS, StoreRules(), f"signed by the key {OURS}, and this store trusts no key yet"),
        (THEIRS, StoreRules(trusted_keys=(OURS,)), f"signed by the key {THEIRS}, and this store trusts other keys"),
        (OURS, StoreRules(trusted_keys=(THEIRS, OURS)), None),
        (OURS, StoreRules(trusted_keys=(OURS.upper(),), signed_packs_only=True), None),
    ],
)
def test_a_pack_is_taken_and_what_is_to_be_said_is_said(
    signed_by: str | None, rules: StoreRules, words: str | None
) -> None:
    messages = require_trust(signed_by, rules)
    assert messages == () if words is None else words in messages[0]


@pytest.mark.parametrize(
    ("signed_by", "trusted", "words"),
    [
        (None, (OURS,), "is not there, and this store takes signed packs only"),
        (THEIRS, (OURS,), f"is by the key {THEIRS}, which this store does not trust"),
        (OURS, (), "does not trust"),
    ],
)
def test_a_store_that_takes_signed_packs_only_refuses_the_others(
    signed_by: str | None, trusted: tuple[str, ...], words: str
) -> None:
    with pytest.raises(SignatureError, match=words):
        require_trust(signed_by, StoreRules(signed_packs_only=True, trusted_keys=trusted))


def test_a_pack_is_signed_when_it_is_written_or_afterwards_to_the_same_bytes(shop: Shop) -> None:
    here = shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2")])
    signer = _of(VECTORS[1])
    at_once, afterwards = shop.export(here, signer=signer), shop.export(here)
    afterwards.chmod(0o640)
    assert sign_release_pack(afterwards, signer) is None
    assert afterwards.read_bytes() == at_once.read_bytes()
    assert afterwards.stat().st_mode & 0o777 == 0o640
    other = new_signer()
    assert sign_release_pack(afterwards, other) == signer.public_key
    with open_release_pack(afterwards, StoreRules(signed_packs_only=True, trusted_keys=(other.public_key,))) as pack:
        assert pack.signed_by == other.public_key
        assert pack.messages == ()
    shop.close()


def test_a_signed_store_takes_its_keys_packs_and_no_stripped_or_foreign_one(shop: Shop, tmp_path: Path) -> None:
    here, signer = shop.desk(), new_signer()
    release = publish(here, [record("corvane-1")])
    path = shop.export(here, signer=signer)
    rules = StoreRules(signed_packs_only=True, trusted_keys=(signer.public_key,))
    strict = shop.desk(rules)
    files = taken_apart(path)
    stripped = put_together(
        tmp_path / "stripped.zip", {name: content for name, content in files.items() if name != "signature.json"}
    )
    foreign = put_together(
        tmp_path / "foreign.zip", files | {"signature.json": new_signer().signature_file(files["datapackage.json"])}
    )
    for refused in (stripped, foreign):
        with pytest.raises(SignatureError):
            shop.bring(strict, refused)
    assert strict.store.release() is None
    assert shop.bring(strict, path).digest == release.digest
    # Elsewhere the stripped one is taken: it is whole, and it is said that nobody vouches for it.
    with open_release_pack(stripped, ANYTHING) as pack:
        assert pack.messages == ("The pack is not signed: it is whole, and nothing says who made it.",)
    shop.close()


def test_a_damaged_pack_is_not_signed_and_stays_as_it_was(shop: Shop, tmp_path: Path) -> None:
    here = shop.desk()
    publish(here, [record("corvane-1")])
    files = taken_apart(shop.export(here))
    path = put_together(tmp_path / "edited.zip", files | {"README.txt": b"another\n"})
    before = path.read_bytes()
    with pytest.raises(PackDamagedError):
        sign_release_pack(path, new_signer())
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["edited.zip"]
    shop.close()


def test_a_signature_that_cannot_be_stored_leaves_the_pack_as_it_was_and_nothing_beside_it(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = shop.desk()
    publish(here, [record("corvane-1")])
    path = put_together(tmp_path / "whole.zip", taken_apart(shop.export(here)))
    before = path.read_bytes()

    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("turnrule.actions.release_packs.writing.os.fsync", full)
    with pytest.raises(OSError, match="No space left"):
        sign_release_pack(path, new_signer())
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["whole.zip"]
    shop.close()


def test_a_new_key_is_another_each_time_and_comes_back_from_its_file() -> None:
    first, second = new_signer(), new_signer()
    assert first.public_key != second.public_key
    assert read_signer(first.private_pem(), "key").public_key == first.public_key
    public = load_pem_public_key(first.public_pem())
    assert isinstance(public, Ed25519PublicKey)
    assert public.public_bytes_raw().hex() == first.public_key


def test_a_file_that_holds_no_such_key_is_named() -> None:
    signer = new_signer()
    locked = signer.private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"secret"))
    other = generate_private_key(SECP256R1()).private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    for content, words in (
        (b"", "no private key"),
        (b"not a key", "no private key"),
        (signer.public_pem(), "no private key"),
        (locked, "without a password"),
        (other, "another kind"),
    ):
        with pytest.raises(KeyFileError, match=f"^shop.pem: .*{words}"):
            read_signer(content, "shop.pem")


def test_the_context_names_what_is_signed() -> None:
    assert CONTEXT == b"turnrule release pack, format 1\n"
