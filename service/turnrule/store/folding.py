"""How makes and models are compared: without regard to case, width, composition and runs of spaces.

The key is for comparing only; what a person wrote is kept beside it and shown. Every adapter folds here, in
Python, so that one look-up finds the same records whatever stands behind the store.
"""

from __future__ import annotations

from unicodedata import normalize


def fold(text: str) -> str:
    """The key under which a make or model is found; folding a key gives the key again.

    Case is folded twice around the compatibility form, as a caseless compatibility match asks (The Unicode
    Standard, section 3.13, D146), and runs of white space become one space.
    """
    if text.isascii():
        return " ".join(text.lower().split())
    once = normalize("NFKC", normalize("NFD", text).casefold())
    return " ".join(normalize("NFKC", once.casefold()).split())
