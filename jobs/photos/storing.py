"""The bytes of photos in Django's storage: on disk or in any S3-compatible store.

A finished picture is stored under the SHA-256 of its bytes. So storing is repeatable, equal pictures are one
file, and a hash that a warranty record names can be held against the file at any time. Pieces of an upload
are files of their own, since no S3 store can append.
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from collections.abc import Iterable

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

PHOTOS, UPLOADS = "photos", "photo-uploads"


class FileSpoilt(Exception):
    """A file is missing from the store, or its bytes are not those of its name."""


def name_of(sha256: str) -> str:
    """Return where the picture with this hash is stored."""
    return f"{PHOTOS}/{sha256[:2]}/{sha256}.jpg"


def put(content: bytes) -> str:
    """Store a picture, once, and return its hash."""
    sha256 = hashlib.sha256(content).hexdigest()
    name = name_of(sha256)
    if default_storage.exists(name):
        if default_storage.size(name) == len(content):
            return sha256
        # Somebody was killed while writing it: no row names it yet.
        default_storage.delete(name)
    stored = default_storage.save(name, ContentFile(content))
    if stored != name:
        # Another process stored the same picture in between.
        default_storage.delete(stored)
    return sha256


def read(sha256: str) -> bytes:
    """Return the picture with this hash.

    Raises:
        FileSpoilt: it is missing, or somebody changed its bytes.
    """
    try:
        with default_storage.open(name_of(sha256)) as file:
            content: bytes = file.read()
    except FileNotFoundError as error:
        raise FileSpoilt(sha256) from error
    if hashlib.sha256(content).hexdigest() != sha256:
        raise FileSpoilt(sha256)
    return content


def put_piece(key: uuid.UUID, offset: int, content: bytes) -> str:
    """Store bytes of an upload under a name that nobody else writes to, and return it."""
    name = f"{UPLOADS}/{key}/{offset:09d}-{secrets.token_hex(4)}"
    return default_storage.save(name, ContentFile(content))


def remove(name: str) -> None:
    """Remove a piece."""
    default_storage.delete(name)


def read_pieces(names: Iterable[str]) -> bytes:
    """Return the bytes of pieces, one after the other.

    Raises:
        FileSpoilt: one is missing.
    """
    whole = bytearray()
    for name in names:
        try:
            with default_storage.open(name) as file:
                whole += file.read()
        except FileNotFoundError as error:
            raise FileSpoilt(name) from error
    return bytes(whole)


def remove_pieces(key: uuid.UUID) -> None:
    """Remove everything of an upload, also what a killed server left behind."""
    folder = f"{UPLOADS}/{key}"
    try:
        _folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    for name in files:
        default_storage.delete(f"{folder}/{name}")
    # An empty folder; a store that has none deletes nothing.
    default_storage.delete(folder)
