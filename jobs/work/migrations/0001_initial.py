import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('customers', '0001_initial'),
        ('quotes', '0002_quote_is_frozen'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CrewMember',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='crew_places', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['job', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True, verbose_name='number')),
                ('title', models.CharField(max_length=120, verbose_name='title')),
                ('customer_name', models.CharField(max_length=120, verbose_name='customer')),
                ('stage', models.CharField(choices=[('accepted', 'to be scheduled'), ('scheduled', 'scheduled'), ('substrate', 'substrate'), ('membrane', 'membrane'), ('tile', 'tile and grout'), ('punch', 'punch list'), ('complete', 'complete'), ('cancelled', 'cancelled')], default='accepted', max_length=12, verbose_name='stage')),
                ('starts_on', models.DateField(blank=True, null=True, verbose_name='starts on')),
                ('crew_notes', models.TextField(blank=True, verbose_name='notes for the crew')),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('crew', models.ManyToManyField(related_name='jobs', through='work.CrewMember', to=settings.AUTH_USER_MODEL, verbose_name='crew')),
                ('quote', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='job', to='quotes.quote', verbose_name='quote')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='jobs', to='customers.site', verbose_name='site')),
            ],
            options={
                'verbose_name': 'job',
                'verbose_name_plural': 'jobs',
                'ordering': ['-number'],
                'indexes': [models.Index(fields=['stage', '-number'], name='job_by_stage'), models.Index(fields=['starts_on'], name='job_by_start')],
                'constraints': [models.CheckConstraint(condition=models.Q(('stage__in', ['accepted', 'scheduled', 'substrate', 'membrane', 'tile', 'punch', 'complete', 'cancelled'])), name='job_stage_known'), models.CheckConstraint(condition=models.Q(('stage__in', ['accepted', 'cancelled']), ('starts_on__isnull', False), _connector='OR'), name='job_under_way_has_a_start')],
            },
        ),
        migrations.AddField(
            model_name='crewmember',
            name='job',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='crew_members', to='work.job'),
        ),
        migrations.CreateModel(
            name='StageChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('stage', models.CharField(choices=[('accepted', 'to be scheduled'), ('scheduled', 'scheduled'), ('substrate', 'substrate'), ('membrane', 'membrane'), ('tile', 'tile and grout'), ('punch', 'punch list'), ('complete', 'complete'), ('cancelled', 'cancelled')], max_length=12, verbose_name='stage')),
                ('at', models.DateTimeField(verbose_name='at')),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='stage_changes', to='work.job')),
            ],
            options={
                'ordering': ['job', 'at', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('stage__in', ['accepted', 'scheduled', 'substrate', 'membrane', 'tile', 'punch', 'complete', 'cancelled'])), name='stage_change_stage_known')],
            },
        ),
        migrations.AddConstraint(
            model_name='crewmember',
            constraint=models.UniqueConstraint(fields=('job', 'person'), name='crew_member_once_a_job'),
        ),
    ]
