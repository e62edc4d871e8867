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
            name='PhoneAct',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('kind', models.CharField(max_length=16)),
                ('fields', models.JSONField(default=dict)),
                ('made_at', models.DateTimeField()),
                ('offset_ms', models.BigIntegerField(default=0)),
                ('at', models.DateTimeField(verbose_name='at')),
                ('recorded_at', models.DateTimeField(verbose_name='recorded')),
                ('outcome', models.CharField(choices=[('done', 'done'), ('refused', 'refused')], max_length=8)),
                ('messages', models.JSONField(default=list)),
                ('job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='phone_acts', to='work.job')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='phone_acts', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'entry of a phone',
                'verbose_name_plural': 'entries of phones',
                'ordering': ['pk'],
                'indexes': [models.Index(fields=['job', 'person'], name='phone_act_by_job')],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('job__isnull', False), ('outcome', 'done')), models.Q(('outcome', 'refused'), models.Q(('messages', []), _negated=True)), _connector='OR'), name='phone_act_done_or_says_why'), models.CheckConstraint(condition=models.Q(('kind', ''), _negated=True), name='phone_act_has_a_kind')],
            },
        ),
        migrations.CreateModel(
            name='Mark',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('subject', models.CharField(choices=[('cut', 'piece of the cut list'), ('step', 'step of the sequence'), ('batch', 'batch of bonding agent'), ('timer', 'hours')], max_length=8)),
                ('ref', models.CharField(max_length=120)),
                ('state', models.CharField(choices=[('done', 'done'), ('undone', 'not done after all'), ('spread', 'agent spread'), ('embedded', 'sheets embedded'), ('running', 'timer started'), ('stopped', 'timer stopped')], max_length=8)),
                ('at', models.DateTimeField(verbose_name='at')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='crew_marks', to='work.job')),
                ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='mark', to='crew.phoneact')),
            ],
            options={
                'ordering': ['job', 'subject', 'ref', 'at', 'pk'],
                'indexes': [models.Index(fields=['job', 'subject', 'ref'], name='mark_by_subject')],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['done', 'undone']), ('subject__in', ['cut', 'step'])), models.Q(('state__in', ['spread', 'embedded', 'undone']), ('subject', 'batch')), models.Q(('state__in', ['running', 'stopped']), ('subject', 'timer')), _connector='OR'), name='mark_state_fits_its_subject'), models.CheckConstraint(condition=models.Q(('ref', ''), _negated=True), name='mark_says_of_what')],
            },
        ),
        migrations.CreateModel(
            name='LookAt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('why', models.CharField(choices=[('both', 'two people recorded the same thing'), ('changed', 'the job had changed meanwhile'), ('off_crew', 'somebody who is not on the crew'), ('refused', 'an entry was refused')], max_length=8)),
                ('made_at', models.DateTimeField()),
                ('seen_at', models.DateTimeField(null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='look_ats', to='work.job')),
                ('other', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('seen_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('act', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='look_at', to='crew.phoneact')),
            ],
            options={
                'ordering': ['-pk'],
                'indexes': [models.Index(fields=['seen_at', 'job'], name='look_at_open')],
                'constraints': [models.CheckConstraint(condition=models.Q(('why__in', ['both', 'changed', 'off_crew', 'refused'])), name='look_at_why_known'), models.CheckConstraint(condition=models.Q(models.Q(('seen_at', None), ('seen_by', None)), models.Q(('seen_at__isnull', False), ('seen_by__isnull', False)), _connector='OR'), name='look_at_seen_by_somebody')],
            },
        ),
    ]
