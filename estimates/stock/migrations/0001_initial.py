import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('pricelists', '0002_uses_of_a_role'),
        ('quotes', '0007_change_orders_are_kept'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Offcut',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.CharField(blank=True, max_length=80, verbose_name='where it lies')),
                ('origin', models.CharField(blank=True, default='', editable=False, max_length=60)),
                ('added_at', models.DateTimeField(auto_now_add=True)),
                ('taken_at', models.DateTimeField(editable=False, null=True)),
                ('taken_for', models.CharField(blank=True, default='', editable=False, max_length=120)),
                ('width_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='width')),
                ('width_units', models.PositiveBigIntegerField(editable=False, verbose_name='width')),
                ('length_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='length')),
                ('length_units', models.PositiveBigIntegerField(editable=False, verbose_name='length')),
                ('added_by', models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offcuts', to='pricelists.material', verbose_name='membrane')),
            ],
            options={
                'verbose_name': 'offcut',
                'verbose_name_plural': 'offcuts',
                'ordering': ['material__name', '-width_units', '-length_units', 'pk'],
                'indexes': [models.Index(fields=['taken_at', 'material'], name='offcut_on_shelf')],
                'constraints': [models.CheckConstraint(condition=models.Q(('width_units__gt', 0)), name='offcut_width_above_zero'), models.CheckConstraint(condition=models.Q(('length_units__gt', 0)), name='offcut_length_above_zero'), models.UniqueConstraint(models.F('origin'), condition=models.Q(('origin', ''), _negated=True), name='offcut_shelved_once'), models.CheckConstraint(condition=models.Q(('taken_at__isnull', False), ('taken_for', ''), _connector='OR'), name='offcut_taken_for_when_taken')],
            },
        ),
        migrations.CreateModel(
            name='OffcutPromise',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('offcut', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='promises', to='stock.offcut')),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='offcut_promises', to='quotes.quote')),
            ],
            options={
                'constraints': [models.UniqueConstraint(models.F('offcut'), models.F('quote'), name='offcut_promised_once_per_quote')],
            },
        ),
    ]
