import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('customers', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Room',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, verbose_name='name')),
                ('outline_text', models.CharField(blank=True, max_length=500, verbose_name='walk the walls')),
                ('notes', models.TextField(blank=True, verbose_name='notes')),
                ('revision', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('updated_at', models.DateTimeField(auto_now=True)),
                ('height_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='ceiling height')),
                ('height_units', models.PositiveBigIntegerField(editable=False, verbose_name='ceiling height')),
                ('created_by', models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rooms', to='customers.site', verbose_name='site')),
                ('updated_by', models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'room',
                'verbose_name_plural': 'rooms',
                'ordering': ['site_id', 'name', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='room_has_name'), models.UniqueConstraint(models.F('site'), models.F('name'), name='room_name_once_per_site'), models.CheckConstraint(condition=models.Q(('height_units__gt', 0)), name='room_height_above_zero'), models.CheckConstraint(condition=models.Q(('revision__gte', 1)), name='room_revision_from_one')],
            },
        ),
        migrations.CreateModel(
            name='Opening',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(editable=False, max_length=40)),
                ('position', models.PositiveSmallIntegerField(default=0, editable=False)),
                ('kind', models.CharField(choices=[('door', 'Door'), ('passage', 'Passage'), ('window', 'Window')], max_length=12, verbose_name='opening')),
                ('wall', models.PositiveSmallIntegerField(verbose_name='wall')),
                ('along_typed', models.CharField(blank=True, default='', max_length=40, verbose_name="from the wall's start")),
                ('along_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name="from the wall's start")),
                ('width_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='width')),
                ('width_units', models.PositiveBigIntegerField(editable=False, verbose_name='width')),
                ('height_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='height')),
                ('height_units', models.PositiveBigIntegerField(editable=False, verbose_name='height')),
                ('base_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='sill above the floor')),
                ('base_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='sill above the floor')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='openings', to='rooms.room')),
            ],
            options={
                'ordering': ['room_id', 'position', 'pk'],
                'constraints': [models.UniqueConstraint(models.F('room'), models.F('key'), name='opening_key_once_per_room'), models.CheckConstraint(condition=models.Q(('kind__in', ['door', 'passage', 'window'])), name='opening_kind_known'), models.CheckConstraint(condition=models.Q(('wall__gte', 1)), name='opening_wall_from_one'), models.CheckConstraint(condition=models.Q(('width_units__gt', 0)), name='opening_width_above_zero'), models.CheckConstraint(condition=models.Q(('height_units__gt', 0)), name='opening_height_above_zero')],
            },
        ),
        migrations.CreateModel(
            name='Fixture',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(editable=False, max_length=40)),
                ('position', models.PositiveSmallIntegerField(default=0, editable=False)),
                ('kind', models.CharField(choices=[('flange', 'Closet flange'), ('pipe', 'Pipe'), ('drain', 'Drain'), ('tub', 'Tub'), ('cabinet', 'Cabinet'), ('mixer', 'Mixer'), ('spout', 'Spout'), ('sink', 'Sink')], max_length=8, verbose_name='fixture')),
                ('wall', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='wall')),
                ('surface', models.CharField(blank=True, max_length=40, verbose_name='through')),
                ('along_typed', models.CharField(blank=True, default='', max_length=40, verbose_name="from the wall's start")),
                ('along_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name="from the wall's start")),
                ('away_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='from the wall')),
                ('away_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='from the wall')),
                ('base_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='above the floor')),
                ('base_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='above the floor')),
                ('diameter_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='diameter')),
                ('diameter_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='diameter')),
                ('length_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='length')),
                ('length_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='length')),
                ('depth_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='depth')),
                ('depth_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='depth')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='fixtures', to='rooms.room')),
            ],
            options={
                'ordering': ['room_id', 'position', 'pk'],
                'constraints': [models.UniqueConstraint(models.F('room'), models.F('key'), name='fixture_key_once_per_room'), models.CheckConstraint(condition=models.Q(('kind__in', ['flange', 'pipe', 'drain', 'tub', 'cabinet', 'mixer', 'spout', 'sink'])), name='fixture_kind_known'), models.CheckConstraint(condition=models.Q(('wall__gte', 1)), name='fixture_wall_from_one'), models.CheckConstraint(condition=models.Q(('diameter_units__gt', 0)), name='fixture_diameter_above_zero'), models.CheckConstraint(condition=models.Q(('length_units__gt', 0)), name='fixture_length_above_zero'), models.CheckConstraint(condition=models.Q(('depth_units__gt', 0)), name='fixture_depth_above_zero')],
            },
        ),
        migrations.CreateModel(
            name='Surface',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(editable=False, max_length=40)),
                ('position', models.PositiveSmallIntegerField(default=0, editable=False)),
                ('kind', models.CharField(choices=[('floor', 'Floor'), ('wall', 'Wall'), ('shower floor', 'Shower floor'), ('bench', 'Bench'), ('curb', 'Curb'), ('niche', 'Niche'), ('counter', 'Counter'), ('backsplash', 'Backsplash')], max_length=12, verbose_name='surface')),
                ('name', models.CharField(max_length=80, verbose_name='name')),
                ('substrate', models.CharField(choices=[('plywood', 'plywood'), ('OSB', 'OSB'), ('gypsum board', 'gypsum board'), ('cement board', 'cement board'), ('concrete', 'concrete'), ('mortar bed', 'mortar bed'), ('poured gypsum', 'poured gypsum'), ('sheet vinyl', 'sheet vinyl'), ('plastic laminate', 'plastic laminate'), ('existing tile', 'existing tile')], max_length=20, verbose_name='substrate')),
                ('condition', models.CharField(choices=[('smooth', 'smooth'), ('rough', 'rough'), ('uneven', 'uneven, to be levelled'), ('sealed', 'sealed, waxed or painted')], default='smooth', max_length=8, verbose_name='condition')),
                ('exposure', models.CharField(choices=[('dry', 'dry'), ('wet', 'wet')], default='dry', max_length=4, verbose_name='use')),
                ('walls', models.JSONField(blank=True, default=list, verbose_name='walls')),
                ('membrane', models.BooleanField(default=True, verbose_name='membrane')),
                ('new_board', models.BooleanField(default=False, verbose_name='new backer board')),
                ('remove', models.CharField(choices=[('nothing', 'nothing'), ('tile', 'tile'), ('resilient flooring', 'resilient flooring'), ('carpet', 'carpet'), ('wood flooring', 'wood flooring'), ('wall board', 'wall board')], default='nothing', max_length=20, verbose_name='to be removed')),
                ('method', models.CharField(choices=[('acrylic bonding agent', 'acrylic bonding agent'), ('organic adhesive', 'organic adhesive'), ('latex-modified mortar', 'latex-modified mortar')], default='acrylic bonding agent', max_length=24, verbose_name='bonded with')),
                ('along_typed', models.CharField(blank=True, default='', max_length=40, verbose_name="from the wall's start")),
                ('along_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name="from the wall's start")),
                ('away_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='from the wall')),
                ('away_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='from the wall')),
                ('base_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='starts above the floor')),
                ('base_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='starts above the floor')),
                ('length_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='length')),
                ('length_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='length')),
                ('depth_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='depth')),
                ('depth_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='depth')),
                ('height_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='height')),
                ('height_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='height')),
                ('levelling_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='mean levelling depth')),
                ('levelling_units', models.PositiveBigIntegerField(default=0, editable=False, verbose_name='mean levelling depth')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='surfaces', to='rooms.room')),
            ],
            options={
                'ordering': ['room_id', 'position', 'pk'],
                'constraints': [models.UniqueConstraint(models.F('room'), models.F('key'), name='surface_key_once_per_room'), models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='surface_has_name'), models.CheckConstraint(condition=models.Q(('kind__in', ['floor', 'wall', 'shower floor', 'bench', 'curb', 'niche', 'counter', 'backsplash'])), name='surface_kind_known'), models.CheckConstraint(condition=models.Q(('substrate__in', ['plywood', 'OSB', 'gypsum board', 'cement board', 'concrete', 'mortar bed', 'poured gypsum', 'sheet vinyl', 'plastic laminate', 'existing tile'])), name='surface_substrate_known'), models.CheckConstraint(condition=models.Q(('condition__in', ['smooth', 'rough', 'uneven', 'sealed'])), name='surface_condition_known'), models.CheckConstraint(condition=models.Q(('exposure__in', ['dry', 'wet'])), name='surface_exposure_known'), models.CheckConstraint(condition=models.Q(('remove__in', ['nothing', 'tile', 'resilient flooring', 'carpet', 'wood flooring', 'wall board'])), name='surface_remove_known'), models.CheckConstraint(condition=models.Q(('method__in', ['acrylic bonding agent', 'organic adhesive', 'latex-modified mortar'])), name='surface_method_known'), models.CheckConstraint(condition=models.Q(('length_units__gt', 0)), name='surface_length_above_zero'), models.CheckConstraint(condition=models.Q(('depth_units__gt', 0)), name='surface_depth_above_zero'), models.CheckConstraint(condition=models.Q(('height_units__gt', 0)), name='surface_height_above_zero')],
            },
        ),
        migrations.CreateModel(
            name='Wall',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveSmallIntegerField(verbose_name='wall')),
                ('turn_millidegrees', models.IntegerField(default=90000, verbose_name='turn')),
                ('length_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='length')),
                ('length_units', models.PositiveBigIntegerField(editable=False, verbose_name='length')),
                ('height_typed', models.CharField(blank=True, default='', max_length=40, verbose_name='height')),
                ('height_units', models.PositiveBigIntegerField(blank=True, editable=False, null=True, verbose_name='height')),
                ('room', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='walls', to='rooms.room')),
            ],
            options={
                'ordering': ['room_id', 'number'],
                'constraints': [models.UniqueConstraint(models.F('room'), models.F('number'), name='wall_number_once_per_room'), models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='wall_number_from_one'), models.CheckConstraint(condition=models.Q(('length_units__gt', 0)), name='wall_length_above_zero'), models.CheckConstraint(condition=models.Q(('height_units__gt', 0)), name='wall_height_above_zero'), models.CheckConstraint(condition=models.Q(('turn_millidegrees__gt', -180000), ('turn_millidegrees__lt', 180000)), name='wall_turn_below_half_circle')],
            },
        ),
    ]
