import pytest


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
