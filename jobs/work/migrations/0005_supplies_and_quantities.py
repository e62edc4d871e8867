import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('work', '0004_job_papers'),
    ]

    operations = [
        migrations.CreateModel(
            name='SupplyEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(editable=False, verbose_name='key')),
                ('day', models.DateField(verbose_name='day')),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('at', models.DateTimeField(verbose_name='stored at')),
                ('kind', models.CharField(choices=[('order', 'ordered'), ('stock', 'in stock')], max_length=5, verbose_name='kind')),
                ('material_key', models.CharField(max_length=120)),
                ('material_name', models.CharField(max_length=160, verbose_name='material')),
                ('packs_millionths', models.PositiveBigIntegerField(verbose_name='packs')),
                ('reference', models.CharField(blank=True, max_length=60, verbose_name='order number')),
                ('expected_on', models.DateField(blank=True, null=True, verbose_name='expected on')),
            ],
            options={
                'verbose_name': 'order or stock',
                'verbose_name_plural': 'orders and stock',
                'ordering': ['job', 'day', 'pk'],
                'abstract': False,
                'constraints': [models.UniqueConstraint(fields=('key',), name='supplyentry_key_once'), models.CheckConstraint(condition=models.Q(('kind__in', ['order', 'stock'])), name='supply_kind_known'), models.CheckConstraint(condition=models.Q(models.Q(('material_key', ''), _negated=True), models.Q(('material_name', ''), _negated=True)), name='supply_says_what_it_is'), models.CheckConstraint(condition=models.Q(('kind', 'order'), models.Q(('note', ''), _negated=True), ('packs_millionths', 0), _connector='OR'), name='supply_stock_says_why'), models.CheckConstraint(condition=models.Q(('kind', 'order'), models.Q(('expected_on', None), ('reference', '')), _connector='OR'), name='supply_only_orders_are_expected')],
            },
        ),
        migrations.RemoveConstraint(
            model_name='daynote',
            name='day_note_struck_only_by_correction',
        ),
        migrations.AddField(
            model_name='daynote',
            name='cause',
            field=models.CharField(blank=True, choices=[('weather', 'weather'), ('material', 'material late or wrong'), ('access', 'no access'), ('trade', 'another trade'), ('customer', "the customer's decision"), ('substrate', 'substrate not as expected'), ('tool', 'tool or machine'), ('check', 'a check or a cure'), ('crew', 'crew short'), ('other', 'something else')], max_length=10, verbose_name='cause'),
        ),
        migrations.AddField(
            model_name='daynote',
            name='high_tenths',
            field=models.SmallIntegerField(blank=True, null=True, verbose_name='highest temperature'),
        ),
        migrations.AddField(
            model_name='daynote',
            name='low_tenths',
            field=models.SmallIntegerField(blank=True, null=True, verbose_name='lowest temperature'),
        ),
        migrations.AddField(
            model_name='progressentry',
            name='of_thousandths',
            field=models.PositiveBigIntegerField(blank=True, null=True, verbose_name='quantity foreseen'),
        ),
        migrations.AddField(
            model_name='progressentry',
            name='quantity_thousandths',
            field=models.PositiveBigIntegerField(blank=True, null=True, verbose_name='quantity done'),
        ),
        migrations.AddField(
            model_name='progressentry',
            name='unit',
            field=models.CharField(blank=True, max_length=12, verbose_name='unit'),
        ),
        migrations.AddConstraint(
            model_name='daynote',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('text', ''), _negated=True), models.Q(('cause', ''), _negated=True), ('low_tenths__isnull', False), ('supersedes__isnull', False), _connector='OR'), name='day_note_struck_only_by_correction'),
        ),
        migrations.AddConstraint(
            model_name='daynote',
            constraint=models.CheckConstraint(condition=models.Q(('cause', ''), models.Q(('cause__in', ['weather', 'material', 'access', 'trade', 'customer', 'substrate', 'tool', 'check', 'crew', 'other']), ('kind', 'delay')), _connector='OR'), name='day_note_cause_of_a_delay'),
        ),
        migrations.AddConstraint(
            model_name='daynote',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('high_tenths', None), ('low_tenths', None)), models.Q(('high_tenths__isnull', False), ('kind', 'weather'), ('low_tenths__isnull', False), ('high_tenths__lte', 700), ('low_tenths__gte', -600), ('low_tenths__lte', models.F('high_tenths'))), _connector='OR'), name='day_note_temperatures_of_the_weather'),
        ),
        migrations.AddConstraint(
            model_name='progressentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('of_thousandths', None), ('quantity_thousandths', None), ('unit', '')), models.Q(('of_thousandths__isnull', False), ('quantity_thousandths__isnull', False), ('of_thousandths__gt', 0), models.Q(('unit', ''), _negated=True)), _connector='OR'), name='progress_quantity_is_of_something'),
        ),
        migrations.AddField(
            model_name='supplyentry',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='supplyentry',
            name='job',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='work.job', verbose_name='job'),
        ),
        migrations.AddField(
            model_name='supplyentry',
            name='supersedes',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='work.supplyentry'),
        ),
        migrations.AddIndex(
            model_name='supplyentry',
            index=models.Index(fields=['job', 'day'], name='supplyentry_by_job'),
        ),
        migrations.AddConstraint(
            model_name='supplyentry',
            constraint=models.CheckConstraint(condition=models.Q(('supersedes', None), models.Q(('supersedes', models.F('pk')), _negated=True), _connector='OR'), name='supplyentry_not_its_own_successor'),
        ),
        migrations.AddConstraint(
            model_name='supplyentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('packs_millionths', 0), _negated=True), ('supersedes__isnull', False), _connector='OR'), name='supply_struck_only_by_correction'),
        ),
    ]
