"""A release as a data pack: written, signed, read strictly, and brought into another store."""

from turnrule.actions.release_packs.damage import KeyFileError, PackDamagedError, SignatureError
from turnrule.actions.release_packs.importing import (
    Brought,
    ImportPlan,
    bring_in,
    import_release_pack,
    plan_import,
)
from turnrule.actions.release_packs.manifest import FORMAT, FORMAT_VERSION
from turnrule.actions.release_packs.reading import Progress, ReleasePack, open_release_pack
from turnrule.actions.release_packs.signatures import Signer, new_signer, read_signer
from turnrule.actions.release_packs.writing import sign_release_pack, write_release_pack

__all__ = [
    "FORMAT",
    "FORMAT_VERSION",
    "Brought",
    "ImportPlan",
    "KeyFileError",
    "PackDamagedError",
    "Progress",
    "ReleasePack",
    "SignatureError",
    "Signer",
    "bring_in",
    "import_release_pack",
    "new_signer",
    "open_release_pack",
    "plan_import",
    "read_signer",
    "sign_release_pack",
    "write_release_pack",
]
