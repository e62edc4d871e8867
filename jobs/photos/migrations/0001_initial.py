import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('work', '0004_job_papers'),
    ]

    operations = [
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, unique=True, verbose_name='key')),
                ('at', models.DateTimeField(verbose_name='stored')),
                ('taken_at', models.DateTimeField(verbose_name='taken')),
                ('camera_at', models.DateTimeField(blank=True, null=True, verbose_name='time of the camera')),
                ('kind', models.CharField(choices=[('jpeg', 'JPEG'), ('png', 'PNG'), ('heic', 'HEIC'), ('webp', 'WebP')], max_length=4, verbose_name='sent as')),
                ('source_sha256', models.CharField(max_length=64)),
                ('sha256', models.CharField(max_length=64)),
                ('byte_count', models.PositiveIntegerField(verbose_name='bytes')),
                ('width', models.PositiveIntegerField(verbose_name='width')),
                ('height', models.PositiveIntegerField(verbose_name='height')),
                ('paper_sha256', models.CharField(max_length=64)),
                ('small_sha256', models.CharField(max_length=64)),
                ('latitude', models.IntegerField(blank=True, null=True, verbose_name='latitude')),
                ('longitude', models.IntegerField(blank=True, null=True, verbose_name='longitude')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='taken by')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='work.job', verbose_name='job')),
            ],
            options={
                'verbose_name': 'photo',
                'verbose_name_plural': 'photos',
                'ordering': ['job', 'taken_at', 'pk'],
                'indexes': [models.Index(fields=['job', 'taken_at'], name='photo_by_job')],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['jpeg', 'png', 'heic', 'webp'])), name='photo_kind_known'), models.CheckConstraint(condition=models.Q(models.Q(('sha256', ''), _negated=True), models.Q(('paper_sha256', ''), _negated=True), models.Q(('small_sha256', ''), _negated=True), models.Q(('source_sha256', ''), _negated=True)), name='photo_has_its_files'), models.CheckConstraint(condition=models.Q(('byte_count__gt', 0), ('height__gt', 0), ('width__gt', 0)), name='photo_has_a_size'), models.CheckConstraint(condition=models.Q(models.Q(('latitude', None), ('longitude', None)), models.Q(('latitude__gte', -900000000), ('latitude__isnull', False), ('latitude__lte', 900000000), ('longitude__gte', -1800000000), ('longitude__isnull', False), ('longitude__lte', 1800000000)), _connector='OR'), name='photo_place_on_earth'), models.CheckConstraint(condition=models.Q(('taken_at__lte', models.F('at'))), name='photo_taken_before_stored')],
            },
        ),
        migrations.CreateModel(
            name='Description',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, unique=True)),
                ('caption', models.CharField(blank=True, max_length=300, verbose_name='caption')),
                ('arrows', models.JSONField(blank=True, default=list, verbose_name='arrows')),
                ('about_kind', models.CharField(choices=[('job', 'the whole job'), ('room', 'a room'), ('surface', 'a surface'), ('step', 'a trade step'), ('check', 'a check'), ('flood', 'a flood test'), ('punch', 'a punch list item'), ('note', 'a note of the day')], default='job', max_length=8, verbose_name='belongs to')),
                ('about_ref', models.CharField(blank=True, max_length=120)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='photos.description')),
                ('photo', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='descriptions', to='photos.photo')),
            ],
            options={
                'ordering': ['photo', 'pk'],
                'indexes': [models.Index(fields=['about_kind', 'about_ref'], name='photo_by_about')],
                'constraints': [models.CheckConstraint(condition=models.Q(('about_kind__in', ['job', 'room', 'surface', 'step', 'check', 'flood', 'punch', 'note'])), name='photo_description_about_known'), models.UniqueConstraint(condition=models.Q(('supersedes', None)), fields=('photo',), name='photo_first_description_once'), models.CheckConstraint(condition=models.Q(('supersedes', None), models.Q(('supersedes', models.F('pk')), _negated=True), _connector='OR'), name='photo_description_not_its_own_successor')],
            },
        ),
        migrations.CreateModel(
            name='PhotoUpload',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, unique=True)),
                ('size', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64)),
                ('taken_at', models.DateTimeField()),
                ('caption', models.CharField(blank=True, max_length=300)),
                ('about_kind', models.CharField(choices=[('job', 'the whole job'), ('room', 'a room'), ('surface', 'a surface'), ('step', 'a trade step'), ('check', 'a check'), ('flood', 'a flood test'), ('punch', 'a punch list item'), ('note', 'a note of the day')], default='job', max_length=8)),
                ('about_ref', models.CharField(blank=True, max_length=120)),
                ('offset', models.PositiveIntegerField(default=0)),
                ('spoilt', models.PositiveSmallIntegerField(default=0)),
                ('state', models.CharField(choices=[('receiving', 'on its way'), ('ready', 'ready'), ('refused', 'refused')], default='receiving', max_length=10)),
                ('message', models.CharField(blank=True, max_length=400)),
                ('started_at', models.DateTimeField()),
                ('moved_at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='work.job')),
                ('photo', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='upload', to='photos.photo')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('state', 'receiving')), fields=['moved_at'], name='photo_upload_on_its_way')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['receiving', 'ready', 'refused'])), name='photo_upload_state_known'), models.CheckConstraint(condition=models.Q(('offset__lte', models.F('size')), ('size__gt', 0)), name='photo_upload_within_its_size'), models.CheckConstraint(condition=models.Q(models.Q(('photo__isnull', False), ('state', 'ready')), models.Q(models.Q(('state', 'ready'), _negated=True), ('photo', None)), _connector='OR'), name='photo_upload_ready_has_its_photo'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'refused'), _negated=True), models.Q(('message', ''), _negated=True), _connector='OR'), name='photo_upload_refused_says_why')],
            },
        ),
        migrations.CreateModel(
            name='UploadPiece',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('offset', models.PositiveIntegerField()),
                ('length', models.PositiveIntegerField()),
                ('file', models.CharField(max_length=200)),
                ('upload', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='pieces', to='photos.photoupload')),
            ],
            options={
                'ordering': ['upload', 'offset'],
                'constraints': [models.UniqueConstraint(fields=('upload', 'offset'), name='upload_piece_once'), models.CheckConstraint(condition=models.Q(('length__gt', 0)), name='upload_piece_not_empty')],
            },
        ),
        migrations.CreateModel(
            name='Withdrawal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300, verbose_name='reason')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('photo', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='photos.photo')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='photo_withdrawal_says_why')],
            },
        ),
    ]
