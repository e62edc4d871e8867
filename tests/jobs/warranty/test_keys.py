"""The signing key: made once, readable by its owner alone, and rotated."""

import stat
from concurrent.futures import ThreadPoolExecutor

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from django.core.management import call_command

from jobs.warranty import journal, keys

from .factories import company

pytestmark = pytest.mark.django_db


def mode(place):
    return stat.S_IMODE(place.stat().st_mode)


def test_a_key_is_made_once_by_a_command(capsys, settings):
    company()

    call_command("make_signing_key")
    call_command("make_signing_key")

    told = capsys.readouterr().out
    key = keys.current_key()
    assert f"Signing key {key.fingerprint} is made" in told
    assert f"There is a signing key already: {key.fingerprint}" in told
    assert len(list(settings.SIGNING_KEY_DIR.glob("*.key.pem"))) == 1


def test_nobody_but_its_owner_reads_the_key(key, made_key):
    assert mode(made_key) == 0o700
    assert mode(made_key / key.key_file.name) == 0o600


def test_the_key_is_long_enough_and_its_certificate_only_signs(key):
    private = load_pem_private_key(key.key_file.read_bytes(), None)
    certificate = x509.load_pem_x509_certificate(key.certificate_file.read_bytes())

    assert private.key_size == 3072
    assert certificate.public_key() == private.public_key()
    assert "Quarry Lane Tile" in certificate.subject.rfc4514_string()
    assert not certificate.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert not certificate.extensions.get_extension_for_class(x509.KeyUsage).value.key_cert_sign
    assert (certificate.not_valid_after_utc - certificate.not_valid_before_utc).days > 50 * 365


def test_rotating_keeps_certificates_and_destroys_the_old_key(key, settings):
    call_command("make_signing_key", "--rotate")

    assert keys.current_key().fingerprint != key.fingerprint
    assert len(keys.certificate_files()) == 2
    assert [one.name for one in settings.SIGNING_KEY_DIR.glob("*.key.pem")] == [
        keys.current_key().key_file.name
    ]


def test_a_key_that_was_half_made_is_not_the_one_in_use(key):
    key.key_file.unlink()

    assert keys._current() is None


def test_the_demonstration_makes_its_key_when_it_is_needed():
    with ThreadPoolExecutor(4) as workers:
        found = list(workers.map(lambda n: keys.current_key().fingerprint, range(4)))

    assert len(set(found)) == 1


def test_outside_the_demonstration_a_missing_key_is_said(settings):
    settings.DEMO = False

    with pytest.raises(keys.KeyMissing, match="make_signing_key"):
        keys.current_key()


def test_a_line_of_the_journal_that_was_torn_is_left_out(key):
    journal.note(number="W-1001", sequence=1, sha256="a")
    with journal.journal_file().open("a") as file:
        file.write('{"number": "W-10')

    assert [line.number for line in journal.lines()] == ["W-1001"]
