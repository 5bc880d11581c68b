"""Where the pack lies: beside the package in an installed copy, at the top of the tree in a checkout."""

from __future__ import annotations

from pathlib import Path

from turnrule.pack.reader import PackError

_PACKAGE = Path(__file__).resolve().parent.parent
_INSTALLED = _PACKAGE / "_reference"
_CHECKOUT = _PACKAGE.parent.parent / "reference"


def pack_folder(named: Path | None = None) -> Path:
    """The folder that is named, or the pack that came with this program. Raises `PackError` where there is none."""
    places = [named] if named is not None else [_INSTALLED, _CHECKOUT]
    for place in places:
        if (place / "datapackage.json").is_file():
            return place
    looked = " and ".join(str(place) for place in places)
    raise PackError(looked, "no datapackage.json here; name the folder of a pack, or install the program again")
