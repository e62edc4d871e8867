import django.db.models.deletion
import django.db.models.expressions
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('documents', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('work', '0004_job_papers'),
    ]

    operations = [
        migrations.CreateModel(
            name='Account',
            fields=[
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='account', serialize=False, to='work.job')),
                ('retainage_basis_points', models.PositiveIntegerField(default=0, verbose_name='held back until the end')),
                ('due_days', models.PositiveSmallIntegerField(default=14, verbose_name='days to pay')),
                ('invoiced_cents', models.BigIntegerField(default=0)),
                ('invoiced_price_cents', models.BigIntegerField(default=0)),
                ('retained_cents', models.BigIntegerField(default=0)),
                ('received_cents', models.BigIntegerField(default=0)),
            ],
            options={
                'verbose_name': 'account',
                'verbose_name_plural': 'accounts',
                'constraints': [models.CheckConstraint(condition=models.Q(('retainage_basis_points__lte', 5000)), name='account_retainage_at_most_half'), models.CheckConstraint(condition=models.Q(('due_days__lte', 365)), name='account_due_within_a_year'), models.CheckConstraint(condition=models.Q(('invoiced_cents__gte', 0), ('retained_cents__gte', 0), ('retained_cents__lte', models.F('invoiced_cents'))), name='account_totals_possible')],
            },
        ),
        migrations.CreateModel(
            name='Invoice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(choices=[('invoice', 'invoice'), ('credit', 'credit note'), ('release', 'release of retainage')], default='invoice', max_length=8, verbose_name='kind')),
                ('number', models.PositiveIntegerField(unique=True, verbose_name='number')),
                ('reason', models.CharField(blank=True, max_length=300, verbose_name='reason')),
                ('customer_name', models.CharField(max_length=120, verbose_name='customer')),
                ('currency', models.CharField(max_length=3)),
                ('issued_on', models.DateField(verbose_name='issued')),
                ('issued_at', models.DateTimeField()),
                ('due_on', models.DateField(verbose_name='to be paid by')),
                ('price_cents', models.BigIntegerField(verbose_name='price before tax')),
                ('tax_cents', models.BigIntegerField(verbose_name='sales tax')),
                ('total_cents', models.BigIntegerField(verbose_name='total')),
                ('retained_cents', models.BigIntegerField(default=0, verbose_name='held back')),
                ('snapshot', models.JSONField()),
                ('sha256', models.CharField(max_length=64)),
                ('credits', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='credit_notes', to='billing.invoice', verbose_name='credits')),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='documents.documentrequest')),
                ('issued_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='invoices', to='work.job')),
            ],
            options={
                'verbose_name': 'invoice',
                'verbose_name_plural': 'invoices',
                'ordering': ['-number'],
                'indexes': [models.Index(fields=['due_on'], name='invoice_by_due_date')],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['invoice', 'credit', 'release'])), name='invoice_kind_known'), models.CheckConstraint(condition=models.Q(('total_cents', django.db.models.expressions.CombinedExpression(models.F('price_cents'), '+', models.F('tax_cents')))), name='invoice_total_is_price_and_tax'), models.CheckConstraint(condition=models.Q(models.Q(('credits', None), ('kind', 'invoice'), ('retained_cents__gte', 0), ('total_cents__gt', 0)), models.Q(('credits__isnull', False), ('kind', 'credit'), ('retained_cents__lte', 0), ('total_cents__lt', 0)), models.Q(('credits', None), ('kind', 'release'), ('price_cents', 0), ('retained_cents__lt', 0), ('total_cents', 0)), _connector='OR'), name='invoice_signs_by_kind'), models.CheckConstraint(condition=models.Q(models.Q(('kind', 'invoice'), _negated=True), ('retained_cents__lte', models.F('total_cents')), _connector='OR'), name='invoice_retains_at_most_all'), models.CheckConstraint(condition=models.Q(models.Q(('kind', 'credit'), _negated=True), models.Q(('reason', ''), _negated=True), _connector='OR'), name='invoice_credit_says_why'), models.CheckConstraint(condition=models.Q(('due_on__gte', models.F('issued_on'))), name='invoice_due_after_issue')],
            },
        ),
        migrations.CreateModel(
            name='InvoiceLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('stage_key', models.CharField(max_length=40)),
                ('label', models.JSONField()),
                ('cents', models.BigIntegerField()),
                ('invoice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='billing.invoice')),
            ],
            options={
                'ordering': ['invoice', 'position'],
                'constraints': [models.UniqueConstraint(fields=('invoice', 'stage_key'), name='invoice_line_once_a_stage'), models.CheckConstraint(condition=models.Q(('cents', 0), _negated=True), name='invoice_line_not_nothing')],
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('received_on', models.DateField(verbose_name='received')),
                ('way', models.CharField(choices=[('check', 'check'), ('transfer', 'bank transfer'), ('card', 'card'), ('cash', 'cash'), ('other', 'another way')], max_length=8, verbose_name='way')),
                ('amount_cents', models.BigIntegerField(verbose_name='amount')),
                ('reference', models.CharField(blank=True, max_length=120, verbose_name='reference')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('invoice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='billing.invoice')),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='billing.payment')),
            ],
            options={
                'verbose_name': 'payment',
                'verbose_name_plural': 'payments',
                'ordering': ['received_on', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('way__in', ['check', 'transfer', 'card', 'cash', 'other'])), name='payment_way_known'), models.CheckConstraint(condition=models.Q(models.Q(('amount_cents', 0), _negated=True), ('supersedes__isnull', False), _connector='OR'), name='payment_of_nothing_only_corrects'), models.CheckConstraint(condition=models.Q(('amount_cents__gte', -100000000000), ('amount_cents__lte', 100000000000)), name='payment_believable')],
            },
        ),
    ]
