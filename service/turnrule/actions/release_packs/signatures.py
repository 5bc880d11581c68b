"""Who vouches for a release pack: an Ed25519 signature over the exact bytes of its datapackage.json.

The file names the digest of every other one, so that the signature covers the whole pack. What is signed begins with
a context of its own: no other document signed with the same key can be passed off as a pack. RFC 8032, section 5.1.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from turnrule.actions.release_packs.damage import KeyFileError, PackDamagedError, RowError, SignatureError
from turnrule.actions.release_packs.members import Members, canonical_line, parsed
from turnrule.store.limit_records import StoreRules

ALGORITHM = "Ed25519"
CONTEXT = b"turnrule release pack, format 1\n"
"""Stands before the bytes that are signed."""
SIGNATURE_FILE, SIGNED_FILE = "signature.json", "datapackage.json"

_NAMES = frozenset({"algorithm", "public_key", "signature"})
_PUBLIC_KEY = re.compile("[0-9a-f]{64}", re.ASCII)
_SIGNATURE = re.compile("[0-9a-f]{128}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Signer:
    """A private key that signs packs; `public_key` is the other half, 32 bytes in hexadecimal."""

    private: Ed25519PrivateKey

    @property
    def public_key(self) -> str:
        """What a store has to trust for the packs that this key signs."""
        return self.private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw).hex()

    def signature_file(self, datapackage: bytes) -> bytes:
        """The content of signature.json for these bytes of datapackage.json; the same ones each time."""
        document = {
            "algorithm": ALGORITHM,
            "public_key": self.public_key,
            "signature": self.private.sign(CONTEXT + datapackage).hex(),
        }
        return canonical_line(document) + b"\n"

    def private_pem(self) -> bytes:
        """The private key as PEM (PKCS 8, not encrypted): whoever reads it can sign."""
        return self.private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())

    def public_pem(self) -> bytes:
        """The public key as PEM (SubjectPublicKeyInfo, RFC 8410)."""
        return self.private.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def new_signer() -> Signer:
    """A key that nobody had before."""
    return Signer(Ed25519PrivateKey.generate())


def read_signer(pem: bytes, name: str) -> Signer:
    """The private key in a PEM file of this name. Raises `KeyFileError`."""
    try:
        key = load_pem_private_key(pem, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        detail = "holds no private key in PEM without a password; make one with 'turnrule pack new-key'"
        raise KeyFileError(name, detail) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise KeyFileError(name, "holds a key of another kind; packs are signed with Ed25519 keys only")
    return Signer(key)


def signer_in(signature_file: bytes, datapackage: bytes) -> str:
    """The public key whose signature over datapackage.json this is.

    Raises `SignatureError` where it is not, and `PackDamagedError` where the file is not as one is written.
    """
    try:
        key, signature = _read(signature_file)
    except RowError as error:
        raise PackDamagedError(SIGNATURE_FILE, None, str(error)) from None
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(signature), CONTEXT + datapackage)
    except (InvalidSignature, ValueError):
        detail = f"is no signature of {SIGNED_FILE} by the key {key}; one of the two files was changed"
        raise SignatureError(SIGNATURE_FILE, detail) from None
    return key


def _read(signature_file: bytes) -> tuple[str, str]:
    """The public key and the signature that the file holds, both in hexadecimal."""
    members = Members(parsed(signature_file), _NAMES)
    key, signature = members.text("public_key"), members.text("signature")
    if members.text("algorithm") != ALGORITHM or not _PUBLIC_KEY.fullmatch(key):
        raise RowError(f"names no {ALGORITHM} key in 64 hexadecimal digits")
    if not _SIGNATURE.fullmatch(signature):
        raise RowError("holds no signature of 128 hexadecimal digits")
    if canonical_line({name: members.raw(name) for name in _NAMES}) + b"\n" != signature_file:
        raise RowError("is not written in the pack's own form")
    return key, signature


def require_trust(signed_by: str | None, rules: StoreRules) -> tuple[str, ...]:
    """What to tell whoever brings the pack in. Raises `SignatureError` where the store does not take it."""
    trusted = {key.lower() for key in rules.trusted_keys}
    if signed_by is None:
        if rules.signed_packs_only:
            raise SignatureError(SIGNATURE_FILE, "is not there, and this store takes signed packs only")
        return ("The pack is not signed: it is whole, and nothing says who made it.",)
    if signed_by in trusted:
        return ()
    if rules.signed_packs_only:
        detail = f"is by the key {signed_by}, which this store does not trust; it takes packs of trusted keys only"
        raise SignatureError(SIGNATURE_FILE, detail)
    known = "this store trusts no key yet" if not trusted else "this store trusts other keys"
    remedy = "compare it with whoever made the pack, then trust it with 'turnrule store rules --trust'"
    return (f"The pack is signed by the key {signed_by}, and {known}: {remedy}.",)
