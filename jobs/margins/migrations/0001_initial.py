import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('work', '0002_daily_log'),
    ]

    operations = [
        migrations.CreateModel(
            name='Ledger',
            fields=[
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='ledger', serialize=False, to='work.job')),
                ('quoted_price_cents', models.BigIntegerField(default=0)),
                ('quoted_cost_cents', models.BigIntegerField(default=0)),
                ('overhead_cents', models.BigIntegerField(default=0)),
                ('price_cents', models.BigIntegerField(default=0)),
                ('budget_cents', models.BigIntegerField(default=0)),
                ('minutes', models.BigIntegerField(default=0)),
                ('labour_cents', models.BigIntegerField(default=0)),
                ('material_cents', models.BigIntegerField(default=0)),
                ('other_cents', models.BigIntegerField(default=0)),
                ('substrate_budget_cents', models.BigIntegerField(default=0)),
                ('substrate_earned_cents', models.BigIntegerField(default=0)),
                ('membrane_budget_cents', models.BigIntegerField(default=0)),
                ('membrane_earned_cents', models.BigIntegerField(default=0)),
                ('tile_budget_cents', models.BigIntegerField(default=0)),
                ('tile_earned_cents', models.BigIntegerField(default=0)),
                ('punch_budget_cents', models.BigIntegerField(default=0)),
                ('punch_earned_cents', models.BigIntegerField(default=0)),
                ('open_cost_count', models.PositiveIntegerField(default=0)),
                ('last_day', models.DateField(null=True)),
            ],
            options={
                'verbose_name': 'running total',
                'verbose_name_plural': 'running totals',
            },
        ),
        migrations.CreateModel(
            name='Budget',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(max_length=3)),
                ('price_cents', models.BigIntegerField(verbose_name='price')),
                ('overhead_cents', models.BigIntegerField(verbose_name='overhead')),
                ('work_days', models.PositiveSmallIntegerField(null=True, verbose_name='planned days on site')),
                ('quote_sha256', models.CharField(max_length=64)),
                ('frozen_at', models.DateTimeField()),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='budget', to='work.job', verbose_name='job')),
            ],
            options={
                'verbose_name': 'budget',
                'verbose_name_plural': 'budgets',
                'constraints': [models.CheckConstraint(condition=models.Q(('price_cents__gte', 0)), name='budget_price_not_negative'), models.CheckConstraint(condition=models.Q(('overhead_cents__lte', 100000000000), ('price_cents__lte', 100000000000)), name='budget_believable')],
            },
        ),
        migrations.CreateModel(
            name='BudgetChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False)),
                ('title', models.CharField(max_length=200, verbose_name='what changes')),
                ('agreed_on', models.DateField(verbose_name='agreed on')),
                ('price_cents', models.BigIntegerField(verbose_name='price')),
                ('budget', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='changes', to='margins.budget')),
            ],
            options={
                'ordering': ['budget', 'agreed_on', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('key',), name='budget_change_key_once')],
            },
        ),
        migrations.CreateModel(
            name='BudgetMaterial',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('material_key', models.CharField(max_length=120)),
                ('name', models.CharField(max_length=160, verbose_name='material')),
                ('pack_label', models.CharField(blank=True, max_length=40, verbose_name='pack')),
                ('step', models.CharField(max_length=40, verbose_name='trade step')),
                ('packs_millionths', models.BigIntegerField(verbose_name='packs')),
                ('cost_cents', models.BigIntegerField(verbose_name='cost')),
                ('budget', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='materials', to='margins.budget')),
                ('change', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='materials', to='margins.budgetchange')),
            ],
            options={
                'ordering': ['budget', 'pk'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('change', None)), fields=('budget', 'material_key'), name='budget_material_once'), models.UniqueConstraint(fields=('change', 'material_key'), name='budget_material_once_a_change'), models.CheckConstraint(condition=models.Q(('change__isnull', False), models.Q(('cost_cents__gte', 0), ('packs_millionths__gt', 0)), _connector='OR'), name='budget_material_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='BudgetStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('step', models.CharField(max_length=40, verbose_name='trade step')),
                ('minutes', models.IntegerField(default=0, verbose_name='minutes')),
                ('labour_cents', models.BigIntegerField(default=0, verbose_name='labour')),
                ('material_cents', models.BigIntegerField(default=0, verbose_name='material')),
                ('other_cents', models.BigIntegerField(default=0, verbose_name='other costs')),
                ('price_cents', models.BigIntegerField(default=0, verbose_name='price')),
                ('budget', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='margins.budget')),
                ('change', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='margins.budgetchange')),
            ],
            options={
                'ordering': ['budget', 'pk'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('change', None)), fields=('budget', 'step'), name='budget_step_once'), models.UniqueConstraint(fields=('change', 'step'), name='budget_step_once_a_change'), models.CheckConstraint(condition=models.Q(('change__isnull', False), models.Q(('labour_cents__gte', 0), ('material_cents__gte', 0), ('minutes__gte', 0), ('other_cents__gte', 0)), _connector='OR'), name='budget_step_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='LedgerMaterial',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('material_key', models.CharField(max_length=120)),
                ('name', models.CharField(max_length=160)),
                ('step', models.CharField(max_length=40)),
                ('packs_millionths', models.BigIntegerField(default=0)),
                ('cost_cents', models.BigIntegerField(default=0)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='ledger_materials', to='work.job')),
            ],
            options={
                'ordering': ['job', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('job', 'material_key'), name='ledger_material_once')],
            },
        ),
        migrations.CreateModel(
            name='LedgerStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('step', models.CharField(max_length=40)),
                ('minutes', models.BigIntegerField(default=0)),
                ('labour_cents', models.BigIntegerField(default=0)),
                ('other_cents', models.BigIntegerField(default=0)),
                ('done_basis_points', models.PositiveIntegerField(null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='ledger_steps', to='work.job')),
            ],
            options={
                'ordering': ['job', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('job', 'step'), name='ledger_step_once')],
            },
        ),
    ]
