import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='WorkingTime',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('start_of_day', models.TimeField(blank=True, null=True, verbose_name='work starts')),
                ('end_of_day', models.TimeField(blank=True, null=True, verbose_name='work ends')),
                ('weekdays', models.PositiveSmallIntegerField(default=0)),
                ('set_at', models.DateTimeField()),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('end_of_day__isnull', True), ('start_of_day__isnull', True), ('weekdays', 0)), models.Q(('start_of_day__lt', models.F('end_of_day')), ('weekdays__gte', 1), ('weekdays__lte', 127)), _connector='OR'), name='working_time_day_ends_after_it_starts')],
            },
        ),
        migrations.CreateModel(
            name='WorkBreak',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('starts', models.TimeField()),
                ('ends', models.TimeField()),
                ('working_time', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='breaks', to='practice.workingtime')),
            ],
            options={
                'ordering': ['working_time', 'starts'],
                'constraints': [models.CheckConstraint(condition=models.Q(('starts__lt', models.F('ends'))), name='work_break_ends_after_it_starts')],
            },
        ),
        migrations.CreateModel(
            name='Holiday',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField(verbose_name='day')),
                ('name', models.CharField(blank=True, max_length=60, verbose_name='name')),
                ('working_time', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='holidays', to='practice.workingtime')),
            ],
            options={
                'ordering': ['working_time', 'day'],
                'constraints': [models.UniqueConstraint(fields=('working_time', 'day'), name='holiday_once')],
            },
        ),
        migrations.CreateModel(
            name='FactorValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=60)),
                ('source', models.CharField(blank=True, max_length=200, verbose_name='what says so')),
                ('set_at', models.DateTimeField()),
                ('multiplier_millionths', models.BigIntegerField(blank=True, null=True)),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'abstract': False,
                'indexes': [models.Index(fields=['key', '-id'], name='factor_value_newest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('key', ''), _negated=True), name='factor_value_has_key'), models.CheckConstraint(condition=models.Q(('multiplier_millionths__isnull', True), ('multiplier_millionths__gt', 0), _connector='OR'), name='factor_value_above_zero'), models.CheckConstraint(condition=models.Q(('multiplier_millionths__isnull', False), ('source', ''), _connector='OR'), name='factor_value_default_is_bare')],
            },
        ),
        migrations.CreateModel(
            name='PracticeValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=60)),
                ('source', models.CharField(blank=True, max_length=200, verbose_name='what says so')),
                ('set_at', models.DateTimeField()),
                ('value_millionths', models.BigIntegerField(blank=True, null=True)),
                ('unit', models.CharField(blank=True, max_length=20)),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'abstract': False,
                'indexes': [models.Index(fields=['key', '-id'], name='practice_value_newest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('key', ''), _negated=True), name='practice_value_has_key'), models.CheckConstraint(condition=models.Q(('value_millionths__isnull', True), ('value_millionths__gte', 0), _connector='OR'), name='practice_value_not_negative'), models.CheckConstraint(condition=models.Q(('value_millionths__isnull', False), models.Q(('source', ''), ('unit', '')), _connector='OR'), name='practice_value_default_is_bare')],
            },
        ),
        migrations.CreateModel(
            name='RateValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=60)),
                ('source', models.CharField(blank=True, max_length=200, verbose_name='what says so')),
                ('set_at', models.DateTimeField()),
                ('optimistic_millionths', models.BigIntegerField(blank=True, null=True)),
                ('likely_millionths', models.BigIntegerField(blank=True, null=True)),
                ('pessimistic_millionths', models.BigIntegerField(blank=True, null=True)),
                ('unit', models.CharField(blank=True, max_length=20)),
                ('setup_minutes', models.PositiveIntegerField(blank=True, null=True)),
                ('minimum_minutes', models.PositiveIntegerField(blank=True, null=True)),
                ('crew', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'abstract': False,
                'indexes': [models.Index(fields=['key', '-id'], name='rate_value_newest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('key', ''), _negated=True), name='rate_value_has_key'), models.CheckConstraint(condition=models.Q(models.Q(('crew__isnull', True), ('likely_millionths__isnull', True), ('minimum_minutes__isnull', True), ('optimistic_millionths__isnull', True), ('pessimistic_millionths__isnull', True), ('setup_minutes__isnull', True), ('source', ''), ('unit', '')), models.Q(('crew__isnull', False), ('likely_millionths__isnull', False), ('minimum_minutes__isnull', False), ('optimistic_millionths__isnull', False), ('pessimistic_millionths__isnull', False), ('setup_minutes__isnull', False), models.Q(('unit', ''), _negated=True)), _connector='OR'), name='rate_value_whole_or_default'), models.CheckConstraint(condition=models.Q(('likely_millionths__isnull', True), models.Q(('likely_millionths__gte', models.F('pessimistic_millionths')), ('optimistic_millionths__gte', models.F('likely_millionths')), ('pessimistic_millionths__gt', 0)), _connector='OR'), name='rate_value_above_zero_and_falls'), models.CheckConstraint(condition=models.Q(('crew__isnull', True), ('crew__gte', 1), _connector='OR'), name='rate_value_has_a_crew')],
            },
        ),
    ]
