"""``verify_records`` names every record that was removed, re-ordered, dated back or altered."""

import json
import shutil

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection

from contracting.documents.models import DocumentRequest
from jobs.warranty import chain, services

from .factories import issued

pytestmark = pytest.mark.django_db
TABLE = "warranty_warrantyrecord"


@pytest.fixture
def records():
    return [issued(4001 + number) for number in range(4)]


def tamper(statement, *values):
    """Do what only somebody with the database in their hands can: past the guards."""
    with connection.cursor() as cursor:
        on = ""
        if connection.vendor == "postgresql":
            # A table with checks still to be made of it does not let go of its triggers.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            on = f"ON {TABLE}"
        for name in ("no_update", "no_delete", "at_the_end"):
            cursor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_{name} {on}")
        cursor.execute(statement, values)


def found(with_files=False):
    return [str(fault) for fault in chain.faults(with_files=with_files)]


def names(faults):
    return {fault.split(":")[0] for fault in faults}


def test_records_as_they_were_issued_hold(records, capsys):
    call_command("verify_records", "--chain-only")

    assert "4 warranty records: the chain holds." in capsys.readouterr().out


def test_a_removed_record_is_named_by_its_place(records):
    tamper(f"DELETE FROM {TABLE} WHERE id = %s", records[1].pk)

    faults = found()

    assert f"{records[2].number}: before it, records were removed: places 2." in faults
    # Its paper is still there, too.
    assert any("its record was removed" in one for one in faults)


def test_the_last_record_removed_is_seen_by_its_paper(records):
    tamper(f"DELETE FROM {TABLE} WHERE id = %s", records[3].pk)

    assert found() == [
        f"Warranty record {records[3].number}: its paper is there, and its record was removed."
    ]


def test_a_record_removed_with_its_paper_is_seen_by_the_journal(records, printed):
    for record in records:
        printed(record)
    tamper(f"DELETE FROM {TABLE} WHERE id = %s", records[3].pk)
    DocumentRequest.objects.filter(pk=records[3].document_id).delete()

    assert found() == [f"{records[3].number}: it was signed here, and it was removed from the records."]


def test_an_altered_record_is_named(records):
    content = json.loads(json.dumps(records[1].snapshot))
    content["warranty"]["years"] = 30
    tamper(f"UPDATE {TABLE} SET snapshot = %s WHERE id = %s", json.dumps(content), records[1].pk)

    assert found() == [f"{records[1].number}: its content was altered after it was issued."]


def test_an_altered_record_that_was_hashed_again_is_found_at_the_next(records):
    content = json.loads(json.dumps(records[1].snapshot))
    content["warranty"]["years"] = 30
    tamper(
        f"UPDATE {TABLE} SET snapshot = %s, sha256 = %s WHERE id = %s",
        json.dumps(content),
        services.content_sha256(content),
        records[1].pk,
    )

    assert names(found()) == {records[2].number}


def test_a_chain_that_was_written_anew_is_found_by_the_journal(records, printed):
    printed(records[3])
    content = json.loads(json.dumps(records[3].snapshot))
    content["warranty"]["years"] = 30
    # The last one has no successor, so its new hash contradicts nothing in the database.
    tamper(
        f"UPDATE {TABLE} SET snapshot = %s, sha256 = %s WHERE id = %s",
        json.dumps(content),
        services.content_sha256(content),
        records[3].pk,
    )

    assert found() == [f"{records[3].number}: what was signed here is not what the record says now."]
    assert f"{records[3].number}: the data in its PDF is not the record's." in found(with_files=True)


def test_a_record_dated_back_is_named(records):
    earlier = records[0].issued_at.replace(year=2020)
    tamper(f"UPDATE {TABLE} SET issued_at = %s WHERE id = %s", earlier, records[2].pk)

    faults = found()

    assert names(faults) == {records[2].number}
    assert any("its date of issue was altered" in one for one in faults)
    assert any("it is dated before" in one for one in faults)


def test_records_in_another_order_are_named(records):
    # By way of a free place, since two records never have the same.
    for place, record in ((99, records[1]), (2, records[2]), (3, records[1])):
        tamper(f"UPDATE {TABLE} SET sequence = %s WHERE id = %s", place, record.pk)

    assert names(found()) >= {records[1].number, records[2].number}


def test_a_record_moved_to_another_job_is_named(records):
    from .factories import inspected_job

    other = inspected_job(number=4999, is_measured=False)
    tamper(f"UPDATE {TABLE} SET job_id = %s WHERE id = %s", other.pk, records[2].pk)

    assert found() == [f"{records[2].number}: it was moved to another job."]


@pytest.mark.parametrize(("column", "value"), [("number", "W-9999"), ("code", "Z" * 20)])
def test_an_altered_column_is_named(records, column, value):
    tamper(f"UPDATE {TABLE} SET {column} = %s WHERE id = %s", value, records[1].pk)

    [fault] = found()
    assert value in fault


# --- The stored files -------------------------------------------------------------------------------------


def test_stored_files_as_they_were_signed_hold(records, printed, capsys):
    for record in records[:3]:
        printed(record)

    call_command("verify_records")

    told = capsys.readouterr().out
    assert "the chain holds" in told
    assert f"{records[3].number}: its PDF is not made yet." in told


def test_an_exchanged_file_is_named(records, printed):
    pdf = bytearray(printed(records[0]))
    pdf[3000] ^= 1
    exchange(records[0], bytes(pdf))

    assert found(with_files=True) == [f"{records[0].number}: its PDF is not the one that was stored."]


def test_a_file_exchanged_with_its_hash_is_named_by_its_signature(records, printed):
    import hashlib

    pdf = bytearray(printed(records[0]))
    pdf[3000] ^= 1
    exchange(records[0], bytes(pdf))
    DocumentRequest.objects.filter(pk=records[0].document_id).update(sha256=hashlib.sha256(pdf).hexdigest())

    assert found(with_files=True) == [f"{records[0].number}: the signature of its PDF does not hold."]


def exchange(record, pdf):
    place = record.document.file
    default_storage.delete(place)
    default_storage.save(place, ContentFile(pdf))


def test_a_file_that_is_gone_is_named(records, printed, settings):
    printed(records[0])
    shutil.rmtree(settings.MEDIA_ROOT)

    assert found(with_files=True) == [f"{records[0].number}: its PDF is gone from the store."]


def test_the_command_names_faults_and_leaves_with_one(records, capsys):
    tamper(f"DELETE FROM {TABLE} WHERE id = %s", records[1].pk)

    with pytest.raises(CommandError, match="faults in 3 warranty records") as left:
        call_command("verify_records", "--chain-only")

    assert left.value.returncode == 1
    assert records[2].number in capsys.readouterr().err


def test_no_record_at_all_holds_too(capsys):
    call_command("verify_records", "--chain-only")

    assert "0 warranty records: the chain holds." in capsys.readouterr().out
