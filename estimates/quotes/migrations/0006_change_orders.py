import django.core.serializers.json
import django.db.models.deletion
import django.db.models.expressions
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('documents', '0001_initial'),
        ('quotes', '0005_signatures_are_kept'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ChangeOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('sequence', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='number')),
                ('status', models.CharField(choices=[('draft', 'being written'), ('issued', 'issued'), ('accepted', 'signed'), ('declined', 'declined'), ('superseded', 'superseded'), ('withdrawn', 'withdrawn')], default='draft', max_length=10, verbose_name='status')),
                ('revision', models.PositiveIntegerField(default=1)),
                ('title', models.CharField(max_length=120, verbose_name='what changes')),
                ('reason', models.CharField(max_length=300, verbose_name='reason')),
                ('work_days', models.SmallIntegerField(default=0, verbose_name='working days more or less')),
                ('pay_when', models.CharField(choices=[('balance', 'with the last payment'), ('signing', 'when this change is signed'), ('done', 'when this change is done')], default='balance', max_length=8, verbose_name='to be paid')),
                ('currency', models.CharField(max_length=3)),
                ('price_cents', models.BigIntegerField(default=0, verbose_name='price before tax')),
                ('tax_cents', models.BigIntegerField(default=0, verbose_name='sales tax')),
                ('total_cents', models.BigIntegerField(default=0, verbose_name='total')),
                ('cost_cents', models.BigIntegerField(default=0, verbose_name='cost')),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('issued_at', models.DateTimeField(blank=True, null=True, verbose_name='issued')),
                ('valid_until', models.DateField(blank=True, null=True, verbose_name='valid until')),
                ('measured', models.JSONField(blank=True, default=dict, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('snapshot', models.JSONField(blank=True, default=dict)),
                ('sha256', models.CharField(blank=True, max_length=64)),
                ('signed_name', models.CharField(blank=True, max_length=120, verbose_name='signed by')),
                ('answered_on', models.DateField(blank=True, null=True, verbose_name='signed or declined on')),
                ('answer_note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('recorded_at', models.DateTimeField(blank=True, null=True)),
                ('base', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='quotes.changeorder')),
                ('created_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='documents.documentrequest')),
                ('issued_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='quotes.quote')),
                ('recorded_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaces', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='quotes.changeorder', verbose_name='replaces')),
            ],
            options={
                'verbose_name': 'change order',
                'verbose_name_plural': 'change orders',
                'ordering': ['quote', 'sequence', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('quote', 'sequence'), name='change_order_number_once_a_quote'), models.UniqueConstraint(condition=models.Q(('status__in', ['issued', 'accepted'])), fields=('replaces',), name='change_order_replaced_once'), models.CheckConstraint(condition=models.Q(('status__in', ['draft', 'issued', 'accepted', 'declined', 'superseded', 'withdrawn'])), name='change_order_status_known'), models.CheckConstraint(condition=models.Q(('pay_when__in', ['balance', 'signing', 'done'])), name='change_order_pay_when_known'), models.CheckConstraint(condition=models.Q(('total_cents', django.db.models.expressions.CombinedExpression(models.F('price_cents'), '+', models.F('tax_cents')))), name='change_order_total_is_price_and_tax'), models.CheckConstraint(condition=models.Q(models.Q(('sequence', None), ('status', 'draft')), models.Q(models.Q(('status', 'draft'), _negated=True), ('issued_at__isnull', False), ('sequence__gte', 1), ('valid_until__isnull', False), models.Q(('sha256', ''), _negated=True)), _connector='OR'), name='change_order_issued_has_its_number'), models.CheckConstraint(condition=models.Q(models.Q(('status', 'accepted'), _negated=True), models.Q(models.Q(('signed_name', ''), _negated=True), ('answered_on__isnull', False)), _connector='OR'), name='change_order_accepted_is_signed'), models.CheckConstraint(condition=models.Q(models.Q(('title', ''), _negated=True), models.Q(('reason', ''), _negated=True)), name='change_order_says_what_and_why'), models.CheckConstraint(condition=models.Q(('work_days__gte', -365), ('work_days__lte', 365)), name='change_order_days_believable')],
            },
        ),
        migrations.CreateModel(
            name='ChangeLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_sha256', models.CharField(editable=False, max_length=64, unique=True)),
                ('recipient', models.CharField(blank=True, max_length=254, verbose_name='for')),
                ('made_at', models.DateTimeField(verbose_name='made')),
                ('expires_at', models.DateTimeField(verbose_name='ends')),
                ('revoked_at', models.DateTimeField(blank=True, null=True, verbose_name='revoked')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('revoked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links', to='quotes.changeorder')),
            ],
            options={
                'ordering': ['-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('expires_at__gt', models.F('made_at'))), name='change_link_ends_after_it_was_made'), models.CheckConstraint(condition=models.Q(models.Q(('revoked_at', None), ('revoked_by', None)), models.Q(('revoked_at__isnull', False), ('revoked_by__isnull', False)), _connector='OR'), name='change_link_revoked_by_somebody')],
            },
        ),
        migrations.CreateModel(
            name='ChangeLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=0)),
                ('sign', models.SmallIntegerField(choices=[(1, 'adds'), (-1, 'takes away')], default=1, verbose_name='adds or takes away')),
                ('text', models.CharField(max_length=200, verbose_name='what')),
                ('step', models.CharField(max_length=40, verbose_name='trade step')),
                ('quantity_millionths', models.PositiveBigIntegerField(default=1000000, verbose_name='quantity')),
                ('unit', models.CharField(blank=True, max_length=20, verbose_name='unit')),
                ('price_cents', models.PositiveBigIntegerField(verbose_name='price each')),
                ('is_material', models.BooleanField(default=False, verbose_name='a material (for sales tax)')),
                ('minutes', models.PositiveIntegerField(default=0, verbose_name='hours')),
                ('labour_cents', models.PositiveBigIntegerField(blank=True, null=True, verbose_name='cost of labour')),
                ('material_key', models.CharField(blank=True, max_length=120, verbose_name='material')),
                ('material_name', models.CharField(blank=True, max_length=160)),
                ('pack_label', models.CharField(blank=True, max_length=40)),
                ('packs_millionths', models.PositiveBigIntegerField(default=0, verbose_name='packs')),
                ('material_cents', models.PositiveBigIntegerField(default=0, verbose_name='cost of material')),
                ('other_cents', models.PositiveBigIntegerField(default=0, verbose_name='other cost')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='quotes.changeorder')),
            ],
            options={
                'ordering': ['order', 'position', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='change_line_has_text'), models.CheckConstraint(condition=models.Q(('sign__in', [1, -1])), name='change_line_adds_or_takes_away'), models.CheckConstraint(condition=models.Q(('quantity_millionths__gt', 0)), name='change_line_quantity'), models.CheckConstraint(condition=models.Q(('material_cents__lte', 10000000000), ('price_cents__lte', 10000000000), ('minutes__lte', 10000000), ('other_cents__lte', 10000000000), models.Q(('labour_cents', None), ('labour_cents__lte', 10000000000), _connector='OR')), name='change_line_believable'), models.CheckConstraint(condition=models.Q(('material_key', ''), ('packs_millionths__gt', 0), _connector='OR'), name='change_line_material_has_packs')],
            },
        ),
        migrations.CreateModel(
            name='ChangeAcceptance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120, verbose_name='name')),
                ('kind', models.CharField(choices=[('typed', 'typed'), ('drawn', 'drawn')], max_length=5, verbose_name='signature')),
                ('drawing', models.TextField(blank=True)),
                ('consent_version', models.CharField(max_length=20)),
                ('consent_text', models.TextField()),
                ('at', models.DateTimeField(verbose_name='signed')),
                ('paper_sha256', models.CharField(max_length=64)),
                ('file_sha256', models.CharField(blank=True, max_length=64)),
                ('agent', models.CharField(max_length=60, verbose_name='device')),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='documents.documentrequest')),
                ('staff', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('link', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acceptances', to='quotes.changelink')),
                ('order', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='acceptance', to='quotes.changeorder')),
            ],
            options={
                'ordering': ['-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='change_acceptance_has_a_name'), models.CheckConstraint(condition=models.Q(models.Q(('drawing', ''), ('kind', 'typed')), models.Q(('kind', 'drawn'), models.Q(('drawing', ''), _negated=True)), _connector='OR'), name='change_acceptance_drawn_has_its_drawing'), models.CheckConstraint(condition=models.Q(models.Q(('consent_text', ''), _negated=True), models.Q(('consent_version', ''), _negated=True)), name='change_acceptance_has_consent'), models.CheckConstraint(condition=models.Q(('paper_sha256', ''), _negated=True), name='change_acceptance_has_document_hash')],
            },
        ),
        migrations.CreateModel(
            name='ChangeVisit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(verbose_name='at')),
                ('what', models.CharField(choices=[('read', 'read it'), ('paper', 'fetched the PDF'), ('signing', 'opened the page to sign'), ('incomplete', 'sent an answer that was not complete'), ('accepted', 'accepted'), ('declining', 'opened the page to decline'), ('declined', 'declined'), ('signed-paper', 'fetched the signed PDF'), ('closed', 'was told that the link is closed')], max_length=12, verbose_name='what')),
                ('agent', models.CharField(max_length=60, verbose_name='device')),
                ('link', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='visits', to='quotes.changelink')),
                ('staff', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'indexes': [models.Index(fields=['link', '-at'], name='change_visit_by_time')],
                'constraints': [models.CheckConstraint(condition=models.Q(('what__in', ['read', 'paper', 'signing', 'incomplete', 'accepted', 'declining', 'declined', 'signed-paper', 'closed'])), name='change_visit_what_known')],
            },
        ),
    ]
