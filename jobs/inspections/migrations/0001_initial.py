import django.db.models.deletion
import django.db.models.expressions
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('work', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='FloodStart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('level', models.PositiveBigIntegerField(verbose_name='level at the start')),
                ('level_typed', models.CharField(max_length=40)),
                ('started_at', models.DateTimeField(verbose_name='started')),
                ('laid_at', models.DateTimeField(verbose_name='membrane finished')),
                ('is_cold', models.BooleanField(verbose_name='laid below 50 °F (10 °C)')),
                ('stands_seconds', models.PositiveIntegerField(verbose_name='water stands')),
                ('instrument', models.CharField(max_length=80, verbose_name='instrument')),
                ('note', models.CharField(blank=True, max_length=500, verbose_name='note')),
                ('recorded_at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['planned', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('stands_seconds__gt', 0)), name='flood_start_stands'), models.CheckConstraint(condition=models.Q(('started_at__gte', models.F('laid_at'))), name='flood_start_after_laid'), models.CheckConstraint(condition=models.Q(('instrument', ''), _negated=True), name='flood_start_has_instrument')],
            },
        ),
        migrations.CreateModel(
            name='CheckRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('kind', models.CharField(choices=[('reading', 'a reading'), ('answer', 'yes or no'), ('laid', 'a moment'), ('flood', 'a timed test')], max_length=8)),
                ('least', models.BigIntegerField(blank=True, null=True)),
                ('most', models.BigIntegerField(blank=True, null=True)),
                ('reading', models.PositiveBigIntegerField(blank=True, null=True, verbose_name='reading')),
                ('reading_typed', models.CharField(blank=True, max_length=40)),
                ('instrument', models.CharField(blank=True, max_length=80, verbose_name='instrument')),
                ('answer', models.BooleanField(blank=True, null=True, verbose_name='answer')),
                ('laid_at', models.DateTimeField(blank=True, null=True, verbose_name='last sheet embedded')),
                ('is_cold', models.BooleanField(blank=True, null=True, verbose_name='laid below 50 °F (10 °C)')),
                ('start_level', models.PositiveBigIntegerField(blank=True, null=True)),
                ('stood_seconds', models.PositiveIntegerField(blank=True, null=True)),
                ('stands_seconds', models.PositiveIntegerField(blank=True, null=True)),
                ('waited_seconds', models.PositiveIntegerField(blank=True, null=True)),
                ('wait_seconds', models.PositiveIntegerField(blank=True, null=True)),
                ('leak_seen', models.BooleanField(blank=True, null=True, verbose_name='water seen where it must not be')),
                ('note', models.CharField(blank=True, max_length=500, verbose_name='note')),
                ('reason', models.CharField(blank=True, max_length=300, verbose_name='why it is corrected')),
                ('observed_at', models.DateTimeField(verbose_name='looked at')),
                ('recorded_at', models.DateTimeField(verbose_name='recorded')),
                ('passed', models.GeneratedField(db_persist=True, expression=models.Case(models.When(models.Q(('answer', True), ('kind', 'answer')), then=models.Value(True)), models.When(models.Q(('kind', 'laid'), ('laid_at__isnull', False)), then=models.Value(True)), models.When(models.Q(('kind', 'reading'), models.Q(('least', None), ('reading__gte', models.F('least')), _connector='OR'), models.Q(('most', None), ('reading__lte', models.F('most')), _connector='OR')), then=models.Value(True)), models.When(models.Q(('kind', 'flood'), models.Q(('least', None), ('start_level__gte', models.F('least')), _connector='OR'), models.Q(('most', None), ('start_level__lte', models.F('most')), _connector='OR'), ('leak_seen', False), ('reading__gte', models.F('start_level')), ('reading__lte', django.db.models.expressions.CombinedExpression(models.F('start_level'), '+', models.Value(31750))), ('stood_seconds__gte', models.F('stands_seconds')), ('waited_seconds__gte', models.F('wait_seconds'))), then=models.Value(True)), default=models.Value(False)), output_field=models.BooleanField())),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='inspections.checkrecord')),
                ('flood_start', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='result', to='inspections.floodstart')),
            ],
            options={
                'verbose_name': 'inspection record',
                'verbose_name_plural': 'inspection records',
                'ordering': ['planned', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('answer__isnull', False), ('flood_start', None), ('kind', 'answer'), ('laid_at', None), ('reading', None)), models.Q(('answer', None), ('flood_start', None), ('is_cold__isnull', False), ('kind', 'laid'), ('laid_at__isnull', False), ('reading', None)), models.Q(('answer', None), ('flood_start', None), ('kind', 'reading'), ('laid_at', None), ('reading__isnull', False), models.Q(('least__isnull', False), ('most__isnull', False), _connector='OR'), models.Q(('instrument', ''), _negated=True)), models.Q(('answer', None), ('kind', 'flood'), ('laid_at', None), ('leak_seen__isnull', False), ('reading__isnull', False), ('stands_seconds__gt', 0), ('start_level__isnull', False), ('stood_seconds__isnull', False), ('wait_seconds__isnull', False), ('waited_seconds__isnull', False), models.Q(('flood_start__isnull', False), ('supersedes__isnull', False), _connector='OR'), models.Q(('instrument', ''), _negated=True)), _connector='OR'), name='record_has_its_evidence'), models.CheckConstraint(condition=models.Q(models.Q(('reason', ''), ('supersedes', None)), models.Q(('supersedes__isnull', False), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='record_correction_says_why')],
            },
        ),
        migrations.CreateModel(
            name='HoldPointOverride',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('step', models.CharField(choices=[('membrane', 'laying membrane'), ('flood test', 'the flood test'), ('tile', 'setting tile'), ('grout', 'grouting'), ('punch list', 'the punch list'), ('hand over', 'handing over')], max_length=12, verbose_name='for')),
                ('reason', models.CharField(max_length=500, verbose_name='reason')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hold_point_overrides', to='work.job')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='override_of_hold_has_reason'), models.CheckConstraint(condition=models.Q(('step__in', ['membrane', 'flood test', 'tile', 'grout', 'punch list', 'hand over'])), name='override_of_hold_step_known')],
            },
        ),
        migrations.CreateModel(
            name='InspectionPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField(verbose_name='made')),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='inspection_plan', to='work.job')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='NonConformance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('opened_at', models.DateTimeField(verbose_name='opened')),
                ('opened_by', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='non_conformance', to='inspections.checkrecord')),
            ],
            options={
                'verbose_name': 'non-conformance',
                'verbose_name_plural': 'non-conformances',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='CorrectiveAction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('text', models.CharField(max_length=500, verbose_name='what was done')),
                ('at', models.DateTimeField()),
                ('after', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspections.checkrecord')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('non_conformance', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='actions', to='inspections.nonconformance')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='corrective_action_says_what')],
            },
        ),
        migrations.CreateModel(
            name='Closure',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('record', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='closes', to='inspections.checkrecord')),
                ('non_conformance', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='closure', to='inspections.nonconformance')),
            ],
        ),
        migrations.CreateModel(
            name='PlannedCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('key', models.CharField(max_length=24)),
                ('hold', models.CharField(choices=[('substrate accepted', 'Substrate'), ('membrane accepted', 'Membrane'), ('flood test', 'Flood test'), ('setting coverage', 'Mortar contact'), ('movement joints', 'Movement joints'), ('final', 'Final check')], max_length=20, verbose_name='hold point')),
                ('kind', models.CharField(choices=[('reading', 'a reading'), ('answer', 'yes or no'), ('laid', 'a moment'), ('flood', 'a timed test')], max_length=8)),
                ('quantity', models.CharField(blank=True, choices=[('length', 'a length'), ('percent', 'per cent')], max_length=8)),
                ('room_key', models.CharField(blank=True, max_length=40)),
                ('room_name', models.CharField(blank=True, max_length=80, verbose_name='room')),
                ('surface_key', models.CharField(blank=True, max_length=40)),
                ('surface_name', models.CharField(blank=True, max_length=80, verbose_name='surface')),
                ('label', models.CharField(max_length=80, verbose_name='check')),
                ('ask', models.CharField(max_length=300, verbose_name='what to look at')),
                ('source', models.CharField(max_length=160, verbose_name='source')),
                ('instrument', models.CharField(blank=True, max_length=80, verbose_name='instrument')),
                ('needs_note', models.BooleanField(default=False)),
                ('least', models.BigIntegerField(blank=True, null=True, verbose_name='at least')),
                ('most', models.BigIntegerField(blank=True, null=True, verbose_name='at most')),
                ('wait_seconds', models.PositiveIntegerField(default=0, verbose_name='cure')),
                ('stands_seconds', models.PositiveIntegerField(default=0, verbose_name='water stands')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='inspections.inspectionplan')),
            ],
            options={
                'verbose_name': 'check',
                'verbose_name_plural': 'checks',
                'ordering': ['plan', 'position'],
                'constraints': [models.UniqueConstraint(fields=('plan', 'key', 'room_key', 'surface_key'), name='check_planned_once'), models.UniqueConstraint(fields=('plan', 'position'), name='check_position_once'), models.CheckConstraint(condition=models.Q(('hold__in', ['substrate accepted', 'membrane accepted', 'flood test', 'setting coverage', 'movement joints', 'final'])), name='check_hold_known'), models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ['answer', 'laid']), ('least', None), ('most', None), ('quantity', '')), models.Q(('kind__in', ['reading', 'flood']), ('quantity__in', ['length', 'percent']), models.Q(('least__isnull', False), ('most__isnull', False), _connector='OR')), _connector='OR'), name='check_reading_has_a_limit'), models.CheckConstraint(condition=models.Q(('least', None), ('most', None), ('least__lte', models.F('most')), _connector='OR'), name='check_limit_in_order'), models.CheckConstraint(condition=models.Q(models.Q(('kind', 'flood'), ('stands_seconds__gt', 0)), models.Q(models.Q(('kind', 'flood'), _negated=True), ('stands_seconds', 0)), _connector='OR'), name='check_flood_stands')],
            },
        ),
        migrations.AddField(
            model_name='nonconformance',
            name='planned',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='non_conformances', to='inspections.plannedcheck'),
        ),
        migrations.AddField(
            model_name='floodstart',
            name='planned',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='flood_starts', to='inspections.plannedcheck'),
        ),
        migrations.AddField(
            model_name='checkrecord',
            name='planned',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='inspections.plannedcheck'),
        ),
        migrations.CreateModel(
            name='WaivedCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sentence', models.CharField(max_length=400)),
                ('last_record', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspections.checkrecord')),
                ('override', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='waived', to='inspections.holdpointoverride')),
                ('planned', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='waived', to='inspections.plannedcheck')),
            ],
            options={
                'ordering': ['override', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('override', 'planned'), name='waived_once')],
            },
        ),
    ]
