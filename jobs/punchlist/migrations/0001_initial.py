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
            name='Callback',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, unique=True)),
                ('number', models.PositiveIntegerField(verbose_name='number')),
                ('reported_on', models.DateField(verbose_name='reported on')),
                ('reported_by', models.CharField(max_length=120, verbose_name='reported by')),
                ('text', models.CharField(max_length=500, verbose_name='what was reported')),
                ('room_name', models.CharField(blank=True, max_length=120, verbose_name='room')),
                ('at', models.DateTimeField()),
                ('state', models.CharField(choices=[('reported', 'reported'), ('planned', 'visit planned'), ('found', 'looked at'), ('resolved', 'resolved')], default='reported', max_length=10, verbose_name='state')),
                ('visit_on', models.DateField(blank=True, null=True, verbose_name='visit on')),
                ('cause', models.CharField(blank=True, choices=[('workmanship', 'workmanship'), ('material', 'material'), ('movement', 'movement or structure of the building'), ('use', 'use or maintenance'), ('other', 'something else')], max_length=12, verbose_name='cause')),
                ('is_covered', models.BooleanField(blank=True, null=True, verbose_name='covered by the warranty')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='callbacks', to='work.job', verbose_name='job')),
                ('visitor', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='callback_visits', to=settings.AUTH_USER_MODEL, verbose_name='who visits')),
            ],
            options={
                'verbose_name': 'callback',
                'verbose_name_plural': 'callbacks',
                'ordering': ['-reported_on', '-pk'],
                'indexes': [models.Index(fields=['state', 'visit_on'], name='callback_by_state')],
                'constraints': [models.UniqueConstraint(fields=('job', 'number'), name='callback_number_once_a_job'), models.CheckConstraint(condition=models.Q(models.Q(('text', ''), _negated=True), models.Q(('reported_by', ''), _negated=True)), name='callback_says_what_and_who'), models.CheckConstraint(condition=models.Q(('state__in', ['reported', 'planned', 'found', 'resolved'])), name='callback_state_known'), models.CheckConstraint(condition=models.Q(('cause__in', ['', 'workmanship', 'material', 'movement', 'use', 'other'])), name='callback_cause_known'), models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['found', 'resolved']), _negated=True), models.Q(('cause', ''), _negated=True), _connector='OR'), name='callback_looked_at_has_a_cause')],
            },
        ),
        migrations.CreateModel(
            name='CallbackEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('callback', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='punchlist.callback')),
                ('cost', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='of_callback', to='work.costentry')),
                ('delivery', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='of_callback', to='work.deliveryentry')),
                ('hours', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='of_callback', to='work.hoursentry')),
            ],
            options={
                'ordering': ['callback', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('cost', None), ('delivery', None), ('hours__isnull', False)), models.Q(('cost', None), ('delivery__isnull', False), ('hours', None)), models.Q(('cost__isnull', False), ('delivery', None), ('hours', None)), _connector='OR'), name='callback_entry_is_one_entry')],
            },
        ),
        migrations.CreateModel(
            name='CallbackEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(choices=[('reported', 'reported'), ('planned', 'visit planned'), ('found', 'looked at'), ('decided', 'warranty decided'), ('resolved', 'resolved'), ('reopened', 'reported again')], max_length=10)),
                ('day', models.DateField(blank=True, null=True)),
                ('cause', models.CharField(blank=True, choices=[('workmanship', 'workmanship'), ('material', 'material'), ('movement', 'movement or structure of the building'), ('use', 'use or maintenance'), ('other', 'something else')], max_length=12)),
                ('is_covered', models.BooleanField(blank=True, null=True)),
                ('text', models.CharField(blank=True, max_length=500)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('callback', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='punchlist.callback')),
                ('visitor', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['callback', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['reported', 'planned', 'found', 'decided', 'resolved', 'reopened'])), name='callback_event_kind_known'), models.CheckConstraint(condition=models.Q(('kind__in', ['reported', 'planned', 'decided']), models.Q(('text', ''), _negated=True), _connector='OR'), name='callback_event_says_what'), models.CheckConstraint(condition=models.Q(models.Q(('kind', 'found'), _negated=True), ('cause__in', ['workmanship', 'material', 'movement', 'use', 'other']), _connector='OR'), name='callback_event_found_has_a_cause'), models.CheckConstraint(condition=models.Q(models.Q(('kind', 'decided'), _negated=True), ('is_covered__isnull', False), _connector='OR'), name='callback_event_decided_says_how')],
            },
        ),
        migrations.CreateModel(
            name='PunchItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, unique=True)),
                ('number', models.PositiveIntegerField(verbose_name='number')),
                ('text', models.CharField(max_length=300, verbose_name='what is to be put right')),
                ('room_key', models.CharField(blank=True, max_length=120)),
                ('room_name', models.CharField(blank=True, max_length=120, verbose_name='room')),
                ('across', models.PositiveIntegerField(blank=True, null=True, verbose_name='from the left')),
                ('down', models.PositiveIntegerField(blank=True, null=True, verbose_name='from the top')),
                ('place', models.CharField(blank=True, max_length=120, verbose_name='place in words')),
                ('step', models.CharField(blank=True, max_length=40, verbose_name='trade step')),
                ('at', models.DateTimeField()),
                ('state', models.CharField(choices=[('open', 'to mend'), ('mended', 'mended, to be looked at'), ('rejected', 'not accepted, to mend again'), ('accepted', 'accepted'), ('withdrawn', 'taken off the list')], default='open', max_length=10, verbose_name='state')),
                ('due_on', models.DateField(blank=True, null=True, verbose_name='due on')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='punch_items', to='work.job', verbose_name='job')),
                ('owner', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='punch_items', to=settings.AUTH_USER_MODEL, verbose_name='who mends it')),
            ],
            options={
                'verbose_name': 'item of the punch list',
                'verbose_name_plural': 'items of the punch list',
                'ordering': ['job', 'number'],
                'indexes': [models.Index(condition=models.Q(('state__in', ['open', 'rejected'])), fields=['due_on'], name='punch_item_to_mend_by_due_day')],
                'constraints': [models.UniqueConstraint(fields=('job', 'number'), name='punch_item_number_once_a_job'), models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='punch_item_says_what'), models.CheckConstraint(condition=models.Q(('state__in', ['open', 'mended', 'rejected', 'accepted', 'withdrawn'])), name='punch_item_state_known'), models.CheckConstraint(condition=models.Q(models.Q(('across', None), ('down', None)), models.Q(('across__isnull', False), ('down__isnull', False), ('across__lte', 10000), ('down__lte', 10000), models.Q(('room_key', ''), _negated=True)), _connector='OR'), name='punch_item_place_on_a_plan')],
            },
        ),
        migrations.CreateModel(
            name='PunchEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(choices=[('opened', 'put on the list'), ('assigned', 'given to somebody'), ('mended', 'mended'), ('accepted', 'accepted'), ('rejected', 'not accepted'), ('withdrawn', 'taken off the list')], max_length=10)),
                ('due_on', models.DateField(blank=True, null=True)),
                ('customer', models.CharField(blank=True, max_length=120, verbose_name='customer')),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('owner', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='punchlist.punchitem')),
            ],
            options={
                'ordering': ['item', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['opened', 'assigned', 'mended', 'accepted', 'rejected', 'withdrawn'])), name='punch_event_kind_known'), models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ['rejected', 'withdrawn']), _negated=True), models.Q(('note', ''), _negated=True), _connector='OR'), name='punch_event_says_why'), models.CheckConstraint(condition=models.Q(('customer', ''), ('kind', 'accepted'), _connector='OR'), name='punch_event_customer_accepts'), models.CheckConstraint(condition=models.Q(models.Q(('due_on', None), ('owner', None)), ('kind__in', ['opened', 'assigned']), _connector='OR'), name='punch_event_owner_by_assignment')],
            },
        ),
        migrations.CreateModel(
            name='PunchOverride',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('reason', models.CharField(max_length=500, verbose_name='reason')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='punch_overrides', to='work.job')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='punch_override_has_reason')],
            },
        ),
        migrations.CreateModel(
            name='WaivedItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='waived', to='punchlist.punchitem')),
                ('last_event', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='punchlist.punchevent')),
                ('override', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='waived', to='punchlist.punchoverride')),
            ],
            options={
                'ordering': ['override', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('override', 'item'), name='punch_item_waived_once')],
            },
        ),
    ]
