"""Photos only grow: the database itself refuses to change or remove a photo, or what was said of it."""

from django.db import migrations

from contracting.kept_rows import KeptRows, whole_rows

KEPT = KeptRows(
    "photo_only_grows",
    "a photo is never changed, only described anew or withdrawn",
    whole_rows("photos_photo", "photos_description", "photos_withdrawal"),
)


class Migration(migrations.Migration):
    dependencies = [("photos", "0001_initial")]

    operations = [KEPT.operation()]
