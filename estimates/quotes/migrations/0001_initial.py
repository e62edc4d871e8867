import django.db.models.deletion
import django.db.models.expressions
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('customers', '0001_initial'),
        ('pricelists', '0001_initial'),
        ('rooms', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='NumberSeries',
            fields=[
                ('name', models.CharField(max_length=20, primary_key=True, serialize=False)),
                ('last_number', models.PositiveIntegerField(default=1000)),
            ],
        ),
        migrations.CreateModel(
            name='Estimate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True, verbose_name='number')),
                ('title', models.CharField(max_length=120, verbose_name='title')),
                ('status', models.CharField(choices=[('draft', 'being written'), ('issued', 'issued'), ('won', 'accepted'), ('lost', 'declined')], default='draft', max_length=8, verbose_name='status')),
                ('revision', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('price_on', models.DateField(verbose_name='prices of')),
                ('start_on', models.DateField(blank=True, null=True, verbose_name='work could start')),
                ('flood_test_asked', models.BooleanField(default=False, verbose_name='the owner asks for a flood test')),
                ('overhead_basis_points', models.PositiveIntegerField(verbose_name='overhead on cost')),
                ('profit_rule', models.CharField(choices=[('margin', 'margin of the price'), ('markup', 'markup on cost')], default='margin', max_length=6, verbose_name='price from')),
                ('profit_basis_points', models.PositiveIntegerField(verbose_name='margin or markup')),
                ('minimum_charge_cents', models.PositiveBigIntegerField(default=0, verbose_name='minimum job charge')),
                ('tax_base', models.CharField(choices=[('none', 'no sales tax'), ('materials', 'sales tax on materials'), ('everything', 'sales tax on everything')], max_length=12, verbose_name='sales tax')),
                ('tax_basis_points', models.PositiveIntegerField(default=0, verbose_name='sales tax rate')),
                ('deposit_basis_points', models.PositiveIntegerField(default=0, verbose_name='deposit')),
                ('valid_days', models.PositiveSmallIntegerField(default=30, verbose_name='valid for, days')),
                ('detail', models.CharField(choices=[('sum', 'one sum'), ('room', 'a sum a room'), ('step', 'a sum a trade step'), ('line', 'every line')], default='room', max_length=4, verbose_name='the customer sees')),
                ('disposal_cents', models.PositiveBigIntegerField(default=0, verbose_name='demolition and disposal')),
                ('levelling_cents', models.PositiveBigIntegerField(default=0, verbose_name='levelling and preparation')),
                ('travel_cents', models.PositiveBigIntegerField(default=0, verbose_name='travel')),
                ('permits_cents', models.PositiveBigIntegerField(default=0, verbose_name='permits and fees')),
                ('inclusions', models.TextField(blank=True, verbose_name='included')),
                ('exclusions', models.TextField(blank=True, verbose_name='not included')),
                ('cautions', models.TextField(blank=True, verbose_name='more cautions')),
                ('terms', models.TextField(blank=True, verbose_name='terms')),
                ('created_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='estimates', to='customers.site', verbose_name='site')),
            ],
            options={
                'verbose_name': 'estimate',
                'verbose_name_plural': 'estimates',
                'ordering': ['-number'],
                'indexes': [models.Index(fields=['status', '-number'], name='estimate_by_status'), models.Index(fields=['site', '-number'], name='estimate_by_site')],
                'constraints': [models.CheckConstraint(condition=models.Q(('title', ''), _negated=True), name='estimate_has_title'), models.CheckConstraint(condition=models.Q(('status__in', ['draft', 'issued', 'won', 'lost'])), name='estimate_status_known'), models.CheckConstraint(condition=models.Q(('detail__in', ['sum', 'room', 'step', 'line'])), name='estimate_detail_known'), models.CheckConstraint(condition=models.Q(models.Q(('profit_basis_points__lte', 100000), ('profit_rule', 'markup')), models.Q(('profit_basis_points__lt', 10000), ('profit_rule', 'margin')), _connector='OR'), name='estimate_margin_below_all'), models.CheckConstraint(condition=models.Q(('overhead_basis_points__lte', 20000)), name='estimate_overhead_believable'), models.CheckConstraint(condition=models.Q(('tax_base__in', ['none', 'materials', 'everything'])), name='estimate_tax_base_known'), models.CheckConstraint(condition=models.Q(('tax_basis_points__lte', 5000)), name='estimate_tax_at_most_half'), models.CheckConstraint(condition=models.Q(('deposit_basis_points__lte', 10000)), name='estimate_deposit_at_most_all'), models.CheckConstraint(condition=models.Q(('valid_days__gte', 1), ('valid_days__lte', 730)), name='estimate_valid_days_in_range')],
            },
        ),
        migrations.CreateModel(
            name='EstimateChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveIntegerField()),
                ('at', models.DateTimeField()),
                ('fields', models.JSONField(default=list)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='changes', to='quotes.estimate')),
            ],
            options={
                'ordering': ['estimate', 'revision'],
                'constraints': [models.UniqueConstraint(fields=('estimate', 'revision'), name='estimate_change_once_a_revision')],
            },
        ),
        migrations.CreateModel(
            name='EstimateLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=0)),
                ('step', models.CharField(max_length=40, verbose_name='trade step')),
                ('text', models.CharField(max_length=200, verbose_name='what')),
                ('quantity_millionths', models.PositiveBigIntegerField(default=1000000, verbose_name='quantity')),
                ('unit', models.CharField(blank=True, max_length=20, verbose_name='unit')),
                ('cost_cents', models.PositiveBigIntegerField(verbose_name='cost each')),
                ('price_cents', models.PositiveBigIntegerField(blank=True, null=True, verbose_name='price each')),
                ('is_material', models.BooleanField(default=False, verbose_name='a material (for sales tax)')),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='quotes.estimate')),
                ('room', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rooms.room')),
            ],
            options={
                'ordering': ['estimate', 'position', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='estimate_line_has_text'), models.CheckConstraint(condition=models.Q(('quantity_millionths__gt', 0)), name='estimate_line_quantity'), models.CheckConstraint(condition=models.Q(('cost_cents__lte', 10000000000), models.Q(('price_cents', None), ('price_cents__lte', 10000000000), _connector='OR')), name='estimate_line_believable')],
            },
        ),
        migrations.CreateModel(
            name='EstimateMaterial',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('slot', models.CharField(max_length=24)),
                ('customer_supplied', models.BooleanField(default=False, verbose_name='the customer supplies it')),
                ('pattern', models.CharField(choices=[('straight', 'straight'), ('half offset', 'half offset'), ('third offset', 'third offset'), ('diagonal', 'diagonal'), ('herringbone', 'herringbone'), ('hexagon', 'hexagon'), ('mosaic sheets', 'mosaic sheets')], default='straight', max_length=16, verbose_name='laid')),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='materials', to='quotes.estimate')),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='pricelists.material')),
            ],
            options={
                'ordering': ['estimate', 'slot', 'pk'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('slot', 'membrane'), _negated=True), fields=('estimate', 'slot'), name='estimate_slot_filled_once'), models.UniqueConstraint(fields=('estimate', 'slot', 'material'), name='estimate_material_once_a_slot'), models.CheckConstraint(condition=models.Q(('pattern__in', ['straight', 'half offset', 'third offset', 'diagonal', 'herringbone', 'hexagon', 'mosaic sheets'])), name='estimate_material_pattern_known')],
            },
        ),
        migrations.CreateModel(
            name='EstimateRoom',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=0)),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='estimate_rooms', to='quotes.estimate')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rooms.room')),
            ],
            options={
                'ordering': ['estimate', 'position', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('estimate', 'room'), name='estimate_room_once')],
            },
        ),
        migrations.CreateModel(
            name='Override',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=120)),
                ('what', models.CharField(choices=[('quantity', 'quantity'), ('price', 'price')], max_length=8)),
                ('quantity_millionths', models.PositiveBigIntegerField(blank=True, null=True, verbose_name='quantity')),
                ('price_cents', models.PositiveBigIntegerField(blank=True, null=True, verbose_name='price')),
                ('reason', models.CharField(max_length=200, verbose_name='reason')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='overrides', to='quotes.estimate')),
            ],
            options={
                'ordering': ['estimate', 'key'],
                'constraints': [models.UniqueConstraint(fields=('estimate', 'key', 'what'), name='override_once'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='override_has_reason'), models.CheckConstraint(condition=models.Q(models.Q(('price_cents', None), ('quantity_millionths__isnull', False), ('what', 'quantity')), models.Q(('price_cents__isnull', False), ('quantity_millionths', None), ('what', 'price')), _connector='OR'), name='override_sets_one_thing')],
            },
        ),
        migrations.CreateModel(
            name='PaymentStage',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=0)),
                ('due', models.CharField(help_text='Such as: when the membrane is accepted.', max_length=120, verbose_name='due')),
                ('share_basis_points', models.PositiveIntegerField(verbose_name='share')),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='payment_stages', to='quotes.estimate')),
            ],
            options={
                'ordering': ['estimate', 'position', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('share_basis_points__gt', 0), ('share_basis_points__lte', 10000)), name='payment_stage_share_in_range')],
            },
        ),
        migrations.CreateModel(
            name='Quote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=20, verbose_name='number')),
                ('revision', models.PositiveSmallIntegerField(verbose_name='revision')),
                ('status', models.CharField(choices=[('issued', 'issued'), ('accepted', 'accepted'), ('declined', 'declined'), ('superseded', 'superseded'), ('withdrawn', 'withdrawn'), ('expired', 'expired')], default='issued', max_length=10, verbose_name='status')),
                ('title', models.CharField(max_length=120, verbose_name='title')),
                ('customer_name', models.CharField(max_length=120, verbose_name='customer')),
                ('site_name', models.CharField(max_length=330, verbose_name='site')),
                ('currency', models.CharField(max_length=3)),
                ('price_cents', models.PositiveBigIntegerField(verbose_name='price before tax')),
                ('tax_cents', models.PositiveBigIntegerField(verbose_name='sales tax')),
                ('total_cents', models.PositiveBigIntegerField(verbose_name='total')),
                ('cost_cents', models.PositiveBigIntegerField(verbose_name='cost')),
                ('issued_at', models.DateTimeField(verbose_name='issued')),
                ('valid_until', models.DateField(verbose_name='valid until')),
                ('estimate_revision', models.PositiveIntegerField()),
                ('snapshot', models.JSONField()),
                ('sha256', models.CharField(max_length=64)),
                ('signed_name', models.CharField(blank=True, max_length=120, verbose_name='signed by')),
                ('answered_on', models.DateField(blank=True, null=True, verbose_name='signed or declined on')),
                ('answer_note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('recorded_at', models.DateTimeField(blank=True, null=True)),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='quotes', to='quotes.estimate')),
                ('issued_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('recorded_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='quotes', to='customers.site')),
            ],
            options={
                'verbose_name': 'quote',
                'verbose_name_plural': 'quotes',
                'ordering': ['-issued_at', '-pk'],
                'indexes': [models.Index(fields=['status', '-issued_at'], name='quote_by_status'), models.Index(fields=['-issued_at'], name='quote_by_date'), models.Index(fields=['site', '-issued_at'], name='quote_by_site')],
                'constraints': [models.UniqueConstraint(fields=('number', 'revision'), name='quote_number_and_revision_once'), models.UniqueConstraint(condition=models.Q(('status__in', ['issued', 'accepted', 'expired'])), fields=('estimate',), name='quote_one_standing_per_estimate'), models.CheckConstraint(condition=models.Q(('status__in', ['issued', 'accepted', 'declined', 'superseded', 'withdrawn', 'expired'])), name='quote_status_known'), models.CheckConstraint(condition=models.Q(('total_cents', django.db.models.expressions.CombinedExpression(models.F('price_cents'), '+', models.F('tax_cents')))), name='quote_total_is_price_and_tax'), models.CheckConstraint(condition=models.Q(models.Q(('status', 'accepted'), _negated=True), models.Q(models.Q(('signed_name', ''), _negated=True), ('answered_on__isnull', False)), _connector='OR'), name='quote_accepted_is_signed'), models.CheckConstraint(condition=models.Q(('revision__gte', 1)), name='quote_revision_from_one')],
            },
        ),
        migrations.CreateModel(
            name='SurfaceTile',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('surface_key', models.CharField(max_length=40)),
                ('customer_supplied', models.BooleanField(default=False, verbose_name='the customer supplies it')),
                ('pattern', models.CharField(choices=[('straight', 'straight'), ('half offset', 'half offset'), ('third offset', 'third offset'), ('diagonal', 'diagonal'), ('herringbone', 'herringbone'), ('hexagon', 'hexagon'), ('mosaic sheets', 'mosaic sheets')], default='straight', max_length=16, verbose_name='laid')),
                ('joint_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='joint')),
                ('joint_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='joint')),
                ('estimate', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='surface_tiles', to='quotes.estimate')),
                ('material', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='pricelists.material')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rooms.room')),
            ],
            options={
                'ordering': ['estimate', 'room', 'surface_key'],
                'constraints': [models.UniqueConstraint(fields=('estimate', 'room', 'surface_key'), name='estimate_surface_tile_once'), models.CheckConstraint(condition=models.Q(('pattern__in', ['straight', 'half offset', 'third offset', 'diagonal', 'herringbone', 'hexagon', 'mosaic sheets'])), name='surface_tile_pattern_known')],
            },
        ),
    ]
