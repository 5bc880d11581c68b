"""The one place where rooms meet their means: settings become a store, a pack, a desk, an application."""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.release_packs import Signer, read_signer
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.release_pack import SIGNER
from turnrule.pack import Pack, PackError, load_pack
from turnrule.settings import Settings, SettingsError
from turnrule.store.port import Store
from turnrule.store.sqlite import open_sqlite


def open_store(settings: Settings, *, read_only: bool = False) -> Store:
    """The store that the settings name; it is not migrated here. Raises `SettingsError`, `StoreError`."""
    if not settings.is_embedded:
        raise SettingsError("TURNRULE_DATABASE: this version keeps its store in a file; give a path, not an address")
    return open_sqlite(Path(settings.database), read_only=read_only)


def read_pack(settings: Settings) -> Pack:
    """The reference pack that the settings name, or the one that came with the program."""
    return load_pack(Path(settings.pack) if settings.pack else None)


def open_desk(settings: Settings, *, read_only: bool = False) -> Desk:
    """Everything that a use case works with."""
    return Desk(open_store(settings, read_only=read_only), read_pack(settings), utc_now, new_id)


def build_app(settings: Settings) -> Flask:
    """The application over the store that the settings name; built in each worker, after it was forked."""
    app = build_api(open_desk(settings), ApiSettings(requests_per_minute=settings.rate_limit))
    if settings.pack_key:
        app.extensions[SIGNER] = _signer(Path(settings.pack_key))
    return app


def _signer(path: Path) -> Signer:
    """The key that signs the packs of releases. Raises `SettingsError` where the file cannot be read or is no key."""
    try:
        return read_signer(path.read_bytes(), str(path))
    except (OSError, PackError) as error:
        raise SettingsError(f"TURNRULE_PACK_KEY: {error}; name a key that turnrule pack new-key made") from error
