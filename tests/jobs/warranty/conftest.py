"""Keys and files of a test's own."""

import shutil

import pytest


@pytest.fixture(autouse=True)
def _folders(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.SIGNING_KEY_DIR = tmp_path / "keys"


@pytest.fixture(scope="session")
def made_key(tmp_path_factory):
    """One key of 3072 bits for all tests, since making one takes its time."""
    from django.test import override_settings

    from jobs.warranty import keys

    folder = tmp_path_factory.mktemp("signing") / "keys"
    with override_settings(SIGNING_KEY_DIR=folder):
        keys.key_make(company="Quarry Lane Tile")
    return folder


@pytest.fixture
def key(made_key, settings):
    """The test's own copy of the key folder, with an empty journal."""
    from jobs.warranty import keys

    shutil.copytree(made_key, settings.SIGNING_KEY_DIR)
    return keys.current_key()


@pytest.fixture
def printed(pango, key):
    """Make a record's PDF as the worker does, and return its bytes."""
    from django.core.files.storage import default_storage

    from contracting.documents.tasks import render_document

    def done(record) -> bytes:
        render_document(record.document_id)
        record.document.refresh_from_db()
        assert record.document.is_done, record.document.error
        with default_storage.open(record.document.file) as file:
            return file.read()

    return done
