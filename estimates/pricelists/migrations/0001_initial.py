import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120, unique=True, verbose_name='name')),
                ('account', models.CharField(blank=True, max_length=60, verbose_name='our account number')),
                ('phone', models.CharField(blank=True, max_length=40, verbose_name='phone')),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='e-mail')),
                ('notes', models.TextField(blank=True, verbose_name='notes')),
                ('is_active', models.BooleanField(default=True, verbose_name='we buy there')),
            ],
            options={
                'verbose_name': 'supplier',
                'verbose_name_plural': 'suppliers',
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='supplier_has_name')],
            },
        ),
        migrations.CreateModel(
            name='Material',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('membrane', 'membrane'), ('inside corner piece', 'inside corner piece'), ('outside corner piece', 'outside corner piece'), ('bonding agent', 'bonding agent'), ('sealant', 'sealant'), ('tile', 'tile'), ('mortar', 'mortar'), ('grout', 'grout'), ('backer board', 'backer board'), ('fastener', 'fastener'), ('movement joint sealant', 'movement joint sealant'), ('levelling compound', 'levelling compound')], max_length=24, verbose_name='what it does')),
                ('use', models.CharField(blank=True, choices=[('floor', 'floors'), ('wall', 'walls'), ('shower floor', 'shower floors'), ('counter', 'counters')], default='', max_length=12, verbose_name='laid on')),
                ('name', models.CharField(max_length=120, verbose_name='name')),
                ('code', models.CharField(help_text='Price files find the material by it.', max_length=40, unique=True, verbose_name='code')),
                ('pack_label', models.CharField(help_text='Such as: roll, pail, bag, box.', max_length=40, verbose_name='pack')),
                ('pack_millionths', models.BigIntegerField(verbose_name='a pack holds')),
                ('pack_unit', models.CharField(max_length=12, verbose_name='unit')),
                ('waste_basis_points', models.PositiveIntegerField(default=0, verbose_name='waste')),
                ('is_usual', models.BooleanField(default=False, verbose_name='the usual one')),
                ('is_active', models.BooleanField(default=True, verbose_name='still sold')),
                ('notes', models.TextField(blank=True, verbose_name='notes')),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='materials', to='pricelists.supplier', verbose_name='supplier')),
            ],
            options={
                'verbose_name': 'material',
                'verbose_name_plural': 'materials',
                'ordering': ['role', 'use', 'name', 'pk'],
                'indexes': [models.Index(fields=['is_active', 'role', 'name'], name='material_by_role')],
                'constraints': [models.CheckConstraint(condition=models.Q(('role__in', ['membrane', 'inside corner piece', 'outside corner piece', 'bonding agent', 'sealant', 'tile', 'mortar', 'grout', 'backer board', 'fastener', 'movement joint sealant', 'levelling compound'])), name='material_role_known'), models.CheckConstraint(condition=models.Q(('use', ''), models.Q(('role', 'tile'), ('use__in', ['floor', 'wall', 'shower floor', 'counter'])), _connector='OR'), name='material_use_only_for_tile'), models.CheckConstraint(condition=models.Q(models.Q(('name', ''), _negated=True), models.Q(('code', ''), _negated=True)), name='material_has_name_and_code'), models.CheckConstraint(condition=models.Q(('pack_millionths__gt', 0)), name='material_pack_positive'), models.CheckConstraint(condition=models.Q(('waste_basis_points__lte', 10000)), name='material_waste_at_most_double'), models.CheckConstraint(condition=models.Q(('is_usual', False), ('is_active', True), _connector='OR'), name='material_usual_is_sold'), models.UniqueConstraint(condition=models.Q(('is_usual', True), models.Q(('role', 'membrane'), _negated=True)), fields=('role', 'use'), name='material_one_usual_per_role')],
            },
        ),
        migrations.CreateModel(
            name='MaterialFact',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('value_millionths', models.BigIntegerField()),
                ('unit', models.CharField(blank=True, max_length=20)),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='facts', to='pricelists.material')),
            ],
            options={
                'ordering': ['material', 'name'],
                'constraints': [models.UniqueConstraint(fields=('material', 'name'), name='material_fact_once'), models.CheckConstraint(condition=models.Q(('value_millionths__gt', 0)), name='material_fact_positive')],
            },
        ),
        migrations.CreateModel(
            name='Price',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('starts_on', models.DateField(verbose_name='from')),
                ('cents', models.PositiveBigIntegerField(verbose_name='price of a pack')),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='prices', to='pricelists.material')),
            ],
            options={
                'ordering': ['material', '-starts_on'],
                'constraints': [models.UniqueConstraint(fields=('material', 'starts_on'), name='price_once_per_day'), models.CheckConstraint(condition=models.Q(('cents__lte', 10000000000)), name='price_believable')],
            },
        ),
    ]
