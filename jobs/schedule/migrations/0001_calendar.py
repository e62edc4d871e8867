import django.core.serializers.json
import django.db.models.deletion
import uuid
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
            name='Plan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveIntegerField(default=1)),
                ('network', models.JSONField(default=dict)),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='plan', to='work.job', verbose_name='job')),
            ],
            options={
                'verbose_name': 'plan of a job',
                'verbose_name_plural': 'plans of jobs',
                'constraints': [models.CheckConstraint(condition=models.Q(('revision__gte', 1)), name='plan_revision_counts')],
            },
        ),
        migrations.CreateModel(
            name='PlanChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveIntegerField()),
                ('kind', models.CharField(choices=[('made', 'planned from the sequence'), ('moved', 'moved a visit'), ('added', 'added a visit'), ('dropped', 'took a visit off'), ('undone', 'undid the change before'), ('followed', 'followed the job')], max_length=8)),
                ('said', models.JSONField(default=list)),
                ('before', models.JSONField(default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='changes', to='schedule.plan')),
            ],
            options={
                'ordering': ['-pk'],
                'indexes': [models.Index(fields=['by', '-at'], name='plan_change_by_person')],
                'constraints': [models.UniqueConstraint(fields=('plan', 'revision'), name='plan_change_once_a_revision'), models.CheckConstraint(condition=models.Q(('kind__in', ['made', 'moved', 'added', 'dropped', 'undone', 'followed'])), name='plan_change_kind_known')],
            },
        ),
        migrations.CreateModel(
            name='Visit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('position', models.PositiveSmallIntegerField()),
                ('day', models.DateField(verbose_name='day')),
                ('starts_at', models.DateTimeField(verbose_name='starts')),
                ('ends_at', models.DateTimeField(verbose_name='ends')),
                ('minutes', models.PositiveSmallIntegerField(verbose_name='minutes of work')),
                ('parts', models.JSONField(blank=True, default=list)),
                ('steps', models.JSONField(blank=True, default=list)),
                ('rooms', models.JSONField(blank=True, default=list)),
                ('title', models.CharField(blank=True, max_length=80, verbose_name='what for')),
                ('set_at', models.DateTimeField(blank=True, null=True)),
                ('waits_until', models.DateTimeField(blank=True, null=True)),
                ('waits_for', models.JSONField(blank=True, null=True)),
                ('cancelled_at', models.DateTimeField(blank=True, null=True)),
                ('sequence', models.PositiveIntegerField(default=0)),
                ('made_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='visits', to='schedule.plan')),
                ('set_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'visit',
                'verbose_name_plural': 'visits',
                'ordering': ['starts_at', 'pk'],
                'indexes': [models.Index(fields=['day'], name='visit_by_day'), models.Index(fields=['plan', 'position'], name='visit_by_plan')],
                'constraints': [models.CheckConstraint(condition=models.Q(('ends_at__gt', models.F('starts_at'))), name='visit_ends_after_it_starts'), models.CheckConstraint(condition=models.Q(('minutes__gte', 1), ('minutes__lte', 1440)), name='visit_within_a_day'), models.CheckConstraint(condition=models.Q(models.Q(('set_at', None), ('set_by', None)), models.Q(('set_at__isnull', False), ('set_by__isnull', False)), _connector='OR'), name='visit_set_by_somebody'), models.CheckConstraint(condition=models.Q(('changed_at__gte', models.F('made_at'))), name='visit_changed_after_made')],
            },
        ),
        migrations.CreateModel(
            name='VisitPerson',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('left_at', models.DateTimeField(blank=True, null=True)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='visits', to=settings.AUTH_USER_MODEL)),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='people', to='schedule.visit')),
            ],
            options={
                'ordering': ['visit', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('visit', 'person'), name='visit_person_once')],
            },
        ),
        migrations.CreateModel(
            name='Wait',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('cure', models.CharField(max_length=40)),
                ('label', models.JSONField()),
                ('starts_at', models.DateTimeField()),
                ('ends_at', models.DateTimeField()),
                ('holds', models.BooleanField(default=True)),
                ('visit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='waits', to='schedule.visit')),
            ],
            options={
                'ordering': ['starts_at', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('ends_at__gt', models.F('starts_at'))), name='wait_ends_after_it_starts'), models.UniqueConstraint(fields=('visit', 'cure'), name='wait_once_after_a_visit')],
            },
        ),
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_on', models.DateField(verbose_name='first day')),
                ('last_on', models.DateField(verbose_name='last day')),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='days_off', to=settings.AUTH_USER_MODEL, verbose_name='person')),
            ],
            options={
                'verbose_name': 'days off',
                'verbose_name_plural': 'days off',
                'ordering': ['first_on', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('last_on__gte', models.F('first_on'))), name='day_off_ends_after_it_starts'), models.UniqueConstraint(fields=('person', 'first_on'), name='day_off_starts_once')],
            },
        ),
        migrations.CreateModel(
            name='FeedLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('is_office', models.BooleanField(default=False)),
                ('token_sha256', models.CharField(editable=False, max_length=64, unique=True)),
                ('language', models.CharField(default='en', max_length=5)),
                ('made_at', models.DateTimeField()),
                ('read_at', models.DateTimeField(blank=True, null=True)),
                ('body_sha256', models.CharField(blank=True, editable=False, max_length=64)),
                ('changed_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('person', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='feed_links', to=settings.AUTH_USER_MODEL)),
                ('revoked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('person__isnull', False), ('revoked_at', None)), fields=('person',), name='feed_one_open_a_person'), models.UniqueConstraint(condition=models.Q(('is_office', True), ('revoked_at', None)), fields=('is_office',), name='feed_one_open_for_the_office'), models.CheckConstraint(condition=models.Q(models.Q(('is_office', True), ('person', None)), models.Q(('is_office', False), ('person__isnull', False)), _connector='OR'), name='feed_of_a_person_or_the_office'), models.CheckConstraint(condition=models.Q(models.Q(('revoked_at', None), ('revoked_by', None)), models.Q(('revoked_at__isnull', False), ('revoked_by__isnull', False)), _connector='OR'), name='feed_revoked_by_somebody')],
            },
        ),
    ]
